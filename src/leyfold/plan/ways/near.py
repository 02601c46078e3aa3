"""The plan that misses some wishes by the least: stretches of set days opened one after another about a plan
that misses them by more, which may be one of another model."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import floor, inf

from leyfold.plan.carry import meanings
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.model import Model
from leyfold.plan.moves import in_windows
from leyfold.plan.problem import Problem
from leyfold.plan.solver import relaxed, solve_cpsat
from leyfold.plan.wanted import Levels, add_wishes
from leyfold.plan.ways.needed import SHARES, loosened

__all__ = ["nearest", "wishing"]

FIRM = 10
"""A share of a wish that is to be kept counts so many times until it is."""
EFFORT, FIRST = 0.3, 1.0
"""Share of the usual work of a window, and deterministic work for a plan to begin from."""


def nearest(
    model: Model,
    groups: Sequence[str],
    *,
    start: Sequence[int] | None = None,
    spare: float = 0.0,
    left: Callable[[], float],
    seed: int = 0,
) -> tuple[tuple[int, ...], tuple[float, ...]] | None:
    """An answer that breaks `groups` by as small shares, added up, as was found, and these shares; None where
    none was found in time. `start`: an answer that may break any wish altogether. Where it comes within
    `spare` of what no answer passes, no nearer is looked for."""
    own = len(model.linear.low)
    firm = [group for group in model.linear.groups() if group.startswith("wish:") and group not in groups]
    soft, by = loosened(model.linear, (*groups, *firm))
    for v in by[len(groups) :]:
        soft.gain[v] = -FIRM
    loose = relaxed(soft, seconds=left(), seed=seed)
    least = 0 if loose is None else floor(sum(float(loose.values[v]) * -soft.gain[v] for v in by) + 1e-6)
    enough = least + round(spare * SHARES)
    weights = {v: -soft.gain[v] for v in by}
    enough = min(enough, sum(weight * soft.high[v] for v, weight in weights.items()))
    soft.row(weights, least=enough)
    whole = None if start is None else (*start, *(soft.high[v] for v in by))
    if whole is None or not soft.holds(whole):
        whole = solve_cpsat(soft, effort=FIRST, seconds=left(), seed=seed, hint=whole).values
        whole = whole or _bare(model, soft)
    if whole is None:
        return None
    begun = Solved(whole, soft.worth(whole), inf, False, False, 0.0)
    model = replace(model, linear=soft)
    whole = in_windows(model, begun, enough=-enough, effort=EFFORT, left=left, seed=seed).values or whole
    if any(whole[v] for v in by[len(groups) :]):
        return None
    return whole[:own], tuple(whole[v] / SHARES for v in by[: len(groups)])


def _bare(model: Model, soft: Linear) -> tuple[int, ...] | None:
    """An answer without any set, the old hens of all flocks leaving never or as late as can be; None where
    somebody is in the way of that."""
    named = {*meanings(model).values()}
    for k in range(max((len(choices) for _, choices in model.problem.flocks), default=1)):
        values = list(soft.low)
        for f, (_, choices) in enumerate(model.problem.flocks):
            values[model.flocks[f, (len(choices) - k) % len(choices)]] = 1
        for row in (row for row in soft.rows if row.least is not None and not row.holds(values)):
            for v in row.terms.keys() - named:  # A place in use, or a share of a wish.
                values[v] = soft.high[v]
        if soft.holds(values):
            return tuple(values)
    return None


def wishing(model: Model, problem: Problem, levels: Levels) -> Model:
    """The model with its wishes at other levels, or with other wishes: those of `problem`, which is the same
    in all besides."""
    linear = model.linear
    rows = [row for row in linear.rows if not row.group.startswith("wish:")]
    made = replace(model, problem=problem, linear=replace(linear, rows=rows))
    add_wishes(made, levels)
    return made
