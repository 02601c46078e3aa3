"""What a mix of ingredients holds, and how that stands to what is needed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from leyfold.nouns.feed import Ingredient

__all__ = ["Need", "Short", "Unknown", "contents", "lacks", "pearson", "shortfalls"]

Side = Literal["least", "most"]

CLOSE = 1e-6
"""Relative: a mix that is this near a bound meets it. Far below what any analysis can tell."""


class Unknown(ValueError):
    """An ingredient in use whose content of a nutrient is not known. It is never taken for zero."""

    def __init__(self, ingredient: str, nutrient: str) -> None:
        self.ingredient, self.nutrient = ingredient, nutrient
        super().__init__(f"{nutrient} of {ingredient} is not known")


@dataclass(frozen=True, slots=True)
class Need:
    """One bound on one nutrient of a mix: at `least` or at `most` `value`, in the unit of the nutrient."""

    nutrient: str
    side: Side
    value: float


@dataclass(frozen=True, slots=True)
class Short:
    """A need that is not met: what the mix holds of it."""

    need: Need
    holds: float


def lacks(ingredients: Iterable[Ingredient], nutrients: Iterable[str]) -> tuple[Unknown, ...]:
    """Every nutrient that is not known of an ingredient, in the order given."""
    wanted = tuple(nutrients)
    return tuple(Unknown(i.id, n) for i in ingredients for n in wanted if n not in i.contents)


def contents(
    amounts: Mapping[str, float], ingredients: Mapping[str, Ingredient], nutrients: Sequence[str]
) -> dict[str, float]:
    """What a mix of `amounts` (kg, or shares; >= 0, by ingredient) holds of each nutrient, in its own unit.

    Raises `Unknown` for a nutrient that is not known of an ingredient in use; ValueError for an amount below
    zero or NaN, or for a mix of nothing.
    """
    if any(not amount >= 0 for amount in amounts.values()):
        raise ValueError("amounts are 0 or more")
    whole = sum(amounts.values())
    if whole <= 0:
        raise ValueError("a mix of nothing holds nothing")
    used = [ingredients[name] for name, amount in amounts.items() if amount > 0]
    for unknown in lacks(used, nutrients):
        raise unknown
    return {
        n: sum(amounts[i.id] * i.contents[n].value for i in used) / whole for n in nutrients
    }  # fmt: skip


def shortfalls(held: Mapping[str, float], needs: Iterable[Need]) -> tuple[Short, ...]:
    """The needs that `held` does not meet; a nutrient that is not in `held` is passed over: a label does not
    say everything."""
    found = []
    for need in needs:
        if need.nutrient not in held:
            continue
        over = (held[need.nutrient] - need.value) * (1 if need.side == "least" else -1)
        if over < -CLOSE * max(abs(need.value), CLOSE):
            found.append(Short(need, held[need.nutrient]))
    return tuple(found)


def pearson(wanted: float, first: float, second: float) -> tuple[float, float]:
    """Shares of two feeds that hold `first` and `second` of something, so that the mix holds `wanted`: the
    Pearson square, 20 % protein of 8 % maize and 44 % meal being 24/36 maize and 12/36 meal.

    Any one unit for all three. ValueError where `wanted` does not lie between the two, or they are alike.
    """
    low, high = sorted((first, second))
    if not low <= wanted <= high:
        raise ValueError("what is wanted does not lie between the two")
    if low == high:
        raise ValueError("the two are alike: any mix of them is")
    share = (wanted - second) / (first - second)
    return share, 1.0 - share
