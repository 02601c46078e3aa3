"""How far from the best an answer may be: the root of a branch-and-cut tree, of the model with a variable for
every number of trays that a set may have."""

from __future__ import annotations

from math import inf

from leyfold.plan.linear import Linear, Row
from leyfold.plan.model import Choice, Model
from leyfold.plan.solver import solve_highs

__all__ = ["LARGE", "bounded", "sized"]

LARGE = 3000
"""Variables from which the root of the tree is too hard."""


def bounded(m: Model, *, seconds: float, seed: int = 0) -> float:
    """What no answer gains more than, by the root of the tree; endless where the model is too large."""
    if len(m.linear.low) > LARGE:
        return inf
    return solve_highs(sized(m), seconds=seconds, seed=seed, nodes=1).bound


def sized(m: Model) -> Linear:
    """The model, its own variables first, in which a set in a brooder has one of all sizes. What two sets
    cannot both be, a relaxation then sees: of those that take more than half of a place, one alone is in it.
    No answer is lost and none is added."""
    linear = m.linear
    found = Linear([*linear.low], [*linear.high], [*linear.rows], {**linear.gain})
    of: dict[int, dict[int, int]] = {}
    for choice in dict.fromkeys(m.brooder.values()):
        of[choice.trays] = _sizes(found, choice)
    seen = set[tuple[int | None, frozenset[int]]]()
    for row in linear.rows:
        used, large = _halves(row, of)
        if len(large) > 1 and (used, large) not in seen:
            seen.add((used, large))
            found.row(
                {**dict.fromkeys(sorted(large), 1), **({} if used is None else {used: -1})},
                most=1 if used is None else 0,
            )
    return found


def _sizes(linear: Linear, choice: Choice) -> dict[int, int]:
    """A variable by number of trays."""
    own = {n: linear.number(1) for n in range(1, linear.high[choice.trays] + 1)}
    linear.row({**dict.fromkeys(own.values(), 1), choice.taken: -1}, least=0, most=0)
    linear.row({**{v: n for n, v in own.items()}, choice.trays: -1}, least=0, most=0)
    return own


def _halves(row: Row, of: dict[int, dict[int, int]]) -> tuple[int | None, frozenset[int]]:
    """Of a row that says how much room there is in a place, and the variable of its being in use: sizes that
    take more than half of it."""
    nothing = None, frozenset[int]()
    if row.most is None or row.least is not None:
        return nothing
    needs = {v: c for v, c in row.terms.items() if c > 0}
    used = [v for v, c in row.terms.items() if c < 0]
    if len(used) > 1 or not needs.keys() <= of.keys():
        return nothing
    room = row.most - sum(row.terms[v] for v in used)
    large = {y for v, need in needs.items() for n, y in of[v].items() if 2 * need * n > room}
    return (used[0] if used else None), frozenset(large)
