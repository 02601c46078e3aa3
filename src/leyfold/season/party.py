"""A party: birds of one batch that go together from one dated step to the next, and what they weigh on a
place. A batch is one party in the brooder and at grass until it is sorted, then two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm, Shelter
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Out
from leyfold.nouns.stock import Sex
from leyfold.season.bird import alike
from leyfold.season.course import Course, Row
from leyfold.season.drafts import Take, takes

__all__ = ["Leg", "Load", "Party", "all_takes", "limits_of", "loads", "over", "row_legs"]

Floats = NDArray[np.float64]

M2_PER_HA = 10_000.0
ROUNDING = 1e-9
"""A place is over its limit when it passes it by more than this share: arithmetic, not tolerance."""


@dataclass(frozen=True, slots=True)
class Leg:
    """Days `first` until `until` (indices) between two drafts: the share of the sex that is left and its
    weight over the mean."""

    first: int
    until: int
    share: float
    factor: float


@dataclass(frozen=True, slots=True, eq=False)
class Load:
    """[day] of a whole party: heads, kg alive and kg of nitrogen dropped, by the share left on the day."""

    heads: Floats
    kg: Floats
    n_kg: Floats


@dataclass(slots=True, eq=False)
class Party:
    """`sex` None while unsorted. `before` is the party it was parted from; `former` are the places it comes
    from, kept while it waits for room."""

    batch: str
    sex: Sex | None
    legs: tuple[Leg, ...]
    load: Load
    former: tuple[str, ...] = ()
    before: Party | None = None

    @property
    def first(self) -> int:
        return self.legs[0].first

    @property
    def until(self) -> int:
        return self.legs[-1].until

    def leg(self, day: int) -> Leg:
        return next(leg for leg in self.legs if leg.first <= day < leg.until)


def row_legs(course: Course, drafts: Mapping[tuple[str, Sex], Sequence[Take]], row: int) -> tuple[Leg, ...]:
    """The legs of one batch and sex over its whole time on the farm: the first lasts no day where birds
    leave on the very day they come, or the window opens."""
    window, r = course.window, course.rows[row]
    first = window.clipped(r.batch.arrives_on)
    share, factor = 1.0, 1.0
    legs: list[Leg] = []
    for take in drafts.get((r.batch.id, r.sex), ()):
        until = window.clipped(take.on)
        if until > first or (not legs and window.index(take.on) == first):
            legs.append(Leg(first, until, share, factor))
        first, share, factor = max(until, first), take.left, take.left_factor
    if share > 0.0 and window.days > first:
        legs.append(Leg(first, window.days, share, factor))
    return tuple(legs)


def loads(farm: Farm, course: Course, legs: Sequence[tuple[Leg, ...]]) -> tuple[Load, ...]:
    """The load of every row of the course, from its legs."""
    pick = [i for i, row in enumerate(legs) for _ in row]
    flat = [leg for row in legs for leg in row]
    each, of = alike(farm, course, pick, [leg.factor for leg in flat])
    shape = course.alive.shape
    heads, kg, n_kg = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for at, (row, leg) in enumerate(zip(pick, flat, strict=True)):
        days = slice(leg.first, leg.until)
        there = course.alive[row, days] * leg.share
        heads[row, days] = there
        kg[row, days] = there * course.weight_kg[row, days] * leg.factor
        n_kg[row, days] = there * each.n_kg[of[at], days]
    return tuple(Load(heads[i], kg[i], n_kg[i]) for i in range(shape[0]))


def all_takes(rows: Sequence[Row], outs: Sequence[Out]) -> dict[tuple[str, Sex], tuple[Take, ...]]:
    """What the killing drafts take of each batch's cockerels, and the outs of its hens. Those dated before
    the batch is on the farm are past and take nobody."""

    def taken(row: Row) -> tuple[Take, ...]:
        if row.sex == "cockerel":
            drafts = [draft for draft in row.batch.drafts if draft.on >= row.batch.arrives_on]
            return takes(drafts, row.traits.weight_cv.value)
        mine = [out for out in outs if out.batch == row.batch.id and out.on >= row.batch.arrives_on]
        return takes(mine, 0.0)

    return {(row.batch.id, row.sex): taken(row) for row in rows}


def limits_of(farm: Farm, kind: str, place: str) -> tuple[Limit, ...]:
    """The limits that bind in one place: one written for the place stands before one for its kind."""
    own = [limit for limit in farm.limits if limit.scope == place]
    named = {limit.quantity for limit in own}
    return (*own, *(x for x in farm.limits if x.scope == kind and x.quantity not in named))


def over(
    shelters: Sequence[Shelter], limits: Mapping[str, Sequence[Limit]], load: Load, first: int, until: int
) -> int | None:
    """The first day in first..until on which the party passes a limit in one of its shelters, spread over
    them by their floor; None if it never does."""
    floor = sum(s.floor_m2 for s in shelters)
    days = slice(first, until)
    passed = np.zeros(max(until - first, 0), dtype=bool)
    for shelter in shelters:
        values = {
            "heads": load.heads[days] * (shelter.floor_m2 / floor),
            "heads_per_m2": load.heads[days] / floor,
            "kg_per_m2": load.kg[days] / floor,
            "kg_n_per_ha_pass": load.n_kg[days] / floor * M2_PER_HA / shelter.moves_per_day,
        }
        for limit in limits[shelter.id]:
            if limit.quantity in values:
                passed |= values[limit.quantity] > limit.at_most * (1.0 + ROUNDING)
    return first + int(passed.argmax()) if passed.any() else None
