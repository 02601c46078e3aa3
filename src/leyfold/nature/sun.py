"""Length of the day."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["day_length_h", "declination_deg"]


def declination_deg(day_of_year: ArrayLike) -> Array:
    """Declination of the sun [deg, north positive] on `day_of_year` 1..366 (1 January is 1).

    Within 0.3 deg, the most in leap years, whose days fall up to one later than the model's year.
    Source: Forsythe et al. 1995, Ecological Modelling 80:87 (the CBM model).
    """
    day = number("day_of_year", day_of_year, least=1, most=366)
    return np.degrees(_declination(day))


def day_length_h(
    latitude_deg: ArrayLike, day_of_year: ArrayLike, *, below_horizon_deg: ArrayLike = 0.8333
) -> Array:
    """Hours of light at `latitude_deg` (-90..90, north positive) on `day_of_year` 1..366; both broadcast.

    The day ends when the sun's centre is `below_horizon_deg` under the flat horizon: 0.8333 is sunrise and
    sunset, 6 the civil twilight. 24 in the polar day, 0 in the polar night. Level horizon, mean refraction;
    within 1 min at the solstices and 5 min at the equinoxes up to 60 degrees.
    Source: Forsythe et al. 1995, Ecological Modelling 80:87 (the CBM model).
    """
    latitude = np.radians(number("latitude_deg", latitude_deg, least=-90, most=90))
    below = np.radians(number("below_horizon_deg", below_horizon_deg, least=-18, most=18))
    sun = _declination(number("day_of_year", day_of_year, least=1, most=366))
    # At the poles the cosine is tiny but not zero: the clip sends it to all day or all night.
    noon_share = (np.sin(below) + np.sin(latitude) * np.sin(sun)) / (np.cos(latitude) * np.cos(sun))
    night: Array = np.arccos(np.clip(noon_share, -1.0, 1.0))
    return 24.0 - 24.0 / np.pi * night


def _declination(day: Array) -> Array:
    revolution = 0.2163108 + 2.0 * np.arctan(0.9671396 * np.tan(0.00860 * (day - 186.0)))
    tilt: Array = np.arcsin(0.39795 * np.cos(revolution))
    return tilt
