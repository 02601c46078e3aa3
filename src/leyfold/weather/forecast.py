"""A forecast as an open service gives it: one JSON object with parallel lists by the hour.

The shape is Open-Meteo's documented hourly one: `hourly.time` beside a list for each variable, their units
under `hourly_units`. Of the variables asked for, temperature must be there; others may be missing.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from math import isfinite
from typing import Any
from urllib.parse import urlencode, urlsplit

import numpy as np
from numpy.typing import NDArray

from leyfold import units
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Variable, Weather
from leyfold.weather.faults import refused
from leyfold.weather.plausible import looks_like, within
from leyfold.weather.series import by_hour

__all__ = ["address", "read_forecast"]

Floats = NDArray[np.float64]

NAME = "forecast"
NAMES: Mapping[str, Variable] = {
    "temperature_2m": "temperature_C",
    "dew_point_2m": "dew_point_C",
    "wind_speed_10m": "wind_m_per_s",
    "wind_gusts_10m": "gust_m_per_s",
    "cloud_cover": "cloud_share",
    "precipitation": "rain_mm",
    "shortwave_radiation": "global_w",
}
_UNITS: Mapping[str, str] = {
    "°C": "C", "°F": "F", "m/s": "m_per_s", "km/h": "km_per_h", "mp/h": "mph", "mph": "mph", "kn": "kn",
    "%": "percent", "mm": "mm", "inch": "in", "W/m²": "w",
}  # fmt: skip
_MEANT: Mapping[Variable, tuple[str, ...]] = {
    "temperature_C": ("C", "F"), "dew_point_C": ("C", "F"),
    "wind_m_per_s": ("m_per_s", "km_per_h", "mph", "kn"),
    "gust_m_per_s": ("m_per_s", "km_per_h", "mph", "kn"), "cloud_share": ("percent",),
    "rain_mm": ("mm", "in"), "global_w": ("w",),
}  # fmt: skip
FEWEST_H, MOST_H = 6, 24 * 40
FAR_DEG = 1.0
LATEST_S = 7_258_118_400
"""The year 2200."""


def address(farm: Farm) -> str | None:
    """The address to ask for a forecast, None where the farm names none. One without a question of its own is
    asked for the variables used, at the farm's place, to the nearest hundredth of a degree."""
    url = farm.weather.forecast_url
    if url is None or urlsplit(url).query:
        return url
    ask = {
        "latitude": f"{farm.holding.latitude_deg:.2f}",
        "longitude": f"{farm.holding.longitude_deg:.2f}",
        "hourly": ",".join(NAMES),
        "wind_speed_unit": "ms",
        "timezone": "GMT",
        "past_days": 1,
        "forecast_days": 8,
    }
    return f"{url}?{urlencode(ask, safe=',')}"


def read_forecast(farm: Farm, text: str) -> Weather:
    """A forecast by the hour. BadInput, saying why, for anything that is not one for this farm."""
    start = text.lstrip()[:200].lower()
    if start.startswith("<"):
        raise refused(NAME, "forecast_html")
    try:
        said = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise refused(NAME, "forecast_not_json") from None
    if not isinstance(said, dict):
        raise refused(NAME, "forecast_shape", what="hourly")
    if said.get("error"):
        raise refused(NAME, "forecast_refused", reason=str(said.get("reason", ""))[:200])
    hourly = said.get("hourly")
    if not isinstance(hourly, dict):
        raise refused(NAME, "forecast_shape", what="hourly")
    _here(farm, said)
    stamps = _stamps(said, hourly.get("time"))
    given = said.get("hourly_units")
    columns: dict[Variable, Floats] = {}
    for key, name in NAMES.items():
        if key in hourly:
            unit = given.get(key) if isinstance(given, dict) else None
            columns[name] = _column(key, name, hourly[key], unit, len(stamps))
    if "temperature_C" not in columns or np.isnan(columns["temperature_C"]).all():
        raise refused(NAME, "forecast_shape", what="hourly.temperature_2m")
    if looks_like(farm, stamps, columns["temperature_C"], "C") == "F":
        raise refused(NAME, "forecast_fahrenheit")
    if "dew_point_C" in columns:
        columns["dew_point_C"] = np.minimum(columns["dew_point_C"], columns["temperature_C"])
    return by_hour(stamps, columns, "forecast")


def _no_number(word: str) -> float:
    raise ValueError(word)


def _here(farm: Farm, said: Mapping[str, Any]) -> None:
    for key, mine in (("latitude", farm.holding.latitude_deg), ("longitude", farm.holding.longitude_deg)):
        there = said.get(key)
        if there is None:
            continue
        if isinstance(there, bool) or not isinstance(there, int | float):
            raise refused(NAME, "forecast_shape", what=key)
        off = abs(there - mine)
        if min(off, 360.0 - off) > FAR_DEG:
            raise refused(NAME, "forecast_elsewhere", what=key, there=f"{there:g}", mine=f"{mine:g}")


def _stamps(said: Mapping[str, Any], times: Any) -> NDArray[np.int64]:
    if not isinstance(times, list) or not FEWEST_H <= len(times) <= MOST_H:
        raise refused(NAME, "forecast_shape", what="hourly.time")
    offset = said.get("utc_offset_seconds", 0)
    if isinstance(offset, bool) or not isinstance(offset, int) or abs(offset) > 14 * 3600:
        raise refused(NAME, "forecast_shape", what="utc_offset_seconds")
    found = []
    for one in times:
        try:
            if isinstance(one, str):
                at = datetime.fromisoformat(one)
                found.append(int(at.replace(tzinfo=UTC).timestamp()) - offset if at.tzinfo is None
                             else int(at.timestamp()))  # fmt: skip
            elif isinstance(one, int) and not isinstance(one, bool):
                found.append(one)  # timeformat=unixtime counts in UTC
            else:
                raise ValueError(one)
        except (ValueError, OverflowError):
            raise refused(NAME, "forecast_time", text=str(one)[:40]) from None
    stamps = np.array(found, dtype=np.int64)
    apart = (np.diff(stamps) > 0).all() and int(stamps[-1] - stamps[0]) <= MOST_H * 3600
    if not apart or not 0 <= int(stamps[0]) <= int(stamps[-1]) <= LATEST_S:
        raise refused(NAME, "forecast_order")
    return stamps


def _column(key: str, name: Variable, values: Any, unit: Any, n: int) -> Floats:
    if not isinstance(values, list) or len(values) != n:
        raise refused(NAME, "forecast_length", what=key)
    got = np.full(n, np.nan)
    for i, value in enumerate(values):
        if value is None:
            continue
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise refused(NAME, "forecast_number", what=key, text=str(value)[:40])
        got[i] = value
    known = _UNITS.get(unit, "") if isinstance(unit, str) else _MEANT[name][0] if unit is None else ""
    if known not in _MEANT[name]:
        raise refused(NAME, "forecast_unit", what=key, unit=str(unit)[:20])
    factor, offset = units.COLUMNS[known]
    return within(name, factor * got + offset, NAME, key)[0]
