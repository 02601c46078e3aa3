"""What one tray of eggs of an offer brings and needs, day by day, by the season's own engine.

Everything is linear in the eggs of a set, so a tray tells of any number of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.machine import under_heat
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Out, Plan, Stay
from leyfold.nouns.season import Season
from leyfold.plan.offers import Offer, as_batch, nights_C
from leyfold.reckoning.quantities import Flows
from leyfold.reckoning.rates import Rates
from leyfold.season.complete import complete
from leyfold.season.dates import Window
from leyfold.season.expect import expect
from leyfold.season.filling.indoors import floor_need_m2

__all__ = ["Brood", "Cocks", "Curve", "Flock", "Hens", "curves", "flocks"]

Floats = NDArray[np.float64]

AT_ONCE = 96
"""Batches whose season is reckoned together: what fits the memory of a small machine."""
COLDEST_BARN_C, WARMEST_BARN_C = -40.0, 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Brood:
    """[day] of one tray before it is sorted. In the brooder: heads, kg, m2 of floor needed and `warmed`,
    day-olds that it counts for under lamps; `young` at grass: [heads kg kg_n, day]."""

    heads: Floats
    kg: Floats
    floor_m2: Floats
    warmed: Floats
    young: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Cocks:
    """[day] of the cockerels of one tray, killed one way: `load` [heads kg kg_n, day] at grass, `killed` and
    `carcass_kg` on the day; `money`: all that goes by the head."""

    load: Floats
    killed: Floats
    carcass_kg: Floats
    money: float


@dataclass(frozen=True, slots=True, eq=False)
class Hens:
    """[day] of the pullets of one tray: `load` [heads kg kg_n, day] at grass, `heads` and `kg` in the house,
    `n_kg` they drop while in it, `alive` anywhere, `eggs` laid; `money`: all that goes by the head, the eggs
    set left out."""

    load: Floats
    heads: Floats
    kg: Floats
    n_kg: Floats
    alive: Floats
    eggs: Floats
    money: float


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One offer: its brood, its cockerels by way of killing, its pullets, and birds to sort on the day."""

    brood: Brood
    cocks: tuple[Cocks, ...]
    hens: Hens
    sorted_heads: float


@dataclass(frozen=True, slots=True, eq=False)
class Flock:
    """A flock of hens that is there, were it to leave on `out` (None: to stay): [day] heads, kg and nitrogen
    dropped in the house `house`, eggs laid, and its money."""

    batch: str
    out: date | None
    house: str
    heads: Floats
    kg: Floats
    n_kg: Floats
    eggs: Floats
    money: float


def curves(farm: Farm, span: Window, chosen: Sequence[Offer]) -> tuple[Curve, ...]:
    """One curve an offer. The farm must have a shelter, and a brooder on the days of hatch."""
    found: list[Curve] = []
    some: list[Offer] = []
    for offer in chosen:
        if sum(len(o.drafts) for o in (*some, offer)) > AT_ONCE:
            found += _together(farm, span, some)
            some = []
        some.append(offer)
    return tuple(found + _together(farm, span, some))


def _together(farm: Farm, span: Window, chosen: Sequence[Offer]) -> list[Curve]:
    if not chosen:
        return []
    shelter = next(iter(farm.shelters))
    batches: list[Batch] = []
    stays: list[Stay] = []
    for i, offer in enumerate(chosen):
        brooder = next(b.id for b in farm.brooders.values() if b.owned(offer.hatched_on))
        house = next((h.id for h in farm.houses.values() if h.owned(offer.house_on)), None)
        machine = next(m.id for m in farm.incubators.values() if m.owned(offer.set_on))
        for j, drafts in enumerate(offer.drafts):
            batch = as_batch(
                offer, drafts, f"{i}-{j}", farm.planning.tray, farm,
                brooder=brooder, house=house, incubator=machine,
            )  # fmt: skip
            batches.append(batch)
            stays += _one_place_each(batch, brooder, shelter, span)
    last = span.day(span.days - 1)
    season = expect(farm, complete(farm, Plan(tuple(batches), tuple(stays), first=span.first, last=last)))
    money = _money(farm, season)
    at: dict[str, list[int]] = {}
    for row, lot in enumerate(season.lots):
        at.setdefault(lot.batch, []).append(row)
    barn = np.clip(nights_C(farm, season.first, season.days), COLDEST_BARN_C, WARMEST_BARN_C)
    return [_curve(farm, season, at, money, barn, i, offer) for i, offer in enumerate(chosen)]


