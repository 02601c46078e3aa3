"""Water, feed and eggs of each place that fall away within two days, against what its birds were due.

What the birds were due is reckoned from the farm's own figures for the heads, ages and months there were. How
far a place lies from that is its own affair: buckets are filled, not drunk dry. A drop is one against the
place's own week before.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isnan, nan
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.record import Count, State
from leyfold.season.learning.due import each_of, heads_in

__all__ = ["Drop", "drops"]

Floats = NDArray[np.float64]
What = Literal["water", "feed", "eggs"]

DAYS = 2
BEFORE_D = 7
FEWEST_D = 4
"""Days with a record in the week before, without which there is no usual to fall from."""


@dataclass(frozen=True, slots=True)
class Drop:
    """Of the last two days: `seen` against `usual`, by day, of the place. For eggs both are a hen's, and
    `chance` is that as few would be laid all the same."""

    what: What
    place: str
    seen: float
    usual: float
    heads: int
    chance: float | None = None

    @property
    def share(self) -> float:
        return 1.0 - self.seen / self.usual


def drops(farm: Farm, state: State, day: date) -> Iterator[Drop]:
    """What fell, in any place, on the two days before `day` (no later than the state's), whatever its size.
    A day without a record is no day without water: then nothing is said."""
    if state.day is None or day > state.day:
        return
    first = day - timedelta(days=DAYS + BEFORE_D)
    one = each_of(farm, state, first)
    if one is None:
        return
    run, each = one.run, one.each
    span = slice(run.window.index(first), run.window.index(day))
    if span.start < 0:
        return
    rows: tuple[tuple[What, Sequence[Count], Floats], ...] = (
        ("water", state.water_l, each.water_l),
        ("feed", state.fed_kg, each.feed_kg),
        ("eggs", state.eggs, each.eggs),
    )
    for what, counts, of_one in rows:
        seen = _by_day(counts, first, day)
        for place in sorted(seen):
            heads = heads_in(farm, run, state, place)[:, span]
            drop = _drop(what, place, seen[place], heads, heads * of_one[:, span])
            if drop is not None:
                yield drop


def _by_day(counts: Sequence[Count], first: date, day: date) -> dict[str, Floats]:
    """By place: [day] what was written down, NaN where nothing was."""
    found: dict[str, list[float]] = {}
    for count in reversed(counts):  # the last days stand last
        if count.on < first:
            break
        if count.on < day and count.place is not None:
            row = found.setdefault(count.place, [nan] * (DAYS + BEFORE_D))
            i = (count.on - first).days
            row[i] = count.number if isnan(row[i]) else row[i] + count.number
    return {place: np.array(row) for place, row in found.items()}


def _drop(what: What, place: str, seen: Floats, heads: Floats, due: Floats) -> Drop | None:
    written = np.isfinite(seen) & (due.sum(axis=0) > 0)
    before, now = written[:BEFORE_D], written[BEFORE_D:]
    if not now.all() or before.sum() < FEWEST_D:
        return None
    expected = due.sum(axis=0)
    there = round(float(heads[:, -1].sum()))
    if what == "eggs":
        return _eggs(place, seen, heads, due, before, there)
    usual = float(seen[:BEFORE_D][before].sum() / expected[:BEFORE_D][before].sum())
    last, was_due = float(seen[BEFORE_D:].mean()), usual * float(expected[BEFORE_D:].mean())
    return Drop(what, place, last, was_due, there) if 0 <= last < was_due else None


def _eggs(
    place: str, seen: Floats, heads: Floats, due: Floats, before: NDArray[np.bool_], there: int
) -> Drop | None:
    """Eggs a hen. The chance is the binomial one, of so many hens each laying at the usual rate."""
    from scipy.stats import binom

    hens = (heads * (due > 0)).sum(axis=0)
    some = hens > 0
    rate, expected = (
        np.divide(x, hens, out=np.zeros(len(hens)), where=some) for x in (seen, due.sum(axis=0))
    )
    usual = float((rate - expected)[:BEFORE_D][before].mean() + expected[BEFORE_D:].mean())
    usual = min(max(usual, 0.0), 1.0)
    last = float(seen[BEFORE_D:].sum() / hens[BEFORE_D:].sum())
    if last >= usual:
        return None
    nights = round(float(hens[BEFORE_D:].sum()))
    chance = float(binom.cdf(int(seen[BEFORE_D:].sum()), nights, usual))
    return Drop("eggs", place, last, usual, there, chance)
