"""Ingredients in code for tests of mixes: cited contents, prices of the day."""

from __future__ import annotations

from collections.abc import Mapping

from leyfold.farm.tables import figure
from leyfold.nouns.feed import NUTRIENTS, Ingredient
from leyfold.nouns.figure import Figure

T = 1000.0


def share(value: float) -> Figure:
    return Figure(value, "share", "test", "farm file")


def made(name: str, price_per_kg: float | None, contents: Mapping[str, float], **more: object) -> Ingredient:
    return Ingredient(name, {n: share(v) for n, v in contents.items()}, price_per_kg, **more)  # type: ignore[arg-type]


def cited(name: str, price_per_t: float, at_most: float | None = None, **more: object) -> Ingredient:
    contents = {n: figure(f"ingredients.{name}.{n}") for n in NUTRIENTS}
    limit = None if at_most is None else share(at_most)
    return Ingredient(name, contents, price_per_t / T, at_most=limit, **more)  # type: ignore[arg-type]


def larder() -> tuple[Ingredient, ...]:
    """Eight ingredients at made-up prices."""
    return (
        cited("maize", 220),
        cited("wheat_soft", 230),
        cited("barley", 200),
        cited("oats", 210, 0.20),
        cited("soybean_meal_44", 420),
        cited("fish_meal_menhaden", 1400, 0.05),
        cited("limestone", 60),
        cited("dicalcium_phosphate", 600),
    )
