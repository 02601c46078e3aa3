"""Limits in force and the breaches of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

__all__ = ["QUANTITIES", "Breach", "Limit", "Quantity"]

Quantity = Literal[
    "heads",
    "heads_per_m2",
    "kg_per_m2",
    "kg_n_per_ha_pass",
    "floor_share",
    "eggs",
]
"""heads, heads_per_m2, kg_per_m2 (live weight), kg_n_per_ha_pass (nitrogen that a stand, a paddock or the
ground under a house gets in one pass), floor_share (brooder floor needed by age over floor there is), eggs
(in an incubator)."""
QUANTITIES: tuple[Quantity, ...] = get_args(Quantity)


@dataclass(frozen=True, slots=True)
class Limit:
    """`scope` is a kind of place (incubator, brooder, shelter, house, net) or the id of one place."""

    id: str
    quantity: Quantity
    scope: str
    at_most: float
    source: str
    verified: bool


@dataclass(frozen=True, slots=True)
class Breach:
    """One unbroken run of days over a limit in one place; `last` is the last day over."""

    limit: Limit
    where: str
    first: date
    last: date
    worst: float
    worst_on: date
