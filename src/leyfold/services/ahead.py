"""The look-ahead of one farm: its files, records, weather and, where it asks for one, a forecast."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from leyfold.farm.texts import HIDDEN
from leyfold.nouns.ahead import Ahead
from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Weather
from leyfold.round.ahead import NIGHTS, look_ahead
from leyfold.season.chances.risks import risk
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.opened import Opened, open_farm
from leyfold.weather.read import Files, read_files, read_weather

__all__ = ["AheadAnswer", "ahead_of", "sources_of", "weather_of"]

SEED = 0


@dataclass(frozen=True, slots=True, eq=False)
class AheadAnswer:
    farm: Farm
    ahead: Ahead
    weather: Weather
    seed: int
    inputs_sha256: str


def ahead_of(where: Path, at: datetime, *, now: datetime | None = None, seed: int = SEED) -> AheadAnswer:
    """Tonight, tomorrow and the week of the farm in `where`, seen from `at`. `now` is when a forecast may be
    asked for, None: only one kept before is used. BadInput for files that cannot be read."""
    opened = open_farm(where, at)
    farm = opened.farm
    season = expect(farm, complete(farm, opened.ahead))
    files, marks = sources_of(opened, at, now=now)
    weather = weather_of(farm, files, at, NIGHTS + 3)
    ahead = look_ahead(farm, opened.state, season, weather, files.normals, at, seed=seed)
    digest = hashlib.sha256((opened.sha256 + marks).encode()).hexdigest()
    return AheadAnswer(farm, ahead, weather, seed, digest)


def sources_of(opened: Opened, at: datetime, *, now: datetime | None) -> tuple[Files, str]:
    """What a farm's weather is made from, and the marks of the files and forecast it comes from."""
    farm = opened.farm
    texts = [(name, opened.texts.read(name)) for name in farm.weather.files]
    forecast, notes = None, tuple[str, ...]()
    if farm.weather.forecast_url is not None:
        from leyfold.weather.fetch import forecast as ask

        forecast, notes = ask(farm, opened.texts.folder / HIDDEN, now or at, online=now is not None)
    files = read_files(
        farm,
        [(name, text.text) for name, text in texts],
        forecast,
        notes,
        risk(farm, "temperature_persistence"),
    )
    marks = [*(text.sha for _, text in texts), "" if forecast is None else str(forecast.issued)]
    return files, "".join(marks)


def weather_of(farm: Farm, files: Files, at: datetime, days: int) -> Weather:
    """The weather from 1 January, or two days before `at`, to so many `days` after it."""
    day = civil(at, farm.holding.zone)
    first = min(date(day.year, 1, 1), day - timedelta(days=2))
    return read_weather(farm, files, first, day + timedelta(days=days), at)
