"""The air: its moisture, its wind near the ground, the films it leaves on things, and the sky above it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leyfold.nature._check import Array, number

__all__ = [
    "KELVIN",
    "SEA_LEVEL_PA",
    "STEFAN_BOLTZMANN",
    "berdahl_martin_1984_sky_C",
    "bliss_1961_sky_C",
    "churchill_bernstein_1977_film",
    "dew_point_C",
    "enthalpy_j_per_kg",
    "humidity_ratio",
    "mcadams_1954_film",
    "pressure_pa",
    "relative_humidity",
    "saturation_pressure_pa",
    "stull_2011_wet_bulb_C",
    "swinbank_1963_sky_C",
    "volume_m3_per_kg",
    "watmuff_1977_film",
    "wet_bulb_C",
    "wind_at_m_per_s",
]

KELVIN = 273.15
SEA_LEVEL_PA = 101325.0
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/m2/K^4 (CODATA 2018)."""

_TRIPLE_C = 0.01
_GRAMS = 0.621945  # molar mass of water over that of dry air


def saturation_pressure_pa(temperature_C: ArrayLike) -> Array:
    """Vapour pressure over water, over ice below 0.01 °C [Pa], -100 to 200 °C; ±0.03 %.

    Source: Hyland & Wexler 1983, in ASHRAE Handbook of Fundamentals 2017, ch. 1, eqs 5 and 6.
    """
    return np.exp(_ln_saturation(number("temperature_C", temperature_C, least=-100, most=200)))


def _ln_saturation(at_C: Array) -> Array:
    t = at_C + KELVIN
    # fmt: off
    ice = (
        -5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t**2 + 2.0747825e-9 * t**3
        - 9.484024e-13 * t**4 + 4.1635019 * np.log(t)
    )
    water = (
        -5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t**2 - 1.4452093e-8 * t**3
        + 6.5459673 * np.log(t)
    )
    # fmt: on
    return np.where(at_C <= _TRIPLE_C, ice, water)[()]


def pressure_pa(altitude_m: ArrayLike) -> Array:
    """Standard pressure of the air above the sea [Pa], -500 to 5000 m.

    Source: ASHRAE Handbook of Fundamentals 2017, ch. 1, eq. 3.
    """
    height = number("altitude_m", altitude_m, least=-500, most=5000)
    return SEA_LEVEL_PA * (1.0 - 2.25577e-5 * height) ** 5.2559


def relative_humidity(temperature_C: ArrayLike, dew_point_C: ArrayLike) -> Array:
    """Share of saturation, 0..1, of air at a temperature whose dew point is not above it; -60 to 60 °C."""
    t, dew = _air(temperature_C), number("dew_point_C", dew_point_C, least=-100, most=60)
    if np.any(dew > t):
        raise ValueError("dew_point_C is above temperature_C")
    return np.exp(_ln_saturation(dew) - _ln_saturation(t))


def dew_point_C(temperature_C: ArrayLike, humidity: ArrayLike) -> Array:  # noqa: N802
    """Temperature at which air starts to condense [°C] (to frost below 0.01), of -60 to 60 °C and relative
    humidity 0.01..1. Within 1e-6 K of the inverse of `saturation_pressure_pa`; never above the air."""
    t, wet = _air(temperature_C), number("humidity", humidity, least=0.01, most=1)
    wanted = _ln_saturation(t) + np.log(wet)
    low, high = np.full_like(wanted, -100.0), np.broadcast_to(t, wanted.shape).copy()
    return _halved(lambda mid: _ln_saturation(mid) < wanted, low, high)


def wet_bulb_C(  # noqa: N802
    temperature_C: ArrayLike, humidity: ArrayLike, pressure_pa: ArrayLike = SEA_LEVEL_PA
) -> Array:
    """Thermodynamic wet bulb [°C] of air of -60 to 60 °C, relative humidity 0.01..1, 50 to 110 kPa.

    The balance is solved by halving to 1e-6 K between dew point and air. Below freezing the bulb is ice.
    Source: ASHRAE Handbook of Fundamentals 2017, ch. 1, eqs 33 and 35.
    """
    t, wet = _air(temperature_C), number("humidity", humidity, least=0.01, most=1)
    p = _pressure(pressure_pa)
    held = _ratio(np.exp(_ln_saturation(t)) * wet, p)
    high = np.broadcast_to(t, np.shape(held)).copy()
    low = np.minimum(np.broadcast_to(dew_point_C(t, wet), high.shape), high)

    def under(bulb: Array) -> NDArray[np.bool_]:
        full = _ratio(np.exp(_ln_saturation(bulb)), p)
        water = ((2501.0 - 2.326 * bulb) * full - 1.006 * (t - bulb)) / (2501.0 + 1.86 * t - 4.186 * bulb)
        ice = ((2830.0 - 0.24 * bulb) * full - 1.006 * (t - bulb)) / (2830.0 + 1.86 * t - 2.1 * bulb)
        below: NDArray[np.bool_] = np.where(bulb >= 0.0, water, ice) < held
        return below

    return _halved(under, low, high)


