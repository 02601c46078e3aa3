"""Years of weather: how far each day's mean temperature is off the month's, leaning on the day before."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.season.chances.risks import risk
from leyfold.season.chances.streams import DAYS_A_YEAR, stream, years
from leyfold.season.dates import Window

__all__ = ["anomalies"]


def anomalies(farm: Farm, window: Window, *, n: int, seed: int) -> NDArray[np.float32]:
    """[day, draw] K, a first-order autoregression of the farm's spread and persistence.

    It begins anew on each 1 January, so that a date has the same weather wherever the window opens.
    """
    spread, lean = risk(farm, "temperature_sd"), risk(farm, "temperature_persistence")
    fresh = np.float32(spread * (1.0 - lean**2) ** 0.5)
    parts = []
    for year, part in years(window.first, window.days):
        run = stream(seed, "weather", year).standard_normal((DAYS_A_YEAR, n), dtype=np.float32)
        run[0] *= np.float32(spread)
        run[1:] *= fresh
        for day in range(1, DAYS_A_YEAR):
            run[day] += np.float32(lean) * run[day - 1]
        parts.append(run[part])
    return np.concatenate(parts)
