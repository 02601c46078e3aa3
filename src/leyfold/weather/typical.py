"""A typical year by the hour: from the months' means, with the day's course, cloud, wind and rain.

Temperature swings about the day's mean as a cosine with its top at 15 h of solar time, more on clear days.
Dew point lies under the day's least temperature (Allen et al. 1998, FAO Irrigation and Drainage Paper 56,
annex 6). Cloud, wind and rain are drawn by day, or stand at their means. Light is Haurwitz's clear sky
through Kasten & Czeplak's cloud (`nature.light`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import gamma

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.light import clouded_kasten_czeplak_1980, haurwitz_1945_w
from leyfold.nature.sun import sun_position
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Variable, Weather

__all__ = ["Luck", "Normals", "normals", "solar_days", "typical"]

Floats = NDArray[np.float64]

WARMEST_H = 15.0
RAIN_H = 6
FEWEST_SHARE = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Normals:
    """By month [12], January first: what a typical day is made of. See farm/tables/climate.toml."""

    mean_C: Floats
    range_K: Floats
    dew_under_K: Floats
    cloud: Floats
    wind_m_per_s: Floats
    wet_share: Floats
    rain_mm: Floats
    clear_range: float
    gust_factor: float


@dataclass(frozen=True, slots=True, eq=False)
class Luck:
    """What makes a day differ from the mean, [draw, day]: its temperature [K], and numbers in 0..1 for cloud
    (rain falls on the dullest days), wind, amount of rain, and when it comes."""

    anomaly_K: Floats
    cloud: Floats
    wind: Floats
    rain: Floats
    rain_at: Floats


def normals(farm: Farm, year: Weather | None = None) -> Normals:
    """The farm's months, with the cited figures for the rest; or those of a typical `year`, whose
    temperatures stand behind the farm's own word only."""
    c = {name: figure.value for name, figure in farm.weather.climate.items()}

    def level(name: str) -> Floats:
        return np.full(12, c[name])

    made = {
        "mean_C": np.array([f.value for f in farm.temperature_C]),
        "range_K": level("daily_range"),
        "dew_under_K": level("dew_under_minimum"),
        "cloud": level("cloud_mean"),
        "wind_m_per_s": level("wind_mean"),
        "wet_share": level("wet_days"),
        "rain_mm": level("rain_a_wet_day"),
    }
    if year is not None:
        found = _of_year(year)
        if any(f.evidence == "farm file" for f in farm.temperature_C):
            found.pop("mean_C", None)
        made.update({k: v for k, v in found.items() if not np.isnan(v).any()})
    made["cloud"] = np.clip(made["cloud"], 0.05, 0.95)
    return Normals(**made, clear_range=c["clear_range"], gust_factor=c["gust_factor"])


def _of_year(year: Weather) -> dict[str, Floats]:
    """Monthly means of a year of 365 whole days."""
    days = np.arange(365).astype("timedelta64[D]") + np.datetime64("2001-01-01")
    month = days.astype("datetime64[M]").astype(np.int64) % 12

    def by_day(name: Variable) -> Floats:
        return year.values[name].reshape(365, 24)

    def monthly(values: Floats) -> Floats:
        there = ~np.isnan(values)
        n = np.bincount(month[there], minlength=12)
        total = np.bincount(month[there], weights=values[there], minlength=12)
        enough = n >= FEWEST_SHARE * np.bincount(month, minlength=12)
        return np.where(enough, total / np.maximum(n, 1), np.nan)

    t, dew = by_day("temperature_C"), by_day("dew_point_C")
    return {
        "mean_C": monthly(t.mean(axis=1)),
        "range_K": monthly(t.max(axis=1) - t.min(axis=1)),
        "dew_under_K": np.maximum(monthly(t.min(axis=1) - dew.mean(axis=1)), 0.0),
        "cloud": monthly(by_day("cloud_share").mean(axis=1)),
        "wind_m_per_s": monthly(by_day("wind_m_per_s").mean(axis=1)),
    }


