"""One reckoning against another: year against year, plan against plan, farm against farm."""

from __future__ import annotations

from dataclasses import dataclass

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.reckoning import CLASSES, Reckoning
from leyfold.reckoning.sums import by_rate, units
from leyfold.words import say

__all__ = ["Comparison", "Row", "compare"]


@dataclass(frozen=True, slots=True)
class Row:
    """One figure in both; None where one of them has it not."""

    name: str
    a: float | None
    b: float | None

    @property
    def change(self) -> float | None:
        return None if self.a is None or self.b is None else self.b - self.a


@dataclass(frozen=True, slots=True)
class Comparison:
    """`margin` of the farm and of each class; `unit_cost` of a kg of carcass, a pullet, an egg; `money` of
    each rate, inside ones left out: they sum to the farm's margin."""

    currency: str
    margin: tuple[Row, ...]
    unit_cost: tuple[Row, ...]
    money: tuple[Row, ...]


def compare(a: Reckoning, b: Reckoning) -> Comparison:
    """`b` against `a`. BadInput where their money is not of one currency; ValueError where own hours count in
    one of them alone."""
    if a.currency != b.currency:
        wrong = say("reckoning.two_currencies", a=a.currency, b=b.currency)
        raise BadInput(Fault("farm.toml", "holding.currency", wrong, say("reckoning.two_currencies_mend")))
    if a.own_hours != b.own_hours:
        raise ValueError("own hours must count in both or in neither")
    margin = [Row("farm", a.total(), b.total())]
    for kind in CLASSES:
        ends = (r.total(e for e in r.entries if e.kind == kind) for r in (a, b))
        margin.append(Row(kind, *ends))
    cost = [Row(x.kind, x.cost, y.cost) for x, y in zip(units(a), units(b), strict=True)]
    inside = {e.rate.id for r in (a, b) for e in r.entries if e.rate.inside}
    one, two = by_rate(a), by_rate(b)
    names = [name for name in dict.fromkeys((*one, *two)) if name not in inside]
    money = [Row(name, one.get(name, 0.0), two.get(name, 0.0)) for name in names]
    return Comparison(a.currency, tuple(margin), tuple(cost), tuple(money))
