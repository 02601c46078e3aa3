"""Killing in drafts, the heaviest first: what each draft takes and what it leaves.

Weights within a sex are normal about the curve with the line's spread. A draft takes the upper end, so
its birds are heavier than the mean and those left are lighter; their weights together sum to what was
there (exactly: both are means of the same normal between two quantiles).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

from leyfold.nouns.plan import Draft, Out

__all__ = ["Take", "takes"]

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Take:
    """One draft, in shares of all birds of the sex that would live without any draft.

    `taken` leave on day `on`, weighing `taken_factor` times the mean of the sex; `left` remain, weighing
    `left_factor` times it (1.0 where none is left).
    """

    on: date
    taken: float
    taken_factor: float
    left: float
    left_factor: float


def takes(drafts: Sequence[Draft | Out], weight_cv: float) -> tuple[Take, ...]:
    """The drafts in order of day. `weight_cv` 0 for birds taken without regard to weight."""
    result: list[Take] = []
    gone = 0.0
    for draft in sorted(drafts, key=lambda d: d.on):
        taken = (1.0 - gone) * draft.share
        until = 1.0 if draft.share == 1.0 else gone + taken
        if taken <= 0.0:
            continue
        taken_factor = 1.0 + weight_cv * (_edge(until) - _edge(gone)) / taken
        left = 1.0 - until
        left_factor = 1.0 - weight_cv * _edge(until) / left if left > 0.0 else 1.0
        result.append(Take(draft.on, taken, taken_factor, left, left_factor))
        gone = until
    return tuple(result)


def _edge(upper_share: float) -> float:
    """Density of the standard normal at the quantile that cuts off `upper_share` above it."""
    if upper_share <= 0.0 or upper_share >= 1.0:
        return 0.0
    return _NORMAL.pdf(_NORMAL.inv_cdf(upper_share))
