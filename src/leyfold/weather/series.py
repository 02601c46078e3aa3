"""Hourly series put together: from readings, one laid over another, cut to the hours asked for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.weather import ORIGINS, VARIABLES, Origin, Variable, Weather

__all__ = ["BOUNDS", "blank", "by_hour", "cut", "laid_over", "of_hours"]

Floats = NDArray[np.float64]

BOUNDS: Mapping[Variable, tuple[float, float]] = {
    "temperature_C": (-60.0, 55.0),
    "dew_point_C": (-80.0, 40.0),
    "wind_m_per_s": (0.0, 75.0),
    "gust_m_per_s": (0.0, 120.0),
    "cloud_share": (0.0, 1.0),
    "rain_mm": (0.0, 300.0),
    "global_w": (0.0, 1500.0),
}
"""What can be at the ground: a value outside is a slip of an instrument, a unit or a pen."""

BEFORE: frozenset[Variable] = frozenset({"gust_m_per_s", "rain_mm", "global_w"})
"""Readings that tell of the time up to their stamp, where the others tell of the moment."""


def blank(first_hour: int, hours: int) -> Weather:
    """Nothing known."""
    return of_hours(first_hour, {}, "none", hours)


def of_hours(
    first_hour: int,
    values: Mapping[Variable, Floats],
    origin: Origin,
    hours: int,
    *,
    notes: tuple[str, ...] = (),
    issued: datetime | None = None,
) -> Weather:
    """A weather whose given values are all of one origin where they are not NaN."""
    unknown = np.full(hours, np.nan)
    whole = {name: np.asarray(values.get(name, unknown), dtype=np.float64) for name in VARIABLES}
    code = ORIGINS.index(origin)
    origins = {name: np.where(np.isnan(v), 0, code).astype(np.int8) for name, v in whole.items()}
    return Weather(first_hour, whole, origins, notes, issued)


def by_hour(
    unix_s: NDArray[np.int64],
    readings: Mapping[Variable, Floats],
    origin: Origin,
    *,
    notes: tuple[str, ...] = (),
) -> Weather:
    """Readings at instants, gathered by the hour: means; of gusts the greatest; of rain the sum.

    What a reading tells of the time before it, it tells of the hour in which that time ended.
    """
    if len(unix_s) == 0:
        return blank(0, 0)
    now, ended = unix_s // 3600, (unix_s - 1) // 3600
    first, last = int((ended if BEFORE & set(readings) else now).min()), int(now.max())
    hours = last - first + 1
    values: dict[Variable, Floats] = {}
    for name, column in readings.items():
        there = ~np.isnan(column)
        at = ((ended if name in BEFORE else now) - first)[there]
        known = column[there]
        count = np.bincount(at, minlength=hours)
        if name == "gust_m_per_s":
            got = np.full(hours, -np.inf)
            np.maximum.at(got, at, known)
        else:
            got = np.bincount(at, weights=known, minlength=hours)
            if name != "rain_mm":
                got = got / np.maximum(count, 1)
        values[name] = np.where(count > 0, got, np.nan)
    return of_hours(first, values, origin, hours, notes=notes)


def cut(weather: Weather, first_hour: int, hours: int) -> Weather:
    """The same weather over the hours asked for; unknown where it does not reach."""
    start = first_hour - weather.first_hour
    a, b = max(start, 0), max(min(start + hours, weather.hours), max(start, 0))
    here = slice(a - start, a - start + b - a)
    values, origins = {}, {}
    for name in VARIABLES:
        value, origin = np.full(hours, np.nan), np.zeros(hours, dtype=np.int8)
        if b > a:
            value[here], origin[here] = weather.values[name][a:b], weather.origins[name][a:b]
        values[name], origins[name] = value, origin
    return Weather(first_hour, values, origins, weather.notes, weather.issued)


def laid_over(under: Weather, over: Weather) -> Weather:
    """`over` where it knows something of no lesser origin, else `under`; over the hours of `under`."""
    top = cut(over, under.first_hour, under.hours)
    values, origins = {}, {}
    for name in VARIABLES:
        wins = (top.origins[name] > 0) & (top.origins[name] >= under.origins[name])
        values[name] = np.where(wins, top.values[name], under.values[name])
        origins[name] = np.where(wins, top.origins[name], under.origins[name]).astype(np.int8)
    notes = (*under.notes, *(note for note in over.notes if note not in under.notes))
    return Weather(under.first_hour, values, origins, notes, over.issued or under.issued)
