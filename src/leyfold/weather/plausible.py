"""Values that cannot be, and temperatures in another unit than they say."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.weather.faults import refused
from leyfold.weather.series import BOUNDS
from leyfold.words import say

__all__ = ["known_unit", "looks_like", "within"]

Floats = NDArray[np.float64]

MOST_WRONG = 0.02
"""More than this share out of bounds is no slip of the instrument."""
FEWEST = 12
FAR_K, NEAR_K = 11.0, 8.0


def within(what: str, values: Floats, file: str, heading: str) -> tuple[Floats, list[str]]:
    """The values with those out of bounds left out, and a note of how many. BadInput where they are many."""
    low, high = (0.0, 1.05) if what == "humidity" else BOUNDS[what]  # type: ignore[index]
    there = ~np.isnan(values)
    out = there & ~((values >= low) & (values <= high))
    n = int(out.sum())
    if n == 0:
        return values, []
    worst = float(values[out][np.argmax(np.abs(values[out]))])
    if n > max(MOST_WRONG * there.sum(), 1.0):
        raise refused(file, "out_of_bounds", field=heading, n=n, worst=f"{worst:g}", low=low, high=high)
    note = say("weather.note_left_out", file=file, heading=heading.strip(), n=n, worst=f"{worst:g}")
    return np.where(out, np.nan, values), [note]


def known_unit(
    farm: Farm, unix_s: NDArray[np.int64], temperature_C: Floats, unit: str, file: str, heading: str
) -> None:
    """BadInput where the temperatures would fit the farm's months much better in the other unit."""
    other = looks_like(farm, unix_s, temperature_C, unit)
    if other is not None:
        raise refused(file, f"unit_wrong_{other.lower()}", field=heading.strip())


def looks_like(farm: Farm, unix_s: NDArray[np.int64], temperature_C: Floats, unit: str) -> str | None:
    """ "F" for Fahrenheit taken for Celsius, "C" for the reverse, None where nothing speaks for either.

    Asks: is the mean `FAR_K` off the months' means, and within `NEAR_K` of them in the other unit?
    """
    there = ~np.isnan(temperature_C)
    if there.sum() < FEWEST or unit not in ("C", "F"):
        return None
    month = unix_s[there].astype("datetime64[s]").astype("datetime64[M]").astype(np.int64) % 12
    usual = np.array([f.value for f in farm.temperature_C])[month]
    t = temperature_C[there]
    other = (t - 32.0) / 1.8 if unit == "C" else 1.8 * t + 32.0
    off, off_other = abs(float(np.mean(t - usual))), abs(float(np.mean(other - usual)))
    if off > FAR_K and off_other < NEAR_K:
        return "F" if unit == "C" else "C"
    return None
