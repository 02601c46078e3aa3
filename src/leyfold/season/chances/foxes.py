"""Fox nights: on which nights a shelter that holds birds is got into, and what that costs on average.

A visit has a small chance on each night; for some nights after one that fed it is many times likelier.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.season.chances.risks import risk
from leyfold.season.chances.streams import by_date
from leyfold.season.dates import Window

__all__ = ["Fox", "fox", "nightly_survival", "visit_counts", "visits"]

Ints = NDArray[np.int64]


def visits(
    farm: Farm, shelter: str, held: NDArray[np.bool_], window: Window, *, n: int, seed: int
) -> tuple[Ints, Ints]:
    """Draws and days of the visits to one shelter, in order of draw, then day. `held` [day]: birds in it."""
    habits = fox(farm)
    chance, times, nights = habits.chance, habits.times, habits.nights
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


@dataclass(frozen=True, slots=True)
class Fox:
    """The habits of the farm's foxes: chance of a visit a night, how many times likelier for how many
    nights after one, and the share of the shelter that one visit kills."""

    chance: float
    times: float
    nights: int
    share: float

    def step(self, visit: float) -> NDArray[np.float64]:
        """[state, state] from one night to the next, a visit counted `visit` times over; states are the
        nights of likelier visits still to come."""
        step = np.zeros((self.nights + 1, self.nights + 1))
        for left in range(self.nights + 1):
            likely = min(self.chance * self.times, 1.0) if left else self.chance
            step[left, max(left - 1, 0)] += 1.0 - likely
            step[left, self.nights] += likely * visit
        return step


def fox(farm: Farm) -> Fox:
    """The habits by the farm's figures of risk."""
    return Fox(
        risk(farm, "fox_chance"),
        risk(farm, "fox_return_factor"),
        round(risk(farm, "fox_return_nights")),
        risk(farm, "fox_share"),
    )


def visit_counts(habits: Fox, nights: int, most: int) -> NDArray[np.float64]:
    """[count] chance of so many visits to one shelter in `nights` nights, none just before; the last, `most`,
    stands for that many or more."""
    quiet = habits.step(0.0)
    visit = habits.step(1.0) - quiet
    at = np.zeros((most + 1, habits.nights + 1))
    at[0, 0] = 1.0
    for _ in range(nights):
        come = at @ visit
        at = at @ quiet
        at[1:] += come[:-1]
        at[-1] += come[-1]
    chances: NDArray[np.float64] = at.sum(axis=1)
    return chances


def nightly_survival(farm: Farm) -> float:
    """The share of birds in a shelter that a night's foxes leave, on average: visits that bring visits, and
    those of one bird's life reckoned together."""
    return _nightly(fox(farm))


@cache
def _nightly(habits: Fox) -> float:
    """Largest eigenvalue of the step from night to night."""
    return float(np.abs(np.linalg.eigvals(habits.step(1.0 - habits.share))).max())
