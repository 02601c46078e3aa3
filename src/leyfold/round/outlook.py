"""The nights and days to come as they look from one instant: draws of the weather that all else shares."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.sun import rise_and_set
from leyfold.nouns.ahead import Band, Cold, Flock, Gust, Night
from leyfold.nouns.clock import instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.kept import Kept
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.nouns.weather import Weather
from leyfold.round.figures import cold_rule, tonight
from leyfold.round.nights import band, bird_air, cold_nights, deepest, night_of, nights
from leyfold.round.tried import Tried, tried
from leyfold.round.winds import gusts
from leyfold.weather.typical import Normals

__all__ = ["Outlook", "outlook", "sun_of", "unsettled"]

Floats = NDArray[np.float64]

_TRIED: Kept[Tried] = Kept(4)
_COLD: Kept[tuple[Cold, ...]] = Kept(96)
_NIGHTS: Kept[Night] = Kept(24)


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """`spans`: sunset to sunrise of the nights from `at` on; `run` the draws of all their hours, `air` [draw,
    hour] at the birds' height; `first` is the index in `weather` of the first hour drawn."""

    farm: Farm
    weather: Weather
    at: datetime
    spans: tuple[tuple[datetime, datetime], ...]
    run: Tried
    air: Floats
    depth: Figure

    @property
    def first(self) -> int:
        return self.run.first_hour - self.weather.first_hour

    def hours(self, day: date) -> slice:
        """The hours of a civil day in `weather`."""
        zone = self.farm.holding.zone
        a, b = (instant(d, time(0), zone) for d in (day, day + timedelta(days=1)))
        return slice(self.weather.index(a), self.weather.index(b))

    def _drawn(self, begin: int, end: int) -> slice:
        return slice(max(begin - self.first, 0), max(end - self.first, 0))

    def highest(self, day: date) -> Band:
        here = self.hours(day)
        drawn = self._drawn(here.start, here.stop)
        return band(self.run.values["temperature_C"][:, drawn].max(axis=1))

    def mean(self, day: date) -> float:
        """The mean of a civil day at the station."""
        return float(self.weather.values["temperature_C"][self.hours(day)].mean())

    def night(self, k: int) -> Night:
        span = self.spans[k]
        return _NIGHTS.get(
            (self.weather, self.run, self.depth, span),
            lambda: night_of(self.weather, self.run, self.air, span),
        )

    def cold(self, k: int, flocks: tuple[Flock, ...], unsettled: frozenset[str]) -> tuple[Cold, ...]:
        """What one flock is in for hangs on no other flock, nor on what its birds weigh."""
        rule, span = (cold_rule(self.farm), tonight(self.farm, "group_many")), self.spans[k]
        found: list[Cold] = []
        for flock in flocks:
            one, on = replace(flock, weight_kg=0.0), unsettled & {flock.batch}
            made = _COLD.get(
                (one, self.run, self.depth, span, on, rule),
                lambda one=one, on=on: cold_nights(self.farm, (one,), self.run, self.air, span, on),  # type: ignore[misc]
            )
            found += [replace(cold, flock=flock) for cold in made]
        return tuple(found)

    def gusts(self, flocks: tuple[Flock, ...], begin: datetime, end: datetime) -> tuple[Gust, ...]:
        """The greatest gust from one instant to another against every shelter with birds in."""
        here = self._drawn(self.weather.index(begin), self.weather.index(end) + 1)
        return gusts(self.farm, flocks, self.run.values["gust_m_per_s"][:, here].max(axis=1))


def outlook(
    farm: Farm, state: State, weather: Weather, what: Normals, at: datetime, *, count: int, n: int, seed: int
) -> Outlook:  # fmt: skip
    """`count` nights from `at` on, tried `n` times. `weather` as `look_ahead` wants it."""
    spans = nights(farm, at, count)
    first = weather.index(spans[0][0]) - 3
    hours = weather.index(spans[-1][1]) + 3 - first
    # The draws hang on no thermometer of the farm's, only how deep they are taken at the birds' height does.
    run = _TRIED.get(
        (farm, weather, what, first, hours, at, n, seed),
        lambda: tried(farm, weather, what, weather.first_hour + first, hours, at, n=n, seed=seed),
    )
    depth = deepest(farm, weather, state)
    return Outlook(farm, weather, at, spans, run, bird_air(farm, run, depth), depth)


def sun_of(farm: Farm, day: date) -> tuple[datetime, datetime]:
    """Sunrise and sunset of a civil day; where the sun does not set, half a day from noon on either side."""
    holding = farm.holding
    return _sun(holding.latitude_deg, holding.longitude_deg, holding.zone, day)


@lru_cache(maxsize=512)
def _sun(latitude_deg: float, longitude_deg: float, zone: str, day: date) -> tuple[datetime, datetime]:
    sun = rise_and_set(latitude_deg, longitude_deg, instant(day, time(12), zone).timestamp())
    return datetime.fromtimestamp(float(sun.rise_s), UTC), datetime.fromtimestamp(float(sun.set_s), UTC)


def unsettled(season: Season, day: date) -> frozenset[str]:
    """Batches that come to a place today."""
    i = season.index(day)
    if not 1 <= i < season.days:
        return frozenset()
    came = (season.heads[:, i] > 0) & (season.heads[:, i - 1] == 0)
    return frozenset(season.lots[row].batch for row in np.flatnonzero(came).tolist())
