"""A part of a model: some variables open, the others as they are, and only the rows that can still bind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.linear import Linear, Row

__all__ = ["Parts"]


class Parts:
    """Cuts parts out of one model: its rows are laid out once."""

    def __init__(self, linear: Linear) -> None:
        from scipy.sparse import csr_array

        rows = linear.rows
        ends = np.cumsum([0, *(len(row.terms) for row in rows)])
        variables = np.array([v for row in rows for v in row.terms], dtype=np.int64)
        each = np.array([c for row in rows for c in row.terms.values()], dtype=np.int64)
        self._linear = linear
        self._terms: Any = csr_array((each, variables, ends), shape=(len(rows), len(linear.low)))
        self._low, self._high = np.array(linear.low, dtype=np.int64), np.array(linear.high, dtype=np.int64)

    def part(self, values: Sequence[int], opened: Iterable[int]) -> tuple[Linear, NDArray[np.int64]]:
        """The model of the `opened` variables while every other keeps its value, and which variable of the
        whole each of its variables is."""
        own = np.array(sorted(opened), dtype=np.int64)
        kept = np.array(values, dtype=np.int64)
        kept[own] = 0
        terms = self._terms[:, own]
        low, high = self._low[own], self._high[own]
        up, down = terms.maximum(0), terms.minimum(0)
        most, least = up @ high + down @ low, up @ low + down @ high
        given = self._terms @ kept
        gain = self._linear.gain
        part = Linear(low.tolist(), high.tolist(), [], {i: gain[v] for i, v in enumerate(own) if v in gain})
        for at, row in enumerate(self._linear.rows):
            before = int(given[at])
            low_end = None if row.least is None or least[at] + before >= row.least else row.least - before
            high_end = None if row.most is None or most[at] + before <= row.most else row.most - before
            if low_end is not None or high_end is not None:
                span = slice(terms.indptr[at], terms.indptr[at + 1])
                of = dict(zip(terms.indices[span].tolist(), terms.data[span].tolist(), strict=True))
                part.rows.append(Row(of, low_end, high_end, row.group))
        return part, own

    def whole(self, values: Sequence[int], own: NDArray[np.int64], found: Sequence[int]) -> tuple[int, ...]:
        """`values` with those of a part put in."""
        every = list(values)
        for v, x in zip(own.tolist(), found, strict=True):
            every[v] = x
        return tuple(every)
