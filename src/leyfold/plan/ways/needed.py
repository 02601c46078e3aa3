"""How far a group of limits, or a wish, must be loosened before a plan fits: one model, one more variable."""

from __future__ import annotations

from dataclasses import dataclass

from leyfold.plan.linear import Linear, Row
from leyfold.plan.solver import solve_cpsat

__all__ = ["Need", "loosened", "needed"]

PERCENT = 100
MOST = 300
EFFORT = 3.0
EXACT = frozenset({"set_days", "grass", "killing_days", "pen", "lamps"})
"""Groups that hold or do not hold: nothing between."""


@dataclass(frozen=True, slots=True)
class Need:
    """A group must be loosened by `share` for the plan that `values` say; None: loosening it opens nothing,
    which is proven."""

    share: float | None
    values: tuple[int, ...] = ()


def needed(linear: Linear, group: str, *, seconds: float, seed: int = 0) -> Need | None:
    """The least share found by which the room of `group` must grow, or its wish shrink, so that the model has
    an answer, to a hundredth. None where the group has no share to speak of, or none was found in time."""
    if group in EXACT:
        return None
    relaxed, by = loosened(linear, group)
    found = solve_cpsat(relaxed, effort=EFFORT, seconds=seconds, seed=seed)
    if found.values is None:
        return Need(None) if found.proven else None
    return Need(found.values[by] / PERCENT, found.values[:by])


def loosened(linear: Linear, group: str) -> tuple[Linear, int]:
    """The model with every end of `group` moved by a share that is itself a variable, as small as can be: its
    number is returned. Ends of nothing, and rows held at both ends, only tie the model together and stay."""
    relaxed = Linear(list(linear.low), list(linear.high))
    by = relaxed.number(MOST)
    relaxed.rows = [_moved(row, by) if row.group == group else row for row in linear.rows]
    relaxed.earns(by, -1)
    return relaxed, by


def _moved(row: Row, by: int) -> Row:
    if row.least is not None and row.most is not None:
        return row
    end = row.most if row.most is not None else row.least
    assert end is not None
    # "need <= room x used": the room is the coefficient of what is used.
    room = end if end > 0 else max((-c for c in row.terms.values() if c < 0), default=0)
    if room <= 0 or (row.least is not None and end <= 0):
        return row
    terms = {v: PERCENT * c for v, c in row.terms.items()}
    if row.most is not None:
        return Row({**terms, by: -room}, None, PERCENT * row.most, row.group)
    return Row({**terms, by: room}, PERCENT * end, None, row.group)
