"""All that is known of the weather over some days: measured before forecast before typical, hour by hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from leyfold.nouns.clock import instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Weather, hour_of
from leyfold.weather.series import cut, laid_over, of_hours
from leyfold.weather.station import read_station
from leyfold.weather.typical import Normals, normals, typical
from leyfold.weather.typical_year import is_epw, is_tmy3, read_epw, read_tmy3

__all__ = ["Files", "read_files", "read_weather"]


@dataclass(frozen=True, slots=True, eq=False)
class Files:
    """What was read: measured series, later ones first; the normals; a forecast, where there is one."""

    measured: tuple[Weather, ...]
    normals: Normals
    forecast: Weather | None = None
    notes: tuple[str, ...] = ()


def read_files(
    farm: Farm, texts: Sequence[tuple[str, str]], forecast: Weather | None = None, notes: tuple[str, ...] = ()
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
    return Files(tuple(measured), normals(farm, year), forecast, (*notes, *said))


def read_weather(farm: Farm, files: Files, first: date, last: date, at: datetime) -> Weather:
    """Every hour of the civil days `first` to `last`. What was measured after `at` is not known yet."""
    start = hour_of(instant(first, time(0), farm.holding.zone))
    end = hour_of(instant(last + timedelta(days=1), time(0), farm.holding.zone))
    hours = max(end - start, 0)
    whole = of_hours(start, typical(farm, files.normals, start, hours), "typical", hours)
    if files.forecast is not None:
        whole = laid_over(whole, files.forecast)
    for weather in reversed(files.measured):
        past = cut(weather, weather.first_hour, max(0, min(weather.hours, weather.index(at) + 1)))
        whole = laid_over(whole, past)
    return Weather(start, whole.values, whole.origins, files.notes, whole.issued)
