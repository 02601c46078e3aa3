"""A first idea of the months' temperatures where a farm gives none: a guess by latitude, marked as one."""

from __future__ import annotations

import math
from itertools import pairwise

from leyfold.nouns.figure import Figure
from leyfold.words import say

__all__ = ["guessed_temperatures"]

# Latitude, mean of the year and half the range between the warmest and the coldest month [C], for low
# ground between coast and inland. Read off the smooth fall from subtropics to taiga: a guess.
_BY_LATITUDE = (
    (0, 26.0, 1.5),
    (20, 24.0, 4.0),
    (30, 20.0, 8.0),
    (40, 13.5, 10.5),
    (50, 9.0, 9.5),
    (60, 4.0, 11.5),
    (70, -3.0, 13.0),
)
_WARMEST_MONTH = 6.3  # late July, counted from 0 in January


def guessed_temperatures(latitude_deg: float) -> tuple[Figure, ...]:
    """Twelve monthly means [C], January first, of evidence "guess"."""
    north = min(abs(latitude_deg), _BY_LATITUDE[-1][0])
    low, high = next(p for p in pairwise(_BY_LATITUDE) if north <= p[1][0])
    part = (north - low[0]) / (high[0] - low[0])
    mean, swing = (a + part * (b - a) for a, b in zip(low[1:], high[1:], strict=True))
    turn = 0 if latitude_deg >= 0 else 6
    source = say("farm.temperature_source", latitude=f"{latitude_deg:.0f}")
    return tuple(
        Figure(
            round(mean + swing * math.cos(math.tau * (month + turn - _WARMEST_MONTH) / 12), 1),
            "C",
            source,
            "guess",
        )
        for month in range(12)
    )