def solar_days(farm: Farm, first_hour: int, hours: int) -> tuple[int, int]:
    """The first solar day (days since 1970) that the hours touch with a day to spare, and how many."""
    shift = farm.holding.longitude_deg / 15.0
    first = int((first_hour + shift) // 24) - 1
    return first, int((first_hour + hours + shift) // 24) + 2 - first


def typical(
    farm: Farm, what: Normals, first_hour: int, hours: int, luck: Luck | None = None
) -> Mapping[Variable, Floats]:
    """Every variable [hour], at the means of the month; with `luck` [draw, hour], whose days are those of
    `solar_days`."""
    holding = farm.holding
    first_day, days = solar_days(farm, first_hour, hours)
    month = (np.datetime64(first_day, "D") + np.arange(days)).astype("datetime64[M]").astype(np.int64) % 12
    middle = first_hour + np.arange(hours) + 0.5
    solar = middle + holding.longitude_deg / 15.0
    of = (solar // 24).astype(np.int64) - first_day
    clock = solar % 24.0

    mean, cloud, wind, rain, rain_at = _days(what, month, luck)
    span = what.range_K[month] * np.clip(1.0 + what.clear_range * (what.cloud[month] - cloud), 0.1, 2.5)
    # Means are joined from noon to noon, so that no midnight has a step.
    noons = (np.arange(days) + 0.5) * 24.0
    at = solar - 24.0 * first_day
    left = np.clip(np.searchsorted(noons, at) - 1, 0, days - 2)
    part = (at - noons[left]) / 24.0
    smooth = mean[..., left] * (1.0 - part) + mean[..., left + 1] * part
    course = np.cos(2.0 * np.pi * (clock - WARMEST_H) / 24.0)
    t = smooth + 0.5 * span[..., of] * course
    dew = np.minimum(mean[..., of] - 0.5 * span[..., of] - what.dew_under_K[month][of], t)
    windy = wind[..., of] * (1.0 + 0.3 * course)
    falls = (clock >= rain_at[..., of]) & (clock < rain_at[..., of] + RAIN_H)
    wet = rain[..., of] / RAIN_H * falls if luck is not None else rain[..., of] / 24.0 + 0.0 * clock
    zenith = sun_position(holding.latitude_deg, holding.longitude_deg, 3600.0 * middle).zenith_deg
    light = haurwitz_1945_w(zenith) * clouded_kasten_czeplak_1980(cloud)[..., of]
    return {
        "temperature_C": np.clip(t, -60.0, 55.0), "dew_point_C": np.clip(dew, -80.0, 40.0),
        "wind_m_per_s": windy, "gust_m_per_s": what.gust_factor * windy,
        "cloud_share": cloud[..., of] + 0.0 * clock, "rain_mm": wet, "global_w": light,
    }  # fmt: skip


def _days(what: Normals, month: NDArray[np.int64], luck: Luck | None) -> tuple[Floats, ...]:
    """Mean temperature, cloud, wind, rain and the hour it begins, by day; expected, or by luck."""
    mean, cloud, wind = what.mean_C[month], what.cloud[month], what.wind_m_per_s[month]
    rainy, amount = what.wet_share[month], what.rain_mm[month]
    if luck is None:
        return mean, cloud, wind, rainy * amount, np.zeros(len(month))
    mean = mean + luck.anomaly_K
    # u^k has the mean 1 / (k + 1): most days near overcast where the mean is high.
    covered = luck.cloud ** ((1.0 - cloud) / cloud)
    blows = wind / gamma(1.5) * np.sqrt(-np.log1p(-luck.wind))
    wet = np.where(luck.cloud > 1.0 - rainy, -amount * np.log1p(-luck.rain), 0.0)
    return mean, covered, blows, wet, luck.rain_at * (24.0 - RAIN_H)