def _halved(under: Callable[[Array], NDArray[np.bool_]], low: Array, high: Array) -> Array:
    """The crossing between `low` and `high` where `under` turns false."""
    for _ in range(30):
        mid = 0.5 * (low + high)
        below = under(mid)
        low, high = np.where(below, mid, low), np.where(below, high, mid)
    return (0.5 * (low + high))[()]


def humidity_ratio(
    temperature_C: ArrayLike, humidity: ArrayLike, pressure_pa: ArrayLike = SEA_LEVEL_PA
) -> Array:
    """Water to dry air by mass [kg/kg], relative humidity 0..1. ASHRAE 2017, ch. 1, eq. 20."""
    wet = number("humidity", humidity, least=0, most=1)
    return _ratio(np.exp(_ln_saturation(_air(temperature_C))) * wet, _pressure(pressure_pa))


def _ratio(vapour_pa: Array, p: Array) -> Array:
    return _GRAMS * vapour_pa / (p - vapour_pa)


def enthalpy_j_per_kg(temperature_C: ArrayLike, humidity_ratio: ArrayLike) -> Array:
    """Heat held [J per kg of dry air] over dry air at 0 °C. ASHRAE 2017, ch. 1, eq. 30."""
    t, w = _air(temperature_C), number("humidity_ratio", humidity_ratio, least=0, most=1)
    return 1000.0 * (1.006 * t + w * (2501.0 + 1.86 * t))


def volume_m3_per_kg(
    temperature_C: ArrayLike, humidity_ratio: ArrayLike, pressure_pa: ArrayLike = SEA_LEVEL_PA
) -> Array:
    """Room taken by a kg of dry air with its moisture [m3]. ASHRAE 2017, ch. 1, eq. 26."""
    w = number("humidity_ratio", humidity_ratio, least=0, most=1)
    return 287.042 * (_air(temperature_C) + KELVIN) * (1.0 + 1.607858 * w) / _pressure(pressure_pa)


def stull_2011_wet_bulb_C(temperature_C: ArrayLike, humidity: ArrayLike) -> Array:  # noqa: N802
    """Wet bulb at sea level by one formula, for comparison; -20 to 50 °C, relative humidity 0.05..0.99.

    Off by up to +0.8 K in hot dry air and -0.4 K near freezing. Source: Stull 2011, J. Appl. Meteor.
    Climatol. 50:2267.
    """
    t = number("temperature_C", temperature_C, least=-20, most=50)
    rh = 100.0 * number("humidity", humidity, least=0.05, most=0.99)
    return (
        t * np.arctan(0.151977 * np.sqrt(rh + 8.313659)) + np.arctan(t + rh) - np.arctan(rh - 1.676331)
        + 0.00391838 * rh**1.5 * np.arctan(0.023101 * rh) - 4.686035
    )  # fmt: skip


def swinbank_1963_sky_C(temperature_C: ArrayLike) -> Array:  # noqa: N802
    """Radiant temperature of a clear sky [°C]: 0.0552 T^1.5 in kelvin. Source: Swinbank 1963, Q. J. R. Met.
    Soc. 89:339."""
    return 0.0552 * (_air(temperature_C) + KELVIN) ** 1.5 - KELVIN


def berdahl_martin_1984_sky_C(  # noqa: N802
    temperature_C: ArrayLike,
    dew_point_C: ArrayLike,
    *,
    solar_h: ArrayLike = 6.0,
    cloud_share: ArrayLike = 0.0,
    cloud_factor: ArrayLike = 0.8,
) -> Array:
    """Radiant temperature of the sky [°C]: (e + (1 - e) n G)^(1/4) T, e the clear sky's emissivity.

    e = 0.711 + 0.56 d + 0.73 d^2 + 0.013 cos(15 deg t), d the dew point (-20 to 30 °C fitted; -60 to 40
    taken) over 100, t `solar_h` 0..24 of true solar time; at 6 its term is nil, at
    midnight it warms and at noon it cools the sky by some 1.2 K. Cloud n 0..1; G 0.8 for middle
    cloud, near 1 for low cloud (from memory). Source: Berdahl & Martin 1984, Solar Energy 32:663.
    """
    dew = number("dew_point_C", dew_point_C, least=-60, most=40) / 100.0
    hour = number("solar_h", solar_h, least=0, most=24)
    # Past a dew point of 35 °C the fit would pass one.
    clear = np.minimum(0.711 + 0.56 * dew + 0.73 * dew**2 + 0.013 * np.cos(np.radians(15.0 * hour)), 1.0)
    veil = number("cloud_share", cloud_share, least=0, most=1) * number(
        "cloud_factor", cloud_factor, least=0, most=1
    )
    return (clear + (1.0 - clear) * veil) ** 0.25 * (_air(temperature_C) + KELVIN) - KELVIN


