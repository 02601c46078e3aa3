"""What can be promised: carcasses by weight class and killing day, orders against them, and whom to ring
when a day slips.

Weights of cockerels are normal about the batch's mean, drafts take the heaviest first, and a carcass is the
dressing share of its bird. A promise is the number reached in 95 years of 100, not the mean; with draws it
holds the luck of hatch, sexes, losses, foxes and growth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.growth import by_curve
from leyfold.nouns.draws import Draws
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.orders import Order
from leyfold.nouns.plan import Batch
from leyfold.nouns.season import Season
from leyfold.reckoning.classes import bounds, shares
from leyfold.season.chances.streams import stream
from leyfold.season.course import course
from leyfold.season.dates import Window
from leyfold.season.drafts import Take, takes
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

__all__ = ["Filled", "Promise", "Ring", "Supply", "filled", "promises", "ring_first", "supplies"]

Floats = NDArray[np.float64]

SAFE = 5.0
"""The percent point that a promise stands on."""


@dataclass(frozen=True, slots=True, eq=False)
class Supply:
    """Carcasses of one batch from one killing day, [class] (the first are below all classes): mean numbers,
    and [draw, class] those of the draws, None without."""

    batch: str
    on: date
    mean: Floats
    drawn: NDArray[np.int64] | None


@dataclass(frozen=True, slots=True)
class Promise:
    """Carcasses of a weight class (None: of any weight) killed on a day, mean; those killed up to that day,
    mean and safe to promise (None without draws); and what orders due before the next killing day have asked
    for so far."""

    on: date
    weight_class: str | None
    killed: float
    mean: float
    safe: float | None
    ordered: int

    @property
    def free(self) -> float:
        """Safe to promise besides what is ordered; below zero: promised too much."""
        return (self.mean if self.safe is None else self.safe) - self.ordered


@dataclass(frozen=True, slots=True)
class Filled:
    """`short` of the carcasses of an order are not safe by its day; `ready_on` is the killing day after which
    they are, None where no day of the plan makes them so."""

    order: Order
    short: int
    ready_on: date | None


@dataclass(frozen=True, slots=True)
class Ring:
    """Killing days from `slips_on` on come `days` later: the orders that can no longer be met, first due
    first."""

    slips_on: date
    days: int
    orders: tuple[Filled, ...]


def supplies(
    farm: Farm, season: Season, draws: Draws | None = None, *, slip_d: int = 0, slips_on: date | None = None
) -> tuple[Supply, ...]:
    """Every killing of cockerels in the season, by day. Those on or after `slips_on` come `slip_d` days
    later, when the birds are heavier and a few less."""
    span = Window(season.first, season.days + 7 * (-(-slip_d // 7)))
    run = course(farm, season.plan.batches, span)
    found = []
    for i, batch in enumerate(season.plan.batches):
        row = run.row(batch.id, "cockerel")
        upper = 0.0
        for take in _takes(farm, batch):
            lower = upper + take.taken
            at = season.index(take.on)
            later = slip_d if slips_on is not None and take.on >= slips_on else 0
            if 0 <= at < season.days:
                birds = float(run.alive[row, at]) * take.taken
                keep = float(run.alive[row, at + later] / run.alive[row, at]) if birds > 0 else 0.0
                drawn = None if draws is None else _killed(season, draws, batch, at)
                on = take.on + timedelta(days=later)
                found.append(_supply(farm, batch, on, (upper, lower), birds * keep, keep, drawn, draws, i))
            upper = lower
    return tuple(sorted((s for s in found if s.mean.any()), key=lambda s: (s.on, s.batch)))


def _takes(farm: Farm, batch: Batch) -> Sequence[Take]:
    drafts = [draft for draft in batch.drafts if draft.on >= batch.arrives_on]
    return takes(drafts, farm.lines[batch.line].cockerel.weight_cv.value)


def _killed(season: Season, draws: Draws, batch: Batch, day: int) -> NDArray[np.int64]:
    """[draw] cockerels of the batch killed on a day."""
    lots = [
        i
        for i, lot in enumerate(season.lots)
        if lot.batch == batch.id and lot.sex == "cockerel" and season.killed[i, day] > 0
    ]
    found: NDArray[np.int64] = draws.killed[lots].sum(axis=0, dtype=np.int64)
    return found


def _supply(
    farm: Farm,
    batch: Batch,
    on: date,
    slice_: tuple[float, float],
    mean: float,
    keep: float,
    drawn: NDArray[np.int64] | None,
    draws: Draws | None,
    i: int,
) -> Supply:
    line = farm.lines[batch.line]
    traits = line.cockerel
    kg = float(by_curve(traits.growth, (on - batch.hatched_on).days)) * line.dressing_share.value
    edges = bounds(farm)
    cv = traits.weight_cv.value
    nodes, weights = np.polynomial.hermite_e.hermegauss(16)
    luck = np.maximum(1.0 + traits.batch_weight_cv.value * nodes, 0.05)
    expected = mean * ((weights / weights.sum()) @ shares(kg * luck, cv, slice_, edges))
    if drawn is None or draws is None:
        return Supply(batch.id, on, expected, None)
    own = np.maximum(1.0 + traits.batch_weight_cv.value * draws.growth[i].astype(np.float64), 0.05)
    chances = shares(kg * own, cv, slice_, edges)
    birds = np.rint(drawn * keep).astype(np.int64)
    rolls = stream(draws.seed, batch.id, "cockerel", "weight classes", on)
    return Supply(batch.id, on, expected, rolls.multinomial(birds, chances))


def promises(farm: Farm, season: Season, found: Sequence[Supply]) -> tuple[Promise, ...]:
    """One row for each killing day and class, and one for all weights together."""
    names = [c.id for c in farm.weight_classes]
    asked = _asked(farm, season)
    rows = []
    days = sorted({s.on for s in found})
    for on, until in pairwise([*days, date.max]):
        for name in (*names, None):
            due = [o for o in asked if o.on < until and (name is None or o.weight_class == name)]
            killed, mean, safe = _until(farm, found, on, name)
            rows.append(Promise(on, name, killed, mean, safe, sum(o.number for o in due)))
    return tuple(rows)


def _asked(farm: Farm, season: Season) -> list[Order]:
    """Orders of the season by day: what was due before it begins is past."""
    return sorted((o for o in farm.orders if o.on >= season.first), key=lambda o: o.on)


def _until(
    farm: Farm, found: Sequence[Supply], on: date, name: str | None
) -> tuple[float, float, float | None]:
    """Killed on the day, killed up to it, and that number's safe point."""
    names = [None, *(c.id for c in farm.weight_classes)]
    pick = slice(None) if name is None else slice(names.index(name), names.index(name) + 1)
    past = [s for s in found if s.on <= on]
    killed = sum(float(s.mean[pick].sum()) for s in past if s.on == on)
    mean = sum(float(s.mean[pick].sum()) for s in past)
    if not past or past[0].drawn is None:
        return killed, mean, None if past else 0.0
    drawn = np.sum([s.drawn[:, pick].sum(axis=1) for s in past if s.drawn is not None], axis=0)
    return killed, mean, float(np.percentile(drawn, SAFE, method="lower"))


