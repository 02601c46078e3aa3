"""Nights: how cold it gets where the birds lie, in the open and in a shelter."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number
from leyfold.nature.air import KELVIN, STEFAN_BOLTZMANN

__all__ = [
    "Band",
    "bird_height_C",
    "mckenzie_1944_k_K",
    "mckenzie_1944_minimum_C",
    "roof_sheet_C",
    "shelter_rise_K",
    "smith_1973_grass_minimum_C",
]

_NINE_TENTHS = 1.2815515655446004  # standard normal deviate of 0.9


class Band(NamedTuple):
    """A temperature [°C] with its one chance in ten of being under `low_C`, and of being over `high_C`."""

    low_C: Array
    middle_C: Array
    high_C: Array


def mckenzie_1944_minimum_C(  # noqa: N802
    highest_C: ArrayLike, dew_point_C: ArrayLike, *, k_K: ArrayLike
) -> Array:
    """The night's least temperature at a station [°C] from the day: (highest + dew point) / 2 - K.

    For where no forecast has one; the dew point of the afternoon, K by place, wind and cloud.
    Source: McKenzie 1944, in forecasters' handbooks.
    """
    mean = number("highest_C", highest_C, least=-60, most=60) + number(
        "dew_point_C", dew_point_C, least=-60, most=40
    )
    return 0.5 * mean - number("k_K", k_K, least=-5, most=15)


_K_WIND = (0.0, 2.0, 5.0, 9.0)
_K_CLOUD = (0.0, 0.5, 1.0)
_K = ((8.5, 5.0, 2.5), (7.0, 4.5, 2.5), (4.0, 3.5, 1.5), (1.5, 1.5, 1.5))


def mckenzie_1944_k_K(wind_m_per_s: ArrayLike, cloud_share: ArrayLike) -> Array:  # noqa: N802
    """K of `mckenzie_1944_minimum_C` [K] by the night's mean wind at 10 m and cloud share 0..1.

    Straight between 8.5 (calm and clear), 7 / 4.5 / 2.5 (2 m/s; clear, half, overcast), 4 / 3.5 / 1.5 (5 m/s)
    and 1.5 (9 m/s and over): middles of a forecaster's rule of thumb, its words put into m/s by guess. Twenty
    nights of one's own make a better one.
    """
    wind = np.clip(number("wind_m_per_s", wind_m_per_s, least=0), 0.0, _K_WIND[-1])
    cloud = number("cloud_share", cloud_share, least=0, most=1)
    k: Array = np.zeros(np.broadcast_shapes(wind.shape, cloud.shape))
    for i, row in enumerate(_K):
        nearness = np.interp(wind, _K_WIND, np.eye(len(_K))[i])
        k = k + nearness * np.interp(cloud, _K_CLOUD, row)
    return k[()]


def smith_1973_grass_minimum_C(  # noqa: N802
    temperature_C: ArrayLike, dew_point_C: ArrayLike, *, constant_K: ArrayLike = 8.0
) -> Array:
    """Least temperature of the grass in a clear calm night [°C], from 15:00: (T + dew / 2) / 3 - c.

    c 8 in spring and autumn, 9 in winter, for one plain in the cool south (Canterbury, 43 S); under a quarter
    of low cloud and wind under 3 m/s. For comparison. Source: Smith 1973, as restated in frost handbooks.
    """
    t = number("temperature_C", temperature_C, least=-20, most=40)
    dew = number("dew_point_C", dew_point_C, least=-30, most=30)
    return (t + 0.5 * dew) / 3.0 - number("constant_K", constant_K, least=0, most=15)


def bird_height_C(  # noqa: N802
    station_C: ArrayLike,
    wind_m_per_s: ArrayLike,
    cloud_share: ArrayLike,
    *,
    deepest_K: ArrayLike,
    calm_under_m_per_s: ArrayLike = 3.0,
    station_sd_K: ArrayLike,
    depth_sd_share: ArrayLike,
) -> Band:
    """Air where birds lie, 20 cm over open grass [°C], from a station's or forecast's at 1.5 to 2 m by night.

    station - deepest (1 - wind / calm)(1 - cloud): nothing in a wind at 10 m over `calm_under_m_per_s` or
    under full cloud. The spread joins that of the station's value (`station_sd_K`, 0 where measured) and of
    the depth (`depth_sd_share` of it). `deepest_K` >= 0: 2 to 4 K on open ground (common practice), more in
    a hollow; guess until twenty nights of one's own thermometer.
    """
    still = np.clip(
        1.0
        - number("wind_m_per_s", wind_m_per_s, least=0)
        / number("calm_under_m_per_s", calm_under_m_per_s, above=0),
        0.0, 1.0,
    )  # fmt: skip
    clear = 1.0 - number("cloud_share", cloud_share, least=0, most=1)
    depth = number("deepest_K", deepest_K, least=0, most=15) * still * clear
    middle = number("station_C", station_C, least=-60, most=60) - depth
    spread = _NINE_TENTHS * np.hypot(
        number("station_sd_K", station_sd_K, least=0),
        depth * number("depth_sd_share", depth_sd_share, least=0),
    )
    return Band(middle - spread, middle + 0.0 * spread, middle + spread)


def shelter_rise_K(  # noqa: N802
    heat_w: ArrayLike,
    outside_C: ArrayLike,
    *,
    loss_w_per_K: ArrayLike,
    opening_m2: ArrayLike,
    wind_m_per_s: ArrayLike,
    height_m: ArrayLike,
    wind_effect: ArrayLike = 0.5,
    discharge: ArrayLike = 0.6,
) -> Array:
    """How much warmer the air in a shelter is than outside [K], from the birds' sensible heat `heat_w` >= 0.

    heat = (loss + 1.2 kg/m3 x 1006 J/kg/K x Q) rise, Q = hypot(wind_effect A v, discharge A sqrt(g H rise /
    T)), A half of `opening_m2`, H `height_m` between inlet and outlet. `loss_w_per_K` > 0: U times area, roof
    and walls. An open-sided shelter comes out within about 1 K of the air outside: at night it is worth its
    wind, wet and sky shelter, not warmth. The opening coefficients are for buildings (ASHRAE Handbook of
    Fundamentals, natural ventilation, from memory), at 0.6 m a guess. Solved to 1e-6 K.
    """
    watts, outside = number("heat_w", heat_w, least=0), number("outside_C", outside_C, least=-60, most=60)
    loss, half = (
        number("loss_w_per_K", loss_w_per_K, above=0),
        0.5 * number("opening_m2", opening_m2, least=0),
    )
    blown = number("wind_effect", wind_effect, least=0, most=1) * number(
        "wind_m_per_s", wind_m_per_s, least=0
    )
    kelvin = outside + KELVIN
    draws = (
        number("discharge", discharge, least=0, most=1) ** 2 * 9.81 * number("height_m", height_m, above=0)
    )
    carried = 352.99 / kelvin * 1006.0 * half  # air's density at sea level is 352.99 / T
    low = np.zeros(np.broadcast(watts, kelvin, loss, carried, blown, draws).shape)
    high = low + watts / loss
    for _ in range(40):
        rise = 0.5 * (low + high)
        under = (loss + carried * np.hypot(blown, np.sqrt(draws * rise / kelvin))) * rise < watts
        low, high = np.where(under, rise, low), np.where(under, high, rise)
    return (0.5 * (low + high))[()]


def roof_sheet_C(  # noqa: N802
    outside_C: ArrayLike,
    sky_C: ArrayLike,
    *,
    film_w_per_m2_K: ArrayLike,
    inside_C: ArrayLike,
    emissivity: ArrayLike,
    inner_emissivity: ArrayLike = 0.9,
    inner_film_w_per_m2_K: ArrayLike = 3.0,
    absorbed_w_per_m2: ArrayLike = 0.0,
) -> Array:
    """Temperature of a thin roof sheet [°C], by night or day, between sky and wind above and the room below.

    The floor below is at `inside_C` and seen by the whole sheet. ±3 K. By night a sheet under the inside dew
    point drips or frosts. Steady balance, solved to 1e-6 K.
    """
    outside = number("outside_C", outside_C, least=-60, most=60) + KELVIN
    inside = number("inside_C", inside_C, least=-60, most=60) + KELVIN
    sky = number("sky_C", sky_C, least=-120, most=60) + KELVIN
    over = STEFAN_BOLTZMANN * number("emissivity", emissivity, least=0, most=1)
    under = STEFAN_BOLTZMANN * number("inner_emissivity", inner_emissivity, least=0, most=1)
    wind = number("film_w_per_m2_K", film_w_per_m2_K, above=0)
    room = number("inner_film_w_per_m2_K", inner_film_w_per_m2_K, least=0)
    light = number("absorbed_w_per_m2", absorbed_w_per_m2, least=0)
    t = outside + 0.0 * (inside + sky + over + under + wind + room + light)
    for _ in range(12):
        gain = (
            light + wind * (outside - t) + room * (inside - t)
            + over * (sky**4 - t**4) + under * (inside**4 - t**4)
        )  # fmt: skip
        t = t + gain / (wind + room + 4.0 * (over + under) * t**3)
    return t - KELVIN
