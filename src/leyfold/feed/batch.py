"""A mix as it goes into the mixer: whole bags, the rest by the step of the scale, and what it then holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.feed.mix import Need, Short, contents, shortfalls
from leyfold.nouns.feed import Ingredient

__all__ = ["Batch", "Line", "weigh_out"]

Floats = NDArray[np.float64]

NEAR = 1e-3
"""Rounding stops at a mix within a thousandth of the cheapest."""
MOST_NODES = 2000
"""How far the search for whole bags goes: a count of steps, so that the answer does not depend on the
machine."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the mixing sheet. `bags` is None for what is weighed; `scale_kg` is what the scale shows
    when this is in, everything before it too."""

    ingredient: str
    kg: float
    bags: int | None
    scale_kg: float


@dataclass(frozen=True, slots=True)
class Batch:
    """What goes into the mixer, the most first. `short` are the needs that the rounded mix does not meet;
    `held_to` says whether the rounding itself was made to meet them all."""

    lines: tuple[Line, ...]
    kg: float
    price: float
    contents: Mapping[str, float]
    short: tuple[Short, ...]
    held_to: bool


def weigh_out(
    shares: Mapping[str, float],
    ingredients: Sequence[Ingredient],
    needs: Sequence[Need],
    *,
    batch_kg: float,
    step_kg: float,
) -> Batch:
    """`batch_kg` (> 0) of the ingredients in the mix `shares`: those with a `bag_kg` by whole bags, the
    others by `step_kg`; the cheapest that still meets `needs`. Where they do not make up the batch to the
    gram it is up to a step short, or a bag. Where nothing meets every need, each ingredient is rounded by
    itself and what falls short is told.
    """
    if batch_kg <= 0 or step_kg <= 0:
        raise ValueError("a batch and a step are above 0")
    used = [i for i in ingredients if shares[i.id] > 0]
    unit = np.array([i.bag_kg or step_kg for i in used])
    counts = None
    for slack in dict.fromkeys((0.0, step_kg, float(unit.max()))):
        counts = _cheapest(used, unit, needs, batch_kg, slack)
        if counts is not None:
            break
    held_to = counts is not None
    if counts is None:
        wanted = np.array([shares[i.id] for i in used]) * batch_kg / sum(shares.values())
        counts = np.round(wanted / unit)
        if not counts.any():
            counts[int(np.argmax(wanted))] = 1
    kg = np.round(counts * unit, 6)
    lines, scale = [], 0.0
    for n in sorted(range(len(used)), key=lambda n: (-kg[n], used[n].id)):
        if counts[n] > 0:
            scale = round(scale + float(kg[n]), 6)
            bags = int(counts[n]) if used[n].bag_kg is not None else None
            lines.append(Line(used[n].id, float(kg[n]), bags, scale))
    by_id = {i.id: i for i in used}
    nutrients = tuple(dict.fromkeys(need.nutrient for need in needs))
    held = contents({line.ingredient: line.kg for line in lines}, by_id, nutrients)
    price = sum(line.kg * (by_id[line.ingredient].price_per_kg or 0.0) for line in lines)
    return Batch(tuple(lines), scale, price, held, shortfalls(held, needs), held_to)


def _cheapest(
    used: Sequence[Ingredient], unit: Floats, needs: Sequence[Need], batch_kg: float, slack_kg: float
) -> Floats | None:
    """Whole counts of `unit` [kg] by ingredient, or None where none was found that meets every need."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows = [unit]
    low, high = [max(batch_kg - slack_kg, 0.0) * (1 - 1e-9)], [batch_kg * (1 + 1e-9)]
    for need in needs:
        sign = 1.0 if need.side == "least" else -1.0
        over = sign * (np.array([i.contents[need.nutrient].value for i in used]) - need.value) * unit
        rows.append(over / max(float(np.abs(over).max()), 1e-12))
        low.append(0.0)
        high.append(np.inf)
    most = [np.floor(_most_kg(i, batch_kg) / u + 1e-9) for i, u in zip(used, unit, strict=True)]
    least = [np.ceil(i.at_least * batch_kg / u - 1e-9) for i, u in zip(used, unit, strict=True)]
    for n, i in enumerate(used):
        # Between two limits so near that no count lies there, the nearest will do.
        if least[n] > most[n]:
            least[n] = most[n] = np.round(i.at_least * batch_kg / unit[n])
    answer = milp(
        np.array([i.price_per_kg or 0.0 for i in used]) * unit,
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.ones(len(used)),
        bounds=Bounds(least, most),
        options={"mip_rel_gap": NEAR, "node_limit": MOST_NODES},
    )
    return None if answer.x is None else np.round(answer.x)


def _most_kg(ingredient: Ingredient, batch_kg: float) -> float:
    most = batch_kg if ingredient.at_most is None else batch_kg * ingredient.at_most.value
    return most if ingredient.has_kg is None else min(most, ingredient.has_kg)
