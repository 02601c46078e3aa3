"""Heat and moisture given off by birds, and the temperature below which they must make more."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "HENS_MEASURED_W_PER_KG",
    "LATENT_J_PER_G",
    "chepete_xin_2001_broiler_w",
    "chepete_xin_2001_layer_w",
    "cigr_1984_correction",
    "cigr_1984_sensible_share",
    "cigr_2002_broiler_w",
    "cigr_2002_correction",
    "cigr_2002_hen_w",
    "cigr_2002_sensible_share_broilers",
    "cigr_2002_sensible_share_layers",
    "latent_to_water_g_per_h",
    "lower_critical_temperature_by_weight_meltzer_1983_C",
    "lower_critical_temperature_meltzer_1983_C",
    "resting_heat_meltzer_1983_w",
]

LATENT_J_PER_G = 2448.0
"""Heat that evaporates a gram of water, as the CIGR report takes it: 0.680 Wh/g."""

HENS_MEASURED_W_PER_KG: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "day": MappingProxyType({"total": 6.5, "latent": 2.4, "sensible": 4.1}),
        "night": MappingProxyType({"total": 5.4, "latent": 2.2, "sensible": 3.2}),
        "24 h": MappingProxyType({"total": 6.1, "latent": 2.3, "sensible": 3.8}),
    }
)
"""Laying hens at 24-27 °C by calorimetry (hal-01607256), for comparison; 24-h total ±0.3 W/kg."""


def chepete_xin_2001_broiler_w(weight_kg: ArrayLike) -> Array:
    """Total heat of a broiler in its comfort zone [W]: 10.60 W^0.74. About 0.1-3 kg.

    Source: Chepete & Xin 2001, review of the literature of 1982-2000 (6th Livestock Environment symposium).
    """
    return 10.60 * number("weight_kg", weight_kg, least=0) ** 0.74


def chepete_xin_2001_layer_w(weight_kg: ArrayLike) -> Array:
    """Total heat of a pullet or laying hen in its comfort zone [W]: 6.20 W^0.71. About 0.1-2.5 kg.

    Source: as the broilers'.
    """
    return 6.20 * number("weight_kg", weight_kg, least=0) ** 0.71


def cigr_2002_broiler_w(weight_kg: ArrayLike) -> Array:
    """Total heat of a meat bird at 20 °C [W]: 10.62 W^0.75.

    Source: CIGR 4th report 2002 (Pedersen & Sällvik), coefficients from memory.
    """
    return 10.62 * number("weight_kg", weight_kg, least=0) ** 0.75


def cigr_2002_hen_w(weight_kg: ArrayLike, *, egg_kg_per_d: ArrayLike, floor: bool = True) -> Array:
    """Total heat of a laying hen at 20 °C [W]: 6.8 W^0.75 + 25 Y on the floor, 6.28 W^0.75 + 25 Y in cages.

    `egg_kg_per_d` Y, about 0.05. Source: CIGR 4th report 2002, coefficients from memory.
    """
    per = 6.8 if floor else 6.28
    weight = number("weight_kg", weight_kg, least=0)
    return per * weight**0.75 + 25.0 * number("egg_kg_per_d", egg_kg_per_d, least=0)


def cigr_2002_correction(temperature_C: ArrayLike) -> Array:
    """Total heat at a temperature over that at 20 °C: 1 + 0.020 (20 - T). -30 to 40 °C.

    Source: CIGR 4th report 2002, poultry (from memory); measured down to about 5 °C, a straight line below.
    """
    return 1.0 + 0.020 * (20.0 - number("temperature_C", temperature_C, least=-30, most=40))


def cigr_2002_sensible_share_layers(temperature_C: ArrayLike) -> Array:
    """Sensible share of the total heat at that temperature, layers, house level, -30 to 40 °C.

    (0.67 q - 9.8e-8 T^6) / q with q = 1000 + 20 (20 - T) W. Below 0 °C the even power would fall again: it
    is held at nil there. House level: what wet litter evaporates is already taken out.
    Source: CIGR 4th report 2002 (from memory).
    """
    temperature, total = _unit(temperature_C)
    return (0.67 * total - 9.8e-8 * np.maximum(temperature, 0.0) ** 6) / total


def cigr_2002_sensible_share_broilers(temperature_C: ArrayLike) -> Array:
    """Sensible share of the total heat at that temperature, meat birds, house level, -30 to 40 °C.

    (0.61 q - 0.228 T^2) / q with q = 1000 + 20 (20 - T) W; the power held at nil below 0 °C. On straw about
    17 % less was measured (Pedersen & Thomsen 2000, J. Agric. Engng Res. 75:177).
    Source: CIGR 4th report 2002 (from memory).
    """
    temperature, total = _unit(temperature_C)
    return (0.61 * total - 0.228 * np.maximum(temperature, 0.0) ** 2) / total


def _unit(temperature_C: ArrayLike) -> tuple[Array, Array]:
    temperature = number("temperature_C", temperature_C, least=-30, most=40)
    return temperature, 1000.0 * cigr_2002_correction(temperature)


def cigr_1984_correction(temperature_C: ArrayLike) -> Array:
    """Total heat at a temperature over that at 20 °C by the older rule: 1 + 4e-5 (20 - T)^3. 0 to 35 °C.

    Source: CIGR 1st report 1984 (from memory), for comparison.
    """
    return 1.0 + 4e-5 * (20.0 - number("temperature_C", temperature_C, least=0, most=35)) ** 3


def cigr_1984_sensible_share(temperature_C: ArrayLike) -> Array:
    """Sensible share of the bird itself (no litter): 0.8 - 1.85e-7 (T + 10)^4. 0 to 35 °C.

    Source: CIGR 1st report 1984 (from memory), for comparison.
    """
    return 0.8 - 1.85e-7 * (number("temperature_C", temperature_C, least=0, most=35) + 10.0) ** 4


def latent_to_water_g_per_h(latent_w: ArrayLike) -> Array:
    """Water evaporated [g/h] by latent heat [W] >= 0, at 0.680 Wh/g. Source: CIGR reports."""
    return number("latent_w", latent_w, least=0) * (3600.0 / LATENT_J_PER_G)


def resting_heat_meltzer_1983_w(weight_kg: ArrayLike) -> Array:
    """Least resting heat of an egg-type pullet [W], 0.040 to 1.2 kg.

    Oxygen [mL/h] 1.83 g^0.986 up to 163 g, 11.64 g^0.623 above, at 20.1 J/mL (the usual caloric value).
    Source: Meltzer 1983, Br. Poult. Sci. 24.
    """
    grams = 1000.0 * number("weight_kg", weight_kg, least=0.040, most=1.2)
    oxygen_ml_h = np.where(grams <= 163.0, 1.83 * grams**0.986, 11.64 * grams**0.623)[()]
    return oxygen_ml_h * (20.1 / 3600.0)


def lower_critical_temperature_meltzer_1983_C(age_d: ArrayLike) -> Array:  # noqa: N802
    """Lower critical temperature of an egg-type pullet [°C] at `age_d` 0 to 70.

    35 - 0.286 d up to day 21, 63.3 d^-0.254 from there (a step up of 0.2 K). Measured from day 1: day 0 is
    the line's own end. Above 70 d not measured: ValueError. Source: Meltzer 1983, Br. Poult. Sci. 24.
    """
    age = number("age_d", age_d, least=0, most=70)
    # maximum() keeps the power from dividing by zero in ages the line covers.
    return np.where(age <= 21.0, 35.0 - 0.286 * age, 63.3 * np.maximum(age, 21.0) ** -0.254)[()]


def lower_critical_temperature_by_weight_meltzer_1983_C(weight_kg: ArrayLike) -> Array:  # noqa: N802
    """Lower critical temperature of an egg-type pullet [°C] by weight, 0.040 to 0.800 kg.

    42 - 1.18 g^0.480 up to 163 g, 42 - 3.60 g^0.260 above. Source: Meltzer 1983, Br. Poult. Sci. 24.
    """
    grams = 1000.0 * number("weight_kg", weight_kg, least=0.040, most=0.800)
    return np.where(grams <= 163.0, 42.0 - 1.18 * grams**0.480, 42.0 - 3.60 * grams**0.260)[()]
