"""Fox nights: on which nights a shelter that holds birds is got into, and what that costs on average.

A visit has a small chance on each night; for some nights after one that fed it is many times likelier.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.season.dates import Window
from leyfold.season.risks import risk
from leyfold.season.streams import by_date

__all__ = ["nightly_survival", "visits"]

Ints = NDArray[np.int64]


def visits(
    farm: Farm, shelter: str, held: NDArray[np.bool_], window: Window, *, n: int, seed: int
) -> tuple[Ints, Ints]:
    """Draws and days of the visits to one shelter, in order of draw, then day. `held` [day]: birds in it."""
    chance, times = risk(farm, "fox_chance"), risk(farm, "fox_return_factor")
    nights = round(risk(farm, "fox_return_nights"))
    nothing = np.zeros(0, dtype=np.int64)
    if chance <= 0.0 or not held.any():
        return nothing, nothing
    start, end = (int(i) for i in np.flatnonzero(held)[[0, -1]])
    drawn = by_date(window.day(start), end - start + 1, "fox", shelter, seed=seed, n=n)
    day, draw = np.nonzero((drawn < min(chance * times, 1.0)) & held[start : end + 1, None])
    order = np.lexsort((day, draw))
    day, draw = day[order], draw[order]
    first = drawn[day, draw] < chance
    day = day + start
    # The tracks of two draws lie further apart than a fox remembers.
    at = draw * (window.days + nights + 1) + day
    hit = first
    while True:
        known = at[hit]
        before = np.searchsorted(known, at) - 1
        again = (before >= 0) & (at - known[before] <= nights) if known.size else np.zeros_like(hit)
        more = first | again
        if np.array_equal(more, hit):
            return draw[hit], day[hit]
        hit = more


def nightly_survival(farm: Farm) -> float:
    """The share of birds in a shelter that a night's foxes leave, on average: visits that bring visits, and
    those of one bird's life reckoned together."""
    return _nightly(
        risk(farm, "fox_chance"),
        risk(farm, "fox_return_factor"),
        round(risk(farm, "fox_return_nights")),
        risk(farm, "fox_share"),
    )


@cache
def _nightly(chance: float, times: float, nights: int, share: float) -> float:
    """Largest eigenvalue of the step from night to night; states are the nights of likelier visits left."""
    step = np.zeros((nights + 1, nights + 1))
    for left in range(nights + 1):
        visit = min(chance * times, 1.0) if left else chance
        step[left, max(left - 1, 0)] += 1.0 - visit
        step[left, nights] += visit * (1.0 - share)
    return float(np.abs(np.linalg.eigvals(step)).max())
