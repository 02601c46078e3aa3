"""What a farm mixes its own feed from, and what the mix has to hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from leyfold.nouns.figure import Figure

__all__ = ["NUTRIENTS", "Ingredient", "Ration"]

NUTRIENTS = (
    "energy_kcal_per_kg",
    "protein",
    "lysine",
    "methionine",
    "methionine_and_cystine",
    "threonine",
    "calcium",
    "nonphytate_phosphorus",
)
"""Columns of the cited tables of ingredients and requirements: energy in kcal/kg, the rest shares by weight
as fed."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """`contents` by nutrient; one that is not there is not known, which is not zero. Shares of the mix are
    0..1. `has_kg` is what there is of it and no more can be had; None where it can be bought."""

    id: str
    contents: Mapping[str, Figure]
    price_per_kg: float | None = None
    at_least: float = 0.0
    at_most: Figure | None = None
    has_kg: float | None = None
    bag_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Ration:
    """A mix of a farm's own: `least` and `most` of each nutrient, where anything is asked, and the kg that
    go into the mixer at once."""

    id: str
    least: Mapping[str, Figure]
    most: Mapping[str, Figure] = field(default_factory=dict)
    batch_kg: float | None = None