def _one_place_each(batch: Batch, brooder: str, shelter: str, span: Window) -> list[Stay]:
    """Everything in one shelter: places do not matter to what a bird eats, and are reckoned apart."""
    assert batch.turnout_on is not None
    assert batch.house_on is not None
    end = span.day(span.days)
    to = batch.house_on if batch.house is not None else end
    ways = [
        (None, brooder, batch.arrives_on, batch.turnout_on),
        ("cockerel", shelter, batch.turnout_on, batch.drafts[-1].on),
        ("pullet", shelter, batch.turnout_on, to),
    ]
    return [
        Stay(f"{batch.id}-{n}", batch.id, sex, place, first, until)  # type: ignore[arg-type]
        for n, (sex, place, first, until) in enumerate(ways)
        if first < until
    ]


def _money(farm: Farm, season: Season) -> Floats:
    """[lot] every flow that goes by the head, at the farm's rates; what has no price is left out, as the
    reckoning of the whole plan says. Pullets that pass from one class to another at one price add nothing."""
    rates = Rates(farm)
    found = np.zeros(len(season.lots))
    for flow in Flows(farm, season, rates):
        if rates.has(flow.rate):
            rate = rates[flow.rate]
            each = rate.figure.value * (1.0 if rate.takes else -1.0)
            found += each * flow.amount.sum(axis=1)
    return found


def _curve(
    farm: Farm, season: Season, at: dict[str, list[int]], money: Floats, barn: Floats, i: int, offer: Offer
) -> Curve:
    days = np.arange(season.days)
    parted = days >= season.index(offer.sort_on)
    kinds = [season.places[lot.place].kind for lot in season.lots]

    def rows(j: int, kind: str | None = None, sex: str | None = None) -> list[int]:
        own = at[f"{i}-{j}"]
        return [r for r in own if kind in (None, kinds[r]) and sex in (None, season.lots[r].sex)]

    def load(pick: list[int], when: NDArray[np.bool_]) -> Floats:
        heads = season.heads[pick]
        kg = (heads * season.weight_kg[pick]).sum(axis=0)
        return np.array([heads.sum(axis=0), kg, season.n_kg[pick].sum(axis=0)]) * when

    dressing = farm.lines[offer.line].dressing_share.value
    cocks = []
    for j in range(len(offer.drafts)):
        own = rows(j, sex="cockerel")
        cocks.append(
            Cocks(
                load(rows(j, "shelter", "cockerel"), parted),
                season.killed[own].sum(axis=0),
                season.killed_kg[own].sum(axis=0) * dressing,
                float(money[own].sum()),
            )
        )
    own, housed = rows(0, sex="pullet"), rows(0, "house", "pullet")
    hens = Hens(
        load(rows(0, "shelter", "pullet"), parted),
        season.heads[housed].sum(axis=0),
        (season.heads[housed] * season.weight_kg[housed]).sum(axis=0),
        season.n_kg[housed].sum(axis=0),
        season.heads[own].sum(axis=0),
        season.eggs[own].sum(axis=0),
        float(money[own].sum()),
    )
    inside = rows(0, "brooder")
    heads, kg, _ = load(inside, np.ones(season.days, dtype=bool))
    age = np.maximum(days - season.index(offer.hatched_on), 0)
    young = load(rows(0, "shelter"), ~parted)
    sort_at = season.index(offer.sort_on)
    brood = Brood(
        heads,
        kg,
        floor_need_m2(farm, heads, age),
        heads * under_heat(age, barn),
        young,
    )
    every = rows(0)
    return Curve(
        brood, tuple(cocks), hens, float(season.heads[every, sort_at].sum()) if sort_at < season.days else 0.0
    )


def flocks(farm: Farm, span: Window, fixed: Plan, batch: Batch, outs: Sequence[date | None]) -> list[Flock]:
    """What a flock of hens does, were it to leave on each of the days `outs`."""
    found = []
    stays = [s for s in fixed.stays if s.batch == batch.id]
    for start in range(0, len(outs), AT_ONCE):
        some = outs[start : start + AT_ONCE]
        plan = Plan(
            tuple(replace(batch, id=f"{k}") for k in range(len(some))),
            tuple(replace(s, id=f"{s.id}-{k}", batch=f"{k}") for s in stays for k in range(len(some))),
            tuple(Out(f"{k}", out) for k, out in enumerate(some) if out is not None),
            first=span.first,
            last=span.day(span.days - 1),
        )
        season = expect(farm, complete(farm, plan))
        money = _money(farm, season)
        for k, out in enumerate(some):
            own = [r for r, lot in enumerate(season.lots) if lot.batch == f"{k}"]
            place = next((season.lots[r].place for r in own if season.lots[r].place in farm.houses), "")
            heads = season.heads[own]
            found.append(
                Flock(
                    batch.id, out, place, heads.sum(axis=0), (heads * season.weight_kg[own]).sum(axis=0),
                    season.n_kg[own].sum(axis=0), season.eggs[own].sum(axis=0), float(money[own].sum()),
                )
            )  # fmt: skip
    return found
