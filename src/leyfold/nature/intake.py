"""Feed eaten and given, and the energy behind it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number
from leyfold.nature.heat import lower_critical_temperature_meltzer_1983_C

__all__ = [
    "cold_extra_kj",
    "eaten_kg",
    "given_kg",
    "hen_energy_brainer_2016_kcal",
    "hen_energy_nrc_1994_kcal",
    "hen_energy_sakomura_2005_first_kcal",
    "hen_energy_sakomura_2005_second_kcal",
]


def eaten_kg(
    weight_kg: ArrayLike,
    gain_kg: ArrayLike,
    *,
    maintenance_kg_per_kg075: ArrayLike,
    per_gain_kg_per_kg: ArrayLike,
    cold_kg: ArrayLike = 0.0,
) -> Array:
    """Feed eaten a bird and day [kg]: maintenance W^0.75 + per_gain * gain + cold.

    `weight_kg` >= 0 at the day's start and `gain_kg` >= 0 over it; `maintenance_kg_per_kg075` kg feed per
    kg^0.75 and day, `per_gain_kg_per_kg` kg feed per kg gained, `cold_kg` the feed against the cold, all
    >= 0. Everything broadcasts. The factorial partition common to all energy systems for poultry
    (NRC 1994; Sakomura 2004, Braz. J. Poult. Sci. 6:1); the coefficients belong to the stock and its feed.
    """
    weight = number("weight_kg", weight_kg, least=0)
    gain = number("gain_kg", gain_kg, least=0)
    maintenance = number("maintenance_kg_per_kg075", maintenance_kg_per_kg075, least=0)
    per_gain = number("per_gain_kg_per_kg", per_gain_kg_per_kg, least=0)
    return maintenance * _metabolic(weight) + per_gain * gain + number("cold_kg", cold_kg, least=0)


def given_kg(eaten_kg: ArrayLike, *, waste_share: ArrayLike) -> Array:
    """Feed to put out [kg] so that `eaten_kg` >= 0 is eaten: eaten / (1 - waste).

    `waste_share` 0 <= waste < 1 is the part of the feed given that is spilt, blown or rained on. Broadcasts.
    """
    return number("eaten_kg", eaten_kg, least=0) / (
        1.0 - number("waste_share", waste_share, least=0, below=1)
    )


def cold_extra_kj(weight_kg: ArrayLike, age_d: ArrayLike, temperature_C: ArrayLike) -> Array:
    """Extra metabolisable energy a bird and day [kJ] below the lower critical temperature.

    slope(age) * W^0.75 * max(0, Tc(age) - T). Tc is Meltzer's (1983, egg-type pullets), its value at 70 d
    kept from then on. The slope [kJ/kg^0.75/d/K] is a step: 20 to the end of week 5 (age < 35 d), 12.5 in
    weeks 6 and 7 (< 49 d), 4.5 after. `weight_kg` >= 0, `age_d` >= 0, mean temperature of the day; all
    broadcast. Source of the slopes: 24-h gas exchange of broilers at 5-35 °C over 8 weeks, which found 20 kJ
    in the first weeks, 10-15 in the 6th and 7th, 4-5 after; where the first step ends, the middles of the
    ranges, and joining two kinds of bird are choices made here. Dry, unhuddled birds out of the wind.
    """
    weight = number("weight_kg", weight_kg, least=0)
    age = number("age_d", age_d, least=0)
    critical = lower_critical_temperature_meltzer_1983_C(np.minimum(age, 70.0))
    slope = np.array([20.0, 12.5, 4.5])[np.searchsorted([35.0, 49.0], age, side="right")]
    return slope * _metabolic(weight) * np.maximum(critical - number("temperature_C", temperature_C), 0.0)


def hen_energy_nrc_1994_kcal(
    weight_kg: ArrayLike, temperature_C: ArrayLike, *, gain_g_per_d: ArrayLike, egg_mass_g_per_d: ArrayLike
) -> Array:
    """Metabolisable energy a hen and day [kcal]: W^0.75 (173 - 1.95 T) + 5.5 gain + 2.07 egg mass.

    Hens of 1-3 kg, -5 to 35 °C; gain may be negative, egg mass [g/d] >= 0. Broadcasts.
    Source: NRC 1994, Nutrient Requirements of Poultry, 9th ed., Table 2-4 (coefficients from memory).
    """
    return _hen(weight_kg, temperature_C, gain_g_per_d, egg_mass_g_per_d, (173.0, 1.95, 5.5, 2.07))


def hen_energy_sakomura_2005_first_kcal(
    weight_kg: ArrayLike, temperature_C: ArrayLike, *, gain_g_per_d: ArrayLike, egg_mass_g_per_d: ArrayLike
) -> Array:
    """Metabolisable energy a hen and day [kcal]: W^0.75 (165.74 - 2.37 T) + 6.68 gain + 2.4 egg mass.

    Model ME1 of Sakomura et al. 2005, Acta Sci. Anim. Sci. 27:349 (doi 10.4025/actascianimsci.v27i3.1204),
    tried on white hens of 30-45 weeks. 12-30 °C. Broadcasts.
    """
    return _hen(weight_kg, temperature_C, gain_g_per_d, egg_mass_g_per_d, (165.74, 2.37, 6.68, 2.4))


def hen_energy_sakomura_2005_second_kcal(
    weight_kg: ArrayLike, temperature_C: ArrayLike, *, gain_g_per_d: ArrayLike, egg_mass_g_per_d: ArrayLike
) -> Array:
    """Metabolisable energy a hen and day [kcal]: W^0.75 (163.67 - 2.09 T) + 6.68 gain + 2.4 egg mass.

    Model ME2 of the same paper and range as the first.
    """
    return _hen(weight_kg, temperature_C, gain_g_per_d, egg_mass_g_per_d, (163.67, 2.09, 6.68, 2.4))


def hen_energy_brainer_2016_kcal(weight_kg: ArrayLike, *, egg_mass_g_per_d: ArrayLike) -> Array:
    """Metabolisable energy a free-range hen and day [kcal]: 121.8 W^0.75 + 2.48 egg mass.

    Hens that neither gain nor lose (the trial could not estimate gain); no term for temperature. Broadcasts.
    Source: Brainer et al. 2016, J. Anim. Sci. 94:117 (doi 10.2527/jas.2015-9272).
    """
    return _hen(weight_kg, 0.0, 0.0, egg_mass_g_per_d, (121.8, 0.0, 0.0, 2.48))


def _hen(
    weight_kg: ArrayLike,
    temperature_C: ArrayLike,
    gain_g: ArrayLike,
    egg_g: ArrayLike,
    coefficients: tuple[float, float, float, float],
) -> Array:
    base, per_K, per_gain, per_egg = coefficients
    weight = number("weight_kg", weight_kg, above=0)
    gain = number("gain_g_per_d", gain_g)
    egg = number("egg_mass_g_per_d", egg_g, least=0)
    temperature = number("temperature_C", temperature_C, least=-40, most=50)
    return _metabolic(weight) * (base - per_K * temperature) + per_gain * gain + per_egg * egg


def _metabolic(weight: Array) -> Array:
    """W^0.75 by square roots: nearly twice as fast as the power, and every bird-day of a season asks."""
    root = np.sqrt(weight)
    return np.asarray(root * np.sqrt(root))[()]
