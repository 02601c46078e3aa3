"""That a model has no answer, shown at once where not even parts of sets and places would give one.

HiGHS then has a multiplier for each row, with which they add up to one that nothing can keep (Farkas'
lemma). The multipliers are made whole numbers and the rows added up again exactly, so that no rounding is
part of the proof.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.linear import Linear, Row
from leyfold.plan.solver import highs_model, run_highs

__all__ = ["barred"]

WHOLE = 2.0**40
"""The largest multiplier as a whole number."""
SECONDS = 10.0


def barred(
    linear: Linear, *, groups: Collection[str] | None = None, seconds: float = SECONDS, seed: int = 0
) -> tuple[str, ...] | None:
    """Groups whose rows, with those of no group, leave no answer at all, which is proven; None where it is
    not. `groups`: only the rows of these are held to."""
    import highspy

    rows = linear.rows if groups is None else linear.only(groups)
    held = replace(linear, rows=rows, gain={})
    if not rows:
        return None
    model = highs_model(held)
    # A row that presolving took out would have no multiplier.
    highs = run_highs(model, seconds=seconds, seed=seed, presolve="off")
    if highs.getModelStatus() != highspy.HighsModelStatus.kInfeasible:
        return None
    _, there, ray = highs.getDualRay()
    if not there:
        return None
    # HiGHS was given each row as a part of itself.
    given, starts = np.array(model.a_matrix_.value_), np.array(model.a_matrix_.start_)
    part = np.ones(len(rows))
    for i, row in enumerate(rows):
        if row.terms:
            part[i] = given[starts[i]] / next(iter(row.terms.values()))
    return _proof(held, np.array(ray) * part)


def _proof(linear: Linear, multipliers: NDArray[np.float64]) -> tuple[str, ...] | None:
    """The groups of the rows that add up to what cannot be; None where they do not, exactly."""
    top = float(np.abs(multipliers).max(initial=0.0))
    if not 0.0 < top < np.inf:
        return None
    whole = np.rint(multipliers * (WHOLE / top)).astype(np.int64)
    for way in (1, -1):
        used = [(way * int(whole[i]), linear.rows[i]) for i in np.flatnonzero(whole)]
        # A row without the end that is asked of it came in by rounding: less rows prove no less.
        used = [(times, row) for times, row in used if _end(times, row) is not None]
        if _cannot_be(linear, used):
            return tuple(dict.fromkeys(row.group for _, row in used if row.group))
    return None


def _end(times: int, row: Row) -> int | None:
    return row.least if times > 0 else row.most


def _cannot_be(linear: Linear, used: Iterable[tuple[int, Row]]) -> bool:
    """Whether rows so many times each, turned round where taken away, ask for more than variables give."""
    least, terms = 0, dict[int, int]()
    for times, row in used:
        least += times * (_end(times, row) or 0)
        for v, c in row.terms.items():
            terms[v] = terms.get(v, 0) + times * c
    return sum(c * (linear.high[v] if c > 0 else linear.low[v]) for v, c in terms.items()) < least
