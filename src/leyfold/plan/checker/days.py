"""The days walked, and runs of them on which something is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.planned import Finding
from leyfold.words import forms, say

__all__ = ["ROUNDING", "Days", "Floats", "finding", "runs"]

Floats = NDArray[np.float64]

ROUNDING = 1e-6
"""Something is passed when it is so by more than this share: arithmetic, not tolerance."""


@dataclass(frozen=True, slots=True)
class Days:
    """`count` days from `first` on."""

    first: date
    count: int

    def day(self, index: int) -> date:
        return date.fromordinal(self.first.toordinal() + int(index))

    def since(self, day: date) -> Floats:
        """[day] days since `day`."""
        return np.arange(self.count, dtype=np.float64) - self.index(day)

    def index(self, day: date) -> int:
        return day.toordinal() - self.first.toordinal()

    def clipped(self, day: date) -> int:
        return min(max(self.index(day), 0), self.count)

    def span(self, first: date | None, until: date | None) -> slice:
        """The days from `first` up to, not including, `until`; None: from, or to, the end of all days."""
        a = 0 if first is None else self.clipped(first)
        return slice(a, max(a, self.count if until is None else self.clipped(until)))


def runs(
    days: Days,
    what: str,
    where: str,
    values: Floats,
    most: Floats | float,
    *,
    under: bool = False,
    **words: object,
) -> Iterator[Finding]:
    """One finding for each unbroken run of days on which `values` [day] stand over `most`, or, with `under`,
    below it. The worst is that of the day on which it is passed by most."""
    bound = np.broadcast_to(np.asarray(most, dtype=np.float64), values.shape)
    finite = np.where(np.isfinite(bound), bound, 0.0)
    past = np.where(np.isfinite(bound), (finite - values) if under else (values - finite), -1.0)
    wrong = np.concatenate(([False], past > ROUNDING * np.maximum(np.abs(finite), 1e-3), [False]))
    edges = np.flatnonzero(wrong[1:] != wrong[:-1])
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        at = int(a) + int(np.argmax(past[a:b]))
        first, last = days.day(a), days.day(b - 1)
        yield finding(what, where, first, last, float(values[at]), float(bound[at]), **words)


def finding(
    what: str, where: str, first: date, last: date, worst: float, most: float, **words: object
) -> Finding:
    """A finding with its sentence, `checker.WHAT` in the words. Two numbers that differ are not told as the
    same, but with more digits."""
    alike = forms.significant(worst, 3) == forms.significant(most, 3)
    digits = 5 if alike and worst != most else 3
    said = say(
        f"checker.{what}",
        where=where,
        days=say("checker.one_day", day=forms.day(first))
        if first == last
        else say("checker.days", first=forms.day(first), last=forms.day(last)),
        worst=forms.significant(worst, digits),
        most=forms.significant(most, digits),
        **words,
    )
    return Finding(first, last, what, where, worst, most, said)
