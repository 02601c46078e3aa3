"""Two sums of warmth for the pasture: when its grass begins, and when hens may follow cattle."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leyfold.nature._check import Array, number

__all__ = ["BehindCattle", "days_behind_cattle", "grass_season", "grass_warmth_K_d"]

SPRING_K_D = 200.0
"""Warmth at which pasture begins to grow for good: Ernst & Loeper 1976."""
GROWS_C = 5.0
"""Under it the growing season of the ETCCDI climate indices ends (Frich et al. 2002, Clim. Res. 19:193-212;
from memory)."""
YEAR_D = 365


def grass_warmth_K_d(mean_C: ArrayLike, month: ArrayLike) -> Array:  # noqa: N802
    """Running sum of the warm days from 1 January [K d], along the last axis: at the end of each day.

    `mean_C` the days' means from 1 January on, `month` 1..12 of each. Days over 0 °C count by their mean,
    half in January, three quarters in February, whole from March. Near 200 pasture begins to grow for good.
    Northern year.
    Source: Ernst & Loeper 1976, Das Wirtschaftseigene Futter 22:5, as used by weather services.
    """
    mean, at = number("mean_C", mean_C, least=-60, most=50), number("month", month, least=1, most=12)
    weight = np.where(at == 1, 0.5, np.where(at == 2, 0.75, 1.0))
    running: Array = np.cumsum(np.maximum(mean, 0.0) * weight, axis=-1)
    return running


class BehindCattle(NamedTuple):
    """Days after the cattle left a paddock: fat larvae from `first_d`, flies soon after `last_d`."""

    first_d: Array
    last_d: Array


def grass_season(month_C: ArrayLike, *, southern: bool = False) -> NDArray[np.bool_]:
    """Whether grass grows on each day of a year of 365, from the twelve months' mean temperatures.

    From the day on which `grass_warmth_K_d` reaches 200 until the mean falls under 5 °C; all year where it
    never does. Days' means lie on straight lines between the middles of the months. `southern`: the year
    begins with July.
    """
    months = number("month_C", month_C, least=-60, most=50)
    if months.shape != (12,):
        raise ValueError("month_C must be twelve means, January first")
    first = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    middle = first + np.diff(np.append(first, YEAR_D)) / 2
    days = np.arange(YEAR_D)
    mean = np.interp(days + 0.5, middle, months, period=YEAR_D)
    if not (mean < GROWS_C).any():
        return np.ones(YEAR_D, dtype=bool)
    half = int(first[6]) if southern else 0
    turned = np.roll(mean, -half)
    month = np.searchsorted(first, days, side="right")
    grown = grass_warmth_K_d(turned, month) >= SPRING_K_D
    cold = np.flatnonzero(~(turned >= GROWS_C) & (days > int(np.argmax(turned))))
    if cold.size:
        grown[cold[0] :] = False
    return np.roll(grown, half)


def days_behind_cattle(
    mean_C: ArrayLike, *, first_K_d: ArrayLike, last_K_d: ArrayLike, base_C: ArrayLike = 10.0
) -> BehindCattle:
    """When hens find the most fly larvae in dung: k / (T - base), the two ends of k [K d] > 0.

    Infinite where it is not warmer than `base_C`. About 4 to 7 days at 25 °C and 9 to 16 at 17 (common
    practice): k 60 to 105 and 63 to 112.
    """
    over = number("mean_C", mean_C, least=-40, most=45) - number("base_C", base_C, least=0, most=20)
    first, last = number("first_K_d", first_K_d, above=0), number("last_K_d", last_K_d, above=0)
    if np.any(first > last):
        raise ValueError("first_K_d is above last_K_d")
    warm = np.where(over > 0, over, 1.0)
    return BehindCattle(
        np.where(over > 0, first / warm, np.inf)[()], np.where(over > 0, last / warm, np.inf)[()]
    )
