"""Money: what each batch cost and brought, by class of bird and by day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

from leyfold.nouns.figure import Figure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["CLASSES", "Class", "Entry", "Rate", "Reckoning"]

Class = Literal["table", "pullets", "eggs"]
CLASSES: tuple[Class, ...] = ("table", "pullets", "eggs")
"""table: cockerels from egg to carcass. pullets: from egg to the day they go to the house. eggs: hens in the
house, whose cost begins with the worth of the pullet."""


@dataclass(frozen=True, slots=True)
class Rate:
    """Money for one unit of something. `own_hours` marks the farm's own work, which a reckoning may leave
    out; `inside` what one class of the farm pays another: it cancels over the whole farm."""

    id: str
    figure: Figure
    takes: bool = False
    own_hours: bool = False
    inside: bool = False


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


@dataclass(frozen=True, slots=True, eq=False)
class Reckoning:
    """All entries of a season. Sums of them are the business of `reckoning.sums`."""

    first: date
    days: int
    currency: str
    entries: tuple[Entry, ...]
    carcass_kg: float
    carcasses: float
    pullets: float
    eggs: float

    def total(self, entries: Iterable[Entry] | None = None) -> float:
        return float(sum(e.money.sum() for e in (self.entries if entries is None else entries)))
