"""How far a group of limits, or a wish, must be loosened before a plan fits: one model, one more variable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from leyfold.plan.impossible import barred
from leyfold.plan.linear import Linear, Row
from leyfold.plan.solver import relaxed

__all__ = ["EXACT", "SHARES", "Need", "loosened", "needed"]

SHARES = 1000
"""Shares are counted in thousandths."""
MOST = 10 * SHARES
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
    soft, (by,) = loosened(linear, (group,))
    loose = relaxed(soft, seconds=seconds, seed=seed)
    if loose is not None:
        return Need(max(float(loose.values[by]), 0.0) / SHARES)
    return None if barred(soft, seconds=seconds, seed=seed) is None else Need(None)


def loosened(linear: Linear, groups: Sequence[str]) -> tuple[Linear, tuple[int, ...]]:
    """The model with every end of each group moved by a share that is itself a variable, together as small as
    can be: their numbers are returned. Ends of nothing, and rows held at both ends, only tie the model
    together and stay."""
    soft = Linear(list(linear.low), list(linear.high))
    by = {group: soft.number(SHARES if group.startswith("wish:") else MOST) for group in groups}
    soft.rows = [_moved(row, by[row.group]) if row.group in by else row for row in linear.rows]
    for variable in by.values():
        soft.earns(variable, -1)
    return soft, tuple(by.values())


def _moved(row: Row, by: int) -> Row:
    if row.least is not None and row.most is not None:
        return row
    end = row.most if row.most is not None else row.least
    assert end is not None
    # "need <= room x used": the room is the coefficient of what is used.
    room = end if end > 0 else max((-c for c in row.terms.values() if c < 0), default=0)
    if room <= 0 or (row.least is not None and end <= 0):
        return row
    terms = {v: SHARES * c for v, c in row.terms.items()}
    if row.most is not None:
        return Row({**terms, by: -room}, None, SHARES * row.most, row.group)
    return Row({**terms, by: room}, SHARES * end, None, row.group)
