"""The book of a plan: every flock, and which of its birds stand where on which day."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import chain
from typing import TypeVar

import numpy as np

from leyfold.nouns.farm import Brooder, Farm, Kit, MobileHouse, Shelter
from leyfold.nouns.plan import Plan, Stay
from leyfold.nouns.stock import SEXES, Sex
from leyfold.plan.checker.birds import Flock, flock
from leyfold.plan.checker.days import Days, Floats

__all__ = ["Book", "Stand", "open_book"]


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """Birds of one flock in one place by one stay: [day] heads, 0 outside it."""

    stay: Stay
    flock: Flock
    heads: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """`at`: the stands of each place in use, by its name; `of`: those of each flock, by batch and sex."""

    farm: Farm
    plan: Plan
    days: Days
    flocks: Mapping[tuple[str, Sex], Flock]
    stands: tuple[Stand, ...]
    at: Mapping[str, tuple[Stand, ...]] = field(default_factory=dict)
    of: Mapping[tuple[str, Sex], tuple[Stand, ...]] = field(default_factory=dict)

    @property
    def kinds(self) -> tuple[tuple[str, Mapping[str, Brooder | Shelter | MobileHouse]], ...]:
        """Places for birds, by kind."""
        farm = self.farm
        return (("brooder", farm.brooders), ("shelter", farm.shelters), ("house", farm.houses))

    def kit(self, place: str) -> Kit | None:
        return next((kits[place] for _, kits in self.kinds if place in kits), None)

    def heads(self, place: str) -> Floats:
        """[day] all birds in a place."""
        return self.sum(place, lambda stand: stand.heads)

    def sum(self, place: str, of: Callable[[Stand], Floats]) -> Floats:
        """[day] something of every stand in a place, together."""
        return sum((of(stand) for stand in self.at.get(place, ())), np.zeros(self.days.count))


def open_book(farm: Farm, plan: Plan) -> Book:
    """The book of a completed plan, over the days it says, or else all its days."""
    days = replace(_days(plan), lengths=farm.holding.lengths)
    flocks = {(batch.id, sex): flock(farm, plan, days, batch, sex) for batch in plan.batches for sex in SEXES}
    stands = tuple(
        Stand(stay, of, _standing(days, stay, of))
        for stay in plan.stays
        for sex in (SEXES if stay.sex is None else (stay.sex,))
        if (of := flocks.get((stay.batch, sex))) is not None
    )
    at: dict[str, list[Stand]] = {}
    own: dict[tuple[str, Sex], list[Stand]] = {}
    for stand in stands:
        at.setdefault(stand.stay.place, []).append(stand)
        own.setdefault((stand.flock.batch.id, stand.flock.sex), []).append(stand)
    return Book(farm, plan, days, flocks, stands, _whole(at), _whole(own))


Name = TypeVar("Name")


def _whole(parts: Mapping[Name, Sequence[Stand]]) -> dict[Name, tuple[Stand, ...]]:
    return {name: tuple(own) for name, own in parts.items()}


def _standing(days: Days, stay: Stay, of: Flock) -> Floats:
    heads = np.zeros(days.count)
    here = days.span(stay.first, stay.until)
    heads[here] = of.alive[here] * stay.share
    return heads


def _days(plan: Plan) -> Days:
    events = list(
        chain.from_iterable(
            [day for day in (b.set_on, b.arrives_on) if day is not None] for b in plan.batches
        )
    )
    first = plan.first or min(events, default=date.min)
    ends = [stay.until for stay in plan.stays]
    last = plan.last or date.fromordinal(max([*ends, *events, first]).toordinal() - 1)
    return Days(first, max((last - first).days + 1, 1))
