"""The equations: which offers to take up, with how many trays, in which places.

`docs/models.md` states them. Everything is in whole numbers: trays, shelters, places taken or not. A need is
rounded up and a capacity down by at most one part in ten thousand, so that no answer passes a limit.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from math import floor

from leyfold.plan.linear import Linear
from leyfold.plan.problem import Problem
from leyfold.reckoning.rates import Rates, work

__all__ = ["FINE", "MONEY", "Choice", "Model", "pick", "used_by", "within"]

MONEY = 100_000
"""Whole numbers to one unit of money: a thousandth of a cent."""
FINE = 10_000


@dataclass(frozen=True, slots=True)
class Choice:
    """Variables of one of several ways: whether it is taken, and with how many trays."""

    taken: int
    trays: int


@dataclass(slots=True, eq=False)
class Model:
    """The model and where its variables stand: by offer; by offer and way of killing; by (offer, place); by
    (party, class of shelters); by (flock, day it leaves)."""

    problem: Problem
    linear: Linear = field(default_factory=Linear)
    offers: list[Choice] = field(default_factory=list)
    cocks: list[tuple[Choice, ...]] = field(default_factory=list)
    most: list[int] = field(default_factory=list)
    machine: dict[tuple[int, str], Choice] = field(default_factory=dict)
    brooder: dict[tuple[int, str], Choice] = field(default_factory=dict)
    house: dict[tuple[int, str], Choice] = field(default_factory=dict)
    shelters: dict[tuple[int, int], int] = field(default_factory=dict)
    one: dict[int, int] = field(default_factory=dict)
    """By party that takes one shelter of any class: whether it does."""
    joins: list[int] = field(default_factory=list)
    """By join of the problem: whether it is taken up."""
    flocks: dict[tuple[int, int], int] = field(default_factory=dict)
    brooder_on: dict[str, list[tuple[int, int, int]]] = field(default_factory=dict)
    """By brooder: (first day, day after the last, variable) of its being in use."""
    house_on: dict[str, list[tuple[int, int, int]]] = field(default_factory=dict)

    def owners(self) -> dict[int, int]:
        """The offer that each variable belongs to, of those that belong to one."""
        found: dict[int, int] = {}
        for o, (offer, ways) in enumerate(zip(self.offers, self.cocks, strict=True)):
            for choice in (offer, *ways):
                found[choice.taken] = found[choice.trays] = o
        for places in (self.machine, self.brooder, self.house):
            for (o, _), choice in places.items():
                found[choice.taken] = found[choice.trays] = o
        for (s, _), number in self.shelters.items():
            found[number] = self.problem.subs[s].offer
        return found

    @property
    def tray(self) -> int:
        return self.problem.farm.planning.tray

    def price(self, name: str) -> float:
        """The farm's price, 0 where it names none: `reckoning` leaves it out then."""
        rates = Rates(self.problem.farm)
        return rates[name].figure.value if rates.has(name) else 0.0

    def work(self, name: str) -> float:
        return work(self.problem.farm, name)


def pick(model: Model, whole: Choice, most: int, among: int, group: str = "") -> tuple[Choice, ...]:
    """One of `among` ways for what `whole` takes up, with all its trays. One way alone is `whole` itself."""
    if among == 1:
        return (whole,)
    linear = model.linear
    ways = tuple(Choice(linear.number(1), linear.number(most)) for _ in range(among))
    for way in ways:
        linear.row({way.trays: 1, way.taken: -most}, most=0)
    linear.row({**_ones(w.taken for w in ways), whole.taken: -1}, least=0, most=0, group=group)
    linear.row({**_ones(w.trays for w in ways), whole.trays: -1}, least=0, most=0, group=group)
    return ways


def _ones(variables: Iterable[int]) -> dict[int, int]:
    return dict.fromkeys(variables, 1)


def within(m: Model, need: dict[int, int], room: float, used: int | None, group: str) -> None:
    """No more than there is room for, and none unless the place is `used`: what half fills it is half of it
    in use at the least, which lets a solver see early what a place costs."""
    most = max(floor(FINE * room), 0)
    if used is None:
        m.linear.row(need, most=most, group=group)
    else:
        m.linear.row({**need, used: -most}, most=0, group=group)


def used_by(m: Model, used: int, there: Iterable[tuple[int, int]]) -> None:
    """A place is in use where any of (offer, taken) is in it; of the ways of one set there is one at most."""
    of_set: dict[tuple[str, date], dict[int, int]] = {}
    for o, taken in there:
        offer = m.problem.offers[o]
        of_set.setdefault((offer.line, offer.set_on), {})[taken] = -1
    for ways in of_set.values():
        m.linear.row({used: 1, **ways}, least=0)
