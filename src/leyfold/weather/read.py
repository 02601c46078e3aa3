"""All that is known of the weather over some days: measured before forecast before typical, hour by hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np

from leyfold.nouns.clock import instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Variable, Weather, hour_of
from leyfold.weather.series import BOUNDS, blank, cut, laid_over, of_hours
from leyfold.weather.station import read_station
from leyfold.weather.typical import Normals, normals, typical
from leyfold.weather.typical_year import is_epw, is_tmy3, read_epw, read_tmy3

__all__ = ["Files", "read_files", "read_weather"]

FEWEST_H = 16
"""Of the last 24 hours so many must have been measured before the days to come lean on them."""
TEMPERATURES: tuple[Variable, ...] = ("temperature_C", "dew_point_C")


@dataclass(frozen=True, slots=True, eq=False)
class Files:
    """What was read: measured series, later ones first; the normals; a forecast, where there is one.
    `persistence` 0..1: how much of a day's departure from the season is left on the next."""

    measured: tuple[Weather, ...]
    normals: Normals
    forecast: Weather | None = None
    notes: tuple[str, ...] = ()
    persistence: float = 0.0


def read_files(
    farm: Farm,
    texts: Sequence[tuple[str, str]],
    forecast: Weather | None = None,
    notes: tuple[str, ...] = (),
    persistence: float = 0.0,
) -> Files:
    """The farm's files of weather, each (name, text): typical years (TMY3, EPW) and stations' CSV.

    BadInput for the first file that cannot be read.
    """
    measured, year = [], None
    for name, text in texts:
        if is_epw(text):
            year = year or read_epw(text, name=name)
        elif is_tmy3(text):
            year = year or read_tmy3(text, name=name)
        else:
            measured.append(read_station(farm, text, name=name))
    said = tuple(note for weather in measured for note in weather.notes)
    return Files(tuple(measured), normals(farm, year), forecast, (*notes, *said), persistence)


def read_weather(farm: Farm, files: Files, first: date, last: date, at: datetime) -> Weather:
    """Every hour of the civil days `first` to `last`. What was measured after `at` is not known yet.

    Where the last day was measured, typical temperatures after `at` lean on it: its departure, fading by
    `files.persistence` a day.
    """
    start = hour_of(instant(first, time(0), farm.holding.zone))
    end = hour_of(instant(last + timedelta(days=1), time(0), farm.holding.zone))
    hours = max(end - start, 0)
    usual = of_hours(start, typical(farm, files.normals, start, hours), "typical", hours)
    past = [cut(w, w.first_hour, max(0, min(w.hours, w.index(at) + 1))) for w in files.measured]
    measured = blank(start, hours)
    for weather in reversed(past):
        measured = laid_over(measured, weather)
    off = _departure(usual, measured, usual.index(at))
    whole = usual if off is None else _leaning(usual, off, usual.index(at), files.persistence)
    if files.forecast is not None:
        whole = laid_over(whole, files.forecast)
    whole = laid_over(whole, measured)
    return Weather(start, whole.values, whole.origins, files.notes, whole.issued, off)


def _departure(usual: Weather, measured: Weather, now: int) -> float | None:
    """Mean of the measured temperatures of the day up to `now` less the typical of the same hours."""
    here = slice(max(now - 23, 0), max(now + 1, 0))
    off = measured.values["temperature_C"][here] - usual.values["temperature_C"][here]
    off = off[~np.isnan(off)]
    return float(off.mean()) if len(off) >= FEWEST_H else None


def _leaning(usual: Weather, off_K: float, now: int, persistence: float) -> Weather:
    ahead_d = np.maximum(np.arange(usual.hours) - now, 0) / 24.0
    moved = np.where(ahead_d > 0, off_K * persistence**ahead_d, 0.0)
    values = dict(usual.values)
    for name in TEMPERATURES:
        values[name] = np.clip(usual.values[name] + moved, *BOUNDS[name])
    return Weather(usual.first_hour, values, usual.origins)
