"""Money: what each batch cost and brought, by class of bird and by day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from leyfold.nouns.figure import Figure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["CLASSES", "Class", "Entry", "MoneyBand", "MoneyBands", "Rate", "Reckoning"]

Class = Literal["table", "pullets", "eggs"]
CLASSES: tuple[Class, ...] = ("table", "pullets", "eggs")
"""table: cockerels from egg to carcass. pullets: from egg to the day they go to the house. eggs: hens in the
house, whose cost begins with the worth of the pullet."""


@dataclass(frozen=True, slots=True)
class Rate:
    """Money for one unit of something. `price` is the key of the farm file it is taken from. `own_hours`
    marks the farm's own work, which a reckoning may leave out; `inside` what one class of the farm pays
    another: it cancels over the whole farm; `stock` the worth of birds and eggs there at the first day or
    left on the last, which is no money that changes hands."""

    id: str
    figure: Figure
    price: str
    takes: bool = False
    own_hours: bool = False
    inside: bool = False
    stock: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    """`quantity` [day] of one thing for one batch and class, and the money: costs below zero."""

    rate: Rate
    batch: str
    kind: Class
    quantity: Floats

    @property
    def money(self) -> Floats:
        sign = 1.0 if self.rate.takes else -1.0
        value: Floats = sign * self.rate.figure.value * self.quantity
        return value

    @property
    def sum(self) -> float:
        return float(self.money.sum())


@dataclass(frozen=True, slots=True)
class MoneyBand:
    """The 5, 50 and 95 % points of a sum of money, and how often it is below zero."""

    low: float
    middle: float
    high: float
    loss: float


@dataclass(frozen=True, slots=True)
class MoneyBands:
    """Of the seasons drawn: the margin of the farm and of each class, and the cost of one unit of each class
    (kg of carcass, pullet, egg), None where some season has none of it."""

    n: int
    seed: int
    margin: MoneyBand
    classes: Mapping[Class, MoneyBand]
    unit_cost: Mapping[Class, MoneyBand | None]


@dataclass(frozen=True, slots=True, eq=False)
class Reckoning:
    """All entries of a season: its gross margin is their sum. `unpriced`: what was used for which the farm
    names no price, by the price's name, and how much. `eggs` are all laid, `pullets` those that went to the
    house in the season."""

    first: date
    days: int
    currency: str
    entries: tuple[Entry, ...]
    carcass_kg: float
    carcasses: float
    pullets: float
    eggs: float
    unpriced: Mapping[str, float] = field(default_factory=dict)
    own_hours: bool = True
    bands: MoneyBands | None = None

    @property
    def last(self) -> date:
        return self.first + timedelta(days=self.days - 1)

    def total(self, entries: Iterable[Entry] | None = None) -> float:
        return float(sum(e.sum for e in (self.entries if entries is None else entries)))