def bliss_1961_sky_C(temperature_C: ArrayLike, dew_point_C: ArrayLike) -> Array:  # noqa: N802
    """Radiant temperature of a clear sky [°C]: (0.8 + dew / 250)^(1/4) T, dew point -60 to 40 °C.

    2 to 8 K warmer than the others: do not mix. Source: Bliss 1961, Solar Energy 5:103, from memory.
    """
    dew = number("dew_point_C", dew_point_C, least=-60, most=40)
    return (0.8 + dew / 250.0) ** 0.25 * (_air(temperature_C) + KELVIN) - KELVIN


def wind_at_m_per_s(
    wind_m_per_s: ArrayLike,
    height_m: ArrayLike,
    *,
    measured_m: ArrayLike = 10.0,
    roughness_m: ArrayLike = 0.03,
) -> Array:
    """Mean wind at `height_m` [m/s] from that at `measured_m`, by the log law over open ground.

    ln(z/z0) / ln(zm/z0), both heights at least three times z0; 0.03 m is short grass, 0.01 mown. Neutral
    air: on a still clear night there is less wind below than this says. Standard boundary-layer law.
    """
    rough = number("roughness_m", roughness_m, above=0)
    low, high = number("height_m", height_m, above=0), number("measured_m", measured_m, above=0)
    if np.any(low < 3.0 * rough) or np.any(high < 3.0 * rough):
        raise ValueError("height_m and measured_m must be at least three times roughness_m")
    return number("wind_m_per_s", wind_m_per_s, least=0) * np.log(low / rough) / np.log(high / rough)


def mcadams_1954_film(wind_m_per_s: ArrayLike) -> Array:
    """Heat taken by the wind [W/m2/K]: 5.7 + 3.8 v, 0 to 5 m/s meant, 30 taken.

    Holds some free convection and radiation: an upper bound where radiation stands apart. Source: McAdams
    1954, Heat Transmission, from memory.
    """
    return 5.7 + 3.8 * number("wind_m_per_s", wind_m_per_s, least=0, most=30)


def watmuff_1977_film(wind_m_per_s: ArrayLike) -> Array:
    """Heat taken by the wind alone [W/m2/K]: 2.8 + 3.0 v, 0 to 7 m/s meant, 30 taken; the lower bound.

    Source: Watmuff, Charters & Proctor 1977, COMPLES 2:56, from memory.
    """
    return 2.8 + 3.0 * number("wind_m_per_s", wind_m_per_s, least=0, most=30)


def churchill_bernstein_1977_film(
    wind_m_per_s: ArrayLike, diameter_m: ArrayLike, temperature_C: ArrayLike = 25.0
) -> Array:
    """Heat taken by the wind across a cylinder [W/m2/K]; 0 to 30 m/s, Re Pr above 0.2 (in still air: 0.3 k/D,
    far below what free convection adds). `temperature_C` is the film's, -60 to 120.

    Air by Sutherland's law at sea level, Pr 0.71. Source: Churchill & Bernstein 1977, J. Heat Transfer
    99:300.
    """
    t = number("temperature_C", temperature_C, least=-60, most=120) + KELVIN
    wide = number("diameter_m", diameter_m, above=0)
    viscosity = 1.458e-6 * t**1.5 / (t + 110.4) * 287.05 * t / SEA_LEVEL_PA
    conducts = 2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))
    re = number("wind_m_per_s", wind_m_per_s, least=0, most=30) * wide / viscosity
    pr = 0.71
    turns = (1.0 + (re / 282000.0) ** 0.625) ** 0.8 / (1.0 + (0.4 / pr) ** (2 / 3)) ** 0.25
    film: Array = (0.3 + 0.62 * np.sqrt(re) * pr ** (1 / 3) * turns) * conducts / wide
    return film


def _air(temperature_C: ArrayLike) -> Array:
    return number("temperature_C", temperature_C, least=-60, most=60)


def _pressure(pressure_pa: ArrayLike) -> Array:
    return number("pressure_pa", pressure_pa, least=50_000, most=110_000)
