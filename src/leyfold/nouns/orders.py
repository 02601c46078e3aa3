"""Birds promised: classes of carcass weight, and preorders."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["Order", "WeightClass"]


@dataclass(frozen=True, slots=True)
class WeightClass:
    """Carcasses from `least_kg` up to where the next class begins."""

    id: str
    least_kg: float


@dataclass(frozen=True, slots=True)
class Order:
    """`number` carcasses of `weight_class` (of any weight where None) by `on`. `customer` is a code of the
    farm's own: nothing personal is needed to say whom to ring."""

    id: str
    customer: str
    number: int
    on: date
    weight_class: str | None = None
    deposit: float | None = None
