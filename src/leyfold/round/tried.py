"""The hours to come tried many times: typical hours drawn, forecast ones with their error, measured as is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import ORIGINS, VARIABLES, Variable, Weather
from leyfold.round.figures import tonight
from leyfold.season.chances.risks import risk
from leyfold.season.chances.streams import by_date, stream
from leyfold.season.chances.weather_years import anomalies
from leyfold.season.dates import Window
from leyfold.weather.typical import Luck, Normals, solar_days, typical

__all__ = ["Tried", "tried"]

Floats = NDArray[np.float64]

FORECAST_SD_PER_D = 0.3
"""K added to the error of a forecast for each day further ahead (from memory: 1.5-2 K a day ahead, 3-3.5 K a
week ahead), never more than the climate's own spread."""
TYPICAL, FORECAST = ORIGINS.index("typical"), ORIGINS.index("forecast")


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """[draw, hour] by variable, from `first_hour` on, and `depth_z` [draw, hour]: how unusual the draw's
    nights are in cooling near the grass, standard normal, one number a night."""

    first_hour: int
    values: Mapping[Variable, Floats]
    depth_z: Floats


def tried(
    farm: Farm,
    weather: Weather,
    what: Normals,
    first_hour: int,
    hours: int,
    at: datetime,
    *,
    n: int,
    seed: int,
) -> Tried:
    """`n` draws of the hours. Days of the years are those of the seasons tried (`season.weather_years`), so
    one seed is one weather. Forecast temperatures are off by one amount a night, from noon to noon, spread
    evenly over the quantiles of their error."""
    first_day, days = solar_days(farm, first_hour, hours)
    start = date.fromordinal(first_day + date(1970, 1, 1).toordinal())
    off = anomalies(farm, Window(start, days), n=n, seed=seed).T.astype(np.float64)
    numbers = [
        np.clip(by_date(start, days, "hours", name, seed=seed, n=n).T.astype(np.float64), 1e-6, 1 - 1e-6)
        for name in ("cloud", "wind", "rain", "rain_at")
    ]
    shift = farm.holding.longitude_deg / 15.0
    if weather.departure_K is not None:
        today = int((at.timestamp() / 3600 + shift) // 24) - first_day
        off = _from_today(off, weather.departure_K, today, risk(farm, "temperature_persistence"))
    drawn = typical(farm, what, first_hour, hours, Luck(off, *numbers))

    night = ((first_hour + np.arange(hours) + shift - 12.0) // 24).astype(np.int64) - first_day + 1
    error, depth = (_spread(n, night, first_day, name, seed) for name in ("forecast", "depth"))
    ahead_d = np.maximum(first_hour + np.arange(hours) - at.timestamp() / 3600.0, 0.0) / 24.0
    sd = tonight(farm, "forecast_sd") + FORECAST_SD_PER_D * np.floor(ahead_d)
    error = error * np.minimum(sd, max(risk(farm, "temperature_sd"), tonight(farm, "forecast_sd")))

    a = first_hour - weather.first_hour
    values: dict[Variable, Floats] = {}
    for name in VARIABLES:
        known, origin = weather.values[name][a : a + hours], weather.origins[name][a : a + hours]
        if len(known) != hours:
            raise ValueError("the hours to be tried must lie within the weather")
        values[name] = np.where(origin > TYPICAL, known, drawn[name])
        if name == "temperature_C":
            values[name] = np.clip(values[name] + np.where(origin == FORECAST, error, 0.0), -60.0, 55.0)
    values["dew_point_C"] = np.minimum(values["dew_point_C"], values["temperature_C"])
    # A gust that is only typical is not below the wind that is known.
    values["gust_m_per_s"] = np.maximum(values["gust_m_per_s"], values["wind_m_per_s"])
    return Tried(first_hour, values, depth)


def _from_today(off: Floats, departure_K: float, today: int, lean: float) -> Floats:
    """The same years [draw, day], led from `today` on through what was measured: of a first-order
    autoregression, x_k + lean^k (departure - x_0)."""
    k = np.arange(off.shape[1]) - today
    if not 0 <= today < off.shape[1]:
        return off
    fades = np.where(k >= 0, lean ** np.maximum(k, 0).astype(np.float64), 0.0)
    return off + fades * (departure_K - off[:, today : today + 1])


def _spread(n: int, night: NDArray[np.int64], first_day: int, name: str, seed: int) -> Floats:
    """[draw, hour] standard normals, one a night: the n quantiles in an order drawn for each night."""
    normal = NormalDist()
    levels = np.array([normal.inv_cdf((i + 0.5) / n) for i in range(n)])
    nights = range(int(night.max()) + 1)
    each = np.array([stream(seed, name, first_day + k).permutation(levels) for k in nights])
    return each.T[:, night]
