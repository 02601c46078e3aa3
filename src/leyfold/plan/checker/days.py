"""The days walked, and runs of them on which something is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.planned import Finding
from leyfold.units import Lengths, outward
from leyfold.words import forms, say

__all__ = ["ROUNDING", "Days", "Floats", "finding", "runs"]

Floats = NDArray[np.float64]

ROUNDING = 1e-6
"""Something is passed when it is so by more than this share: arithmetic, not tolerance."""

UNITS = {
    "heads_per_m2": ("1/m2", ("m²", "sq ft")),
    "kg_per_m2": ("kg/m2", ("kg/m²", "lb/sq ft")),
    "kg_n_per_ha_pass": ("kg/ha", ("kg/ha", "lb/acre")),
    "freezer": ("kg", ("kg", "lb")),
    "ground": ("m2", ("m²", "sq ft")),
    "cold_nights": ("K", ("°C", "°F")),
}
"""Of a finding with a unit: the inside one, and how it is told, metric and imperial."""
FAHRENHEIT_A_K = 1.8


@dataclass(frozen=True, slots=True)
class Days:
    """`count` days from `first` on; `lengths` says in which units what is found on them is told."""

    first: date
    count: int
    lengths: Lengths = "metric"

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
        worst, limit = float(values[at]), float(bound[at])
        unit, told = UNITS.get(what, ("", ("", "")))
        own = _own(worst, unit, days.lengths), _own(limit, unit, days.lengths)
        words |= {"unit": told[days.lengths == "imperial"]}
        made = finding(what, where, first, last, own[0], own[1], **words)
        yield replace(made, worst=worst, at_most=limit)


def _own(value: float, unit: str, lengths: Lengths) -> float:
    """A value in the farm's own unit; K are degrees by which two temperatures differ."""
    if unit == "K":
        return value * FAHRENHEIT_A_K if lengths == "imperial" else value
    return outward(value, unit, lengths)[0]


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
