"""What another day brings: cockerels kept for the table, and hens kept laying.

A cockerel earns, from one day to the next, what he gains as carcass, less his feed, water, his share of the
day's work on his shelter and the chance that he dies. The day on which that falls below nothing is his latest
age, unless he is past the age up to which a roasting bird is paid.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex
from leyfold.reckoning.rates import Rates, work
from leyfold.reckoning.worth import killing
from leyfold.season.bird import PerHead, per_head
from leyfold.season.course import course
from leyfold.season.dates import Window

__all__ = ["Daily", "Hens", "Keeping", "hens", "keeping"]

Floats = NDArray[np.float64]

BEYOND_D = 120
"""Days after the last killing that are looked at."""


@dataclass(frozen=True, slots=True)
class Daily:
    """One bird kept for one day more, in money; `earns` is takings less the others."""

    on: date
    age_d: int
    takings: float
    feed: float
    water: float
    labour: float
    loss: float

    @property
    def earns(self) -> float:
        return self.takings - self.feed - self.water - self.labour - self.loss


@dataclass(frozen=True, slots=True)
class Keeping:
    """Cockerels of one batch. `planned_on`: the last draft. `latest_d`: the age at which the last paying day
    ends; None where no day after turnout pays. `capped`: he would pay longer, but for his age. `days` run
    from turnout."""

    batch: str
    planned_on: date
    planned_d: int
    latest_d: int | None
    capped: bool
    days: tuple[Daily, ...]

    def over(self, first_d: int, until_d: int) -> float:
        """What a bird kept from one age to another earns."""
        return sum(day.earns for day in self.days if first_d <= day.age_d < until_d)


def keeping(farm: Farm, season: Season, batch: Batch) -> Keeping | None:
    """Of a dated batch; None where it has no cockerels in the season or carcasses have no price."""
    rates = Rates(farm)
    lots = [i for i, x in enumerate(season.lots) if x.batch == batch.id and x.sex == "cockerel"]
    if not batch.drafts or not rates.has("carcass") or not season.heads[lots].any():
        return None
    line = farm.lines[batch.line]
    planned = batch.drafts[-1].on
    first = max(batch.turnout_on or batch.arrives_on, batch.arrives_on)
    days = max((planned - first).days, 0) + BEYOND_D
    one = _one(farm, batch, "cockerel", first, days)
    carcass = rates["carcass"].figure.value * line.dressing_share.value
    kill = sum(n * _price(rates, name) for name, n in killing(rates, 1.0).items())
    worth = np.maximum(one.weight_kg * carcass - kill, 0.0)
    table = _daily(farm, rates, season, lots, one, one.gain_kg * carcass, "shelter", worth)
    most = int(work(farm, "discount_old_cockerel_from_d"))
    pays = [day.age_d for day in table if day.earns > 0]
    latest = max(pays) + 1 if pays else None
    capped = latest is not None and latest > most
    return Keeping(
        batch.id,
        planned,
        (planned - batch.hatched_on).days,
        most if capped else latest,
        capped,
        table,
    )


@dataclass(frozen=True, slots=True)
class Hens:
    """Hens of one flock kept on. `best_on`: the day up to which keeping them has earned most by the end of
    the season (the first day where no day pays); `out_on`: the day the plan puts them out, None if it does
    not. `until_out` and `until_best`: what one hen earns to either from the first day. `waiting`: what a
    pullet of the youngest flock earns on a day in the four weeks about `out_on`, where the house is over a
    limit, so that every old hen keeps one out; None where there is room."""

    batch: str
    best_on: date
    out_on: date | None
    until_best: float
    until_out: float
    waiting: float | None
    days: tuple[Daily, ...]


def hens(farm: Farm, season: Season, batch: Batch) -> Hens | None:
    """Of a flock in the house when the season begins; None where there is none, or eggs have no price."""
    rates = Rates(farm)
    table = _laying(farm, rates, season, batch)
    housed = batch.house_on or batch.arrives_on
    if batch.origin != "present" or housed > max(season.first, batch.arrives_on) or not table:
        return None
    earned = np.concatenate(([0.0], np.cumsum([day.earns for day in table])))
    best = int(earned.argmax())
    outs = [out.on for out in season.plan.outs if out.batch == batch.id and out.share == 1.0]
    out_on = min(outs, default=None)
    at = len(table) if out_on is None else min(max((out_on - table[0].on).days, 0), len(table))
    return Hens(
        batch.id,
        table[0].on + timedelta(days=best),
        out_on,
        float(earned[best]),
        float(earned[at]),
        _waiting(farm, rates, season, batch, out_on or table[-1].on),
        table,
    )


def _laying(farm: Farm, rates: Rates, season: Season, batch: Batch) -> tuple[Daily, ...]:
    lots = [i for i, x in enumerate(season.lots) if x.batch == batch.id and x.sex == "pullet"]
    if not rates.has("egg") or not season.heads[lots].any():
        return ()
    first = max(season.first, batch.arrives_on, batch.house_on or batch.arrives_on)
    days = season.days - season.index(first)
    if days <= 0:
        return ()
    one = _one(farm, batch, "pullet", first, days)
    gets = one.each.eggs[0] * (rates["egg"].figure.value - work(farm, "egg_h") * _price(rates, "labour"))
    gets = gets - work(farm, "bedding_kg_per_hen_d") * _price(rates, "bedding")
    return _daily(farm, rates, season, lots, one, gets, "house", _price(rates, "old_hen"))


def _waiting(farm: Farm, rates: Rates, season: Season, batch: Batch, on: date) -> float | None:
    houses = {x.place for x in season.lots if x.batch == batch.id}
    crowded = any(
        b.where in houses and b.limit.quantity.startswith("heads") and b.first <= on for b in season.breaches
    )
    young = [b for b in season.plan.batches if b.origin != "present" and b.house_on and b.house_on <= on]
    if not crowded or not young:
        return None
    table = _laying(farm, rates, season, max(young, key=lambda b: b.hatched_on))
    near = [day.earns for day in table if abs((day.on - on).days) <= 14]
    return sum(near) / len(near) if near else None


@dataclass(frozen=True, slots=True, eq=False)
class _One:
    """[day] of the mean bird of one batch and sex."""

    first: date
    age_d: NDArray[np.int64]
    weight_kg: Floats
    gain_kg: Floats
    dies: Floats
    each: PerHead


def _one(farm: Farm, batch: Batch, sex: Sex, first: date, days: int) -> _One:
    run = course(farm, (batch,), Window(first, days))
    row = run.row(batch.id, sex)
    each = per_head(farm, run, [row], [1.0])
    return _One(first, run.age_d[row], run.weight_kg[row], run.gain_kg[row], 1.0 - run.survive[row], each)


def _daily(
    farm: Farm,
    rates: Rates,
    season: Season,
    lots: list[int],
    one: _One,
    takings: Floats,
    kind: str,
    worth: Floats | float,
) -> tuple[Daily, ...]:
    prices = np.array([_price(rates, f"feed.{feed}") for feed in farm.feeds])
    feed = one.each.feed_kg[0] * prices[one.each.feed_kind[0]]
    water = one.each.water_l[0] * _price(rates, "water")
    labour = work(farm, f"{kind}_h_per_d") * _price(rates, "labour") / _heads_a_place(season, lots, kind)
    loss = one.dies * worth
    return tuple(
        Daily(
            one.first + timedelta(days=i),
            int(one.age_d[i]),
            float(takings[i]),
            float(feed[i]),
            float(water[i]),
            labour,
            float(loss[i]),
        )
        for i in range(takings.size)
    )


def _heads_a_place(season: Season, lots: list[int], kind: str) -> float:
    """Mean heads in the places of a kind that these birds are in, over the days they are."""
    names = {season.lots[i].place for i in lots if season.places[season.lots[i].place].kind == kind}
    here = np.zeros(0)
    for name in names:
        own = [i for i in lots if season.lots[i].place == name]
        days = season.heads[own].sum(axis=0) > 0
        here = np.concatenate((here, season.places[name].heads[days]))
    return max(float(here.mean()), 1.0) if here.size else 1.0


def _price(rates: Rates, name: str) -> float:
    """A price, or nothing where the farm has none to pay."""
    return rates[name].figure.value if rates.has(name) else 0.0
