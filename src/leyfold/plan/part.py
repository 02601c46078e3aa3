"""A part of a model: some variables open, the others as they are, and only the rows that can still bind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.linear import Linear, Row

__all__ = ["Parts"]


Whole = NDArray[np.int64]


class Parts:
    """Cuts parts out of one model: its rows are laid out once, one behind the other."""

    def __init__(self, linear: Linear) -> None:
        rows = linear.rows
        self._linear = linear
        terms = [term for row in rows for term in sorted(row.terms.items())]
        self._ends = np.cumsum([0, *(len(row.terms) for row in rows)])
        self._variables, self._each = np.array(terms, dtype=np.int64).reshape(-1, 2).T
        self._low, self._high = np.array(linear.low, dtype=np.int64), np.array(linear.high, dtype=np.int64)

    def part(self, values: Sequence[int], opened: Iterable[int]) -> tuple[Linear, Whole]:
        """The model of the `opened` variables while every other keeps its value, and which variable of the
        whole each of its variables is."""
        own = np.array(sorted(opened), dtype=np.int64)
        place = np.full(len(self._low), -1)
        place[own] = np.arange(len(own))
        inside = place[self._variables] >= 0
        shut = self._each * np.array(values, dtype=np.int64)[self._variables]
        given = _by_row(np.where(inside, 0, shut), self._ends)
        ends = np.concatenate(([0], np.cumsum(inside)))[self._ends]
        variables, each = self._variables[inside], self._each[inside]
        at_low, at_high = each * self._low[variables], each * self._high[variables]
        most, least = (_by_row(pick(at_low, at_high), ends) for pick in (np.maximum, np.minimum))
        numbers, factors = place[variables].tolist(), each.tolist()
        low, high, gain = self._low[own], self._high[own], self._linear.gain
        part = Linear(low.tolist(), high.tolist(), [], {i: gain[v] for i, v in enumerate(own) if v in gain})
        for at, row in enumerate(self._linear.rows):
            before = int(given[at])
            low_end = None if row.least is None or least[at] + before >= row.least else row.least - before
            high_end = None if row.most is None or most[at] + before <= row.most else row.most - before
            if low_end is not None or high_end is not None:
                span = slice(ends[at], ends[at + 1])
                of = dict(zip(numbers[span], factors[span], strict=True))
                part.rows.append(Row(of, low_end, high_end, row.group))
        return part, own

    def whole(self, values: Sequence[int], own: Whole, found: Sequence[int]) -> tuple[int, ...]:
        """`values` with those of a part put in."""
        every = list(values)
        for v, x in zip(own.tolist(), found, strict=True):
            every[v] = x
        return tuple(every)


def _by_row(terms: Whole, ends: Whole) -> Whole:
    """[row] the sum of the terms of each row, which stand one behind the other."""
    sums: Whole = np.diff(np.concatenate(([0], np.cumsum(terms)))[ends])
    return sums
