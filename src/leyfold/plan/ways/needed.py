"""How far a group of limits, or a wish, must be loosened before a plan fits: one model, one more variable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from leyfold.plan.impossible import barred
from leyfold.plan.linear import Linear, Row
from leyfold.plan.model import FINE
from leyfold.plan.solver import relaxed

__all__ = ["EXACT", "SHARES", "Need", "loosened", "needed"]

SHARES = 1000
"""Shares are counted in thousandths."""
MOST = 10 * SHARES
EXACT = frozenset({"set_days", "grass", "killing_days", "pen", "lamps"})
"""Groups that hold or do not hold: nothing between."""


@dataclass(frozen=True, slots=True)
class Need:
    """A group must be loosened by `share` at the least; None: loosening it opens nothing, which is proven.
    `room`: the largest that there is of it, or could be asked of it where there is none."""

    share: float | None
    room: float = 0.0


def needed(linear: Linear, group: str, *, seconds: float, seed: int = 0) -> Need | None:
    """The share by which the room of `group` must grow, or its wish shrink, were parts of sets and places
    allowed: no plan needs less. None where the group has no share to speak of, or the clock ran out."""
    if group in EXACT:
        return None
    soft, (by,) = loosened(linear, (group,))
    loose = relaxed(soft, seconds=seconds, seed=seed)
    if loose is not None:
        return Need(max(float(loose.values[by]), 0.0) / SHARES, _largest(linear, group) / FINE)
    return None if barred(soft, seconds=seconds, seed=seed) is None else Need(None)


def loosened(linear: Linear, groups: Sequence[str]) -> tuple[Linear, tuple[int, ...]]:
    """The model with every end of each group moved by a share that is itself a variable, together as small as
    can be: their numbers are returned. What has no room at all grows by shares of the largest room of its
    group. Ways forbidden, and rows held at both ends, only tie the model together and stay."""
    soft = Linear(list(linear.low), list(linear.high))
    by = {group: soft.number(SHARES if group.startswith("wish:") else MOST) for group in groups}
    rooms = {group: _largest(linear, group) for group in groups}
    soft.rows = [
        _moved(row, by[row.group], rooms[row.group]) if row.group in by else row for row in linear.rows
    ]
    for variable in by.values():
        soft.earns(variable, -1)
    return soft, tuple(by.values())


def _largest(linear: Linear, group: str) -> int:
    """The largest room that a row of a group has; where none has any, the most that could be asked of one."""
    rows = [row for row in linear.rows if row.group == group and not _forbids(row)]
    most = (sum(c * linear.high[v] for v, c in row.terms.items() if c > 0) for row in rows)
    return max(map(_room, rows), default=0) or max(most, default=0)


def _room(row: Row) -> int:
    """What there is of something: of "need <= room x used" the room is the coefficient of what is used."""
    end = row.least if row.most is None else row.most
    if end is None or (row.most is None and end <= 0):
        return 0
    return end if end > 0 else max((-c for c in row.terms.values() if c < 0), default=0)


def _forbids(row: Row) -> bool:
    return row.most == 0 and set(row.terms.values()) == {1}


def _moved(row: Row, by: int, largest: int) -> Row:
    if (
        (row.least is None) == (row.most is None)
        or _forbids(row)
        or (row.least is not None and row.least <= 0)
    ):
        return row
    room = _room(row) or largest
    terms = {v: SHARES * c for v, c in row.terms.items()}
    if row.most is not None:
        return Row({**terms, by: -room}, None, SHARES * row.most, row.group)
    assert row.least is not None
    return Row({**terms, by: room}, SHARES * row.least, None, row.group)
