"""How far a group of limits, or a wish, must be loosened before a plan fits: one model, one more variable."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from leyfold.plan.impossible import barred
from leyfold.plan.linear import Linear, Row
from leyfold.plan.solver import relaxed, solve_cpsat

__all__ = ["Need", "loosened", "most_of", "needed"]

PERCENT = 100
MOST = 1000
EFFORT, NEAR = 1.0, 2
"""Deterministic work for an answer, and the hundredths that are let go for it to be found soon."""
EXACT = frozenset({"set_days", "grass", "killing_days", "pen", "lamps"})
"""Groups that hold or do not hold: nothing between."""


@dataclass(frozen=True, slots=True)
class Need:
    """A group must be loosened by `share` at the least; None: loosening it opens nothing, which is proven."""

    share: float | None


def needed(linear: Linear, group: str, *, seconds: float, seed: int = 0) -> Need | None:
    """The share by which the room of `group` must grow, or its wish shrink, were parts of sets and places
    allowed: no plan needs less. None where the group has no share to speak of, or the clock ran out."""
    if group in EXACT:
        return None
    soft, by = loosened(linear, group)
    loose = relaxed(soft, seconds=seconds, seed=seed)
    if loose is not None:
        return Need(max(float(loose.values[by]), 0.0) / PERCENT)
    return None if barred(soft, seconds=seconds, seed=seed) is None else Need(None)


def most_of(
    linear: Linear, group: str, *, seconds: float, seed: int = 0
) -> tuple[tuple[int, ...], float] | None:
    """An answer that breaks `group` by as small a share as was found, and that share; None where none was
    found in time."""
    need = needed(linear, group, seconds=seconds, seed=seed)
    if need == Need(None):
        return None
    soft, by = loosened(linear, group)
    if need is not None and need.share is not None:
        # Where it comes so near to what no plan passes, no nearer is looked for.
        soft.low[by] = min(floor(PERCENT * need.share) + NEAR, soft.high[by])
    found = solve_cpsat(soft, effort=EFFORT, seconds=seconds, seed=seed)
    return None if found.values is None else (found.values[:by], found.values[by] / PERCENT)


def loosened(linear: Linear, group: str) -> tuple[Linear, int]:
    """The model with every end of `group` moved by a share that is itself a variable, as small as can be: its
    number is returned. Ends of nothing, and rows held at both ends, only tie the model together and stay."""
    soft = Linear(list(linear.low), list(linear.high))
    by = soft.number(PERCENT if group.startswith("wish:") else MOST)
    soft.rows = [_moved(row, by) if row.group == group else row for row in linear.rows]
    soft.earns(by, -1)
    return soft, by


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
