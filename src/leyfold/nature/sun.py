"""Where the sun stands, when it rises and sets, and how long the day is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "RiseAndSet",
    "Sun",
    "day_length_h",
    "declination_deg",
    "rise_and_set",
    "sun_position",
]


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


class Sun(NamedTuple):
    """Where the sun's centre stands, without refraction: `zenith_deg` 0..180 from overhead, `azimuth_deg`
    0..360 from north by east."""

    zenith_deg: Array
    azimuth_deg: Array


def sun_position(latitude_deg: ArrayLike, longitude_deg: ArrayLike, unix_s: ArrayLike) -> Sun:
    """The sun at `latitude_deg` (north positive), `longitude_deg` (east positive) and an instant `unix_s`
    (seconds since 1970-01-01 UTC, years 1950 to 2100); all broadcast.

    Zenith within 0.02 deg of NREL's algorithm, 1950-2050. Refraction is left out: 0.1 deg with the sun at
    10 deg, 0.57 deg on the horizon.
    Source: NOAA solar calculator, after Meeus, Astronomical Algorithms, 1991.
    """
    latitude = np.radians(number("latitude_deg", latitude_deg, least=-90, most=90))
    longitude = number("longitude_deg", longitude_deg, least=-180, most=180)
    instant = number("unix_s", unix_s, least=-631152000, most=4102444800)
    tilt, equation_min = _ephemeris(instant)
    minute = np.mod(instant / 60.0, 1440.0) + equation_min + 4.0 * longitude
    hour = np.radians(np.mod(minute, 1440.0) / 4.0 - 180.0)
    up = np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.cos(hour)
    # Azimuth from two components: it stays whole at the zenith and the poles, where one arccos would not.
    east = -np.sin(hour) * np.cos(tilt)
    north = np.sin(tilt) * np.cos(latitude) - np.cos(tilt) * np.sin(latitude) * np.cos(hour)
    zenith: Array = np.degrees(np.arctan2(np.hypot(east, north), up))
    return Sun(zenith, np.mod(np.degrees(np.arctan2(east, north)), 360.0))


class RiseAndSet(NamedTuple):
    """Instants [Unix s]. In the polar day rise and set are some 12 h from noon, in its night at noon."""

    rise_s: Array
    noon_s: Array
    set_s: Array


def rise_and_set(
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    unix_s: ArrayLike,
    *,
    below_horizon_deg: ArrayLike = 0.8333,
) -> RiseAndSet:
    """Sunrise, solar noon and sunset about the noon nearest to `unix_s`; arguments as `sun_position`'s.

    The sun's centre is `below_horizon_deg` under a level horizon: 0.8333 sunrise and sunset, 6 civil
    twilight. Within 10 s of NREL's algorithm up to 60 deg. Source: as `sun_position`, iterated.
    """
    latitude = np.radians(number("latitude_deg", latitude_deg, least=-90, most=90))
    longitude = number("longitude_deg", longitude_deg, least=-180, most=180)
    instant = number("unix_s", unix_s, least=-631000000, most=4102000000)
    below = np.radians(number("below_horizon_deg", below_horizon_deg, least=-18, most=18))

    mean_noon = 43200.0 - 240.0 * longitude  # of 1970-01-01, before the equation of time
    guess = mean_noon + 86400.0 * np.round((instant - mean_noon) / 86400.0)
    noon = guess
    for _ in range(3):
        noon = guess - 60.0 * _ephemeris(noon)[1]

    def half_day(at: Array) -> tuple[Array, Array]:
        tilt, equation_min = _ephemeris(at)
        share = (-np.sin(below) - np.sin(latitude) * np.sin(tilt)) / (np.cos(latitude) * np.cos(tilt))
        return 43200.0 / np.pi * np.arccos(np.clip(share, -1.0, 1.0)), 60.0 * equation_min

    rise, sets = noon, noon
    for _ in range(4):
        before, equation = half_day(rise)
        rise = guess - equation - before
        after, equation = half_day(sets)
        sets = guess - equation + after
    return RiseAndSet(rise, noon, sets)


def _ephemeris(instant: Array) -> tuple[Array, Array]:
    """Declination [rad] and equation of time [min] at Unix seconds."""
    t = (instant / 86400.0 - 10957.5) / 36525.0  # Julian centuries since J2000.0
    long = np.radians(np.mod(280.46646 + t * (36000.76983 + 0.0003032 * t), 360.0))
    anomaly = np.radians(357.52911 + t * (35999.05029 - 0.0001537 * t))
    eccentric = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    centre = np.radians(
        np.sin(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + np.sin(2 * anomaly) * (0.019993 - 0.000101 * t)
        + np.sin(3 * anomaly) * 0.000289
    )
    node = np.radians(125.04 - 1934.136 * t)
    apparent = long + centre - np.radians(0.00569 + 0.00478 * np.sin(node))
    mean_tilt = 23.0 + (26.0 + (21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))) / 60.0) / 60.0
    oblique = np.radians(mean_tilt + 0.00256 * np.cos(node))
    y = np.tan(oblique / 2) ** 2
    equation = 4.0 * np.degrees(
        y * np.sin(2 * long)
        - 2 * eccentric * np.sin(anomaly)
        + 4 * eccentric * y * np.sin(anomaly) * np.cos(2 * long)
        - 0.5 * y**2 * np.sin(4 * long)
        - 1.25 * eccentric**2 * np.sin(2 * anomaly)
    )
    declination: Array = np.arcsin(np.sin(oblique) * np.sin(apparent))
    return declination, equation