def filled(farm: Farm, season: Season, found: Sequence[Supply]) -> tuple[Filled, ...]:
    """Every order of the season, first due first, against what is safe by its day (the mean without draws).

    BadInput where an order is due before any cockerel is killed: nothing of the season can meet it.
    """
    asked = _asked(farm, season)
    days = sorted({s.on for s in found})
    faults = [_too_early(farm, order, days) for order in asked if not days or order.on < days[0]]
    if faults:
        raise BadInput(*faults)
    return _fill(farm, found, asked, days)


def _fill(
    farm: Farm, found: Sequence[Supply], asked: Sequence[Order], days: Sequence[date]
) -> tuple[Filled, ...]:
    used: dict[str | None, int] = {}
    rows = []
    cache: dict[tuple[date, str | None], float] = {}

    def safe(on: date, name: str | None) -> float:
        past = [day for day in days if day <= on]
        if not past:
            return 0.0
        if (past[-1], name) not in cache:
            _, mean, low = _until(farm, found, past[-1], name)
            cache[past[-1], name] = mean if low is None else low
        return cache[past[-1], name]

    def free(on: date, name: str | None) -> float:
        whole = safe(on, None) - used.get(None, 0)
        return whole if name is None else min(whole, safe(on, name) - used.get(name, 0))

    for order in asked:
        there = max(int(free(order.on, order.weight_class) + 1e-9), 0)
        short = max(order.number - there, 0)
        later = [day for day in days if day > order.on]
        ready = next((d for d in later if free(d, order.weight_class) >= order.number), None)
        rows.append(Filled(order, short, ready if short else None))
        # An order not met whole still has its place in the row: later ones wait behind it.
        used[None] = used.get(None, 0) + order.number
        if order.weight_class is not None:
            used[order.weight_class] = used.get(order.weight_class, 0) + order.number
    return tuple(rows)


def ring_first(farm: Farm, season: Season, draws: Draws | None, *, days: int, slips_on: date) -> Ring:
    """Who to ring, in this order, when all killing from `slips_on` on comes `days` >= 1 later: the orders
    that were safe and are no longer, or lack more birds than before."""
    if days < 1:
        raise ValueError("a day slips by at least one day")
    asked = _asked(farm, season)
    before, after = (
        {row.order.id: row for row in _fill(farm, found, asked, sorted({s.on for s in found}))}
        for found in (
            supplies(farm, season, draws),
            supplies(farm, season, draws, slip_d=days, slips_on=slips_on),
        )
    )
    worse = [after[o.id] for o in asked if after[o.id].short > before[o.id].short]
    return Ring(slips_on, days, tuple(worse))


def _too_early(farm: Farm, order: Order, days: Sequence[date]) -> Fault:
    language = farm.holding.language
    key = "order_early" if days else "order_none"
    return Fault(
        "farm.toml",
        f"orders.{order.id}",
        say(
            f"reckoning.{key}",
            on=spoken_day(order.on, language),
            first=spoken_day(days[0], language) if days else "",
        ),
        say("reckoning.order_mend"),
    )
