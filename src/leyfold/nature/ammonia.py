"""Ammonia from droppings on a littered floor, and the air that carries it off."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["MOST_PPM", "ammonia_g_per_h", "fresh_air_m3_per_h"]

MOST_PPM = 20.0
"""Most ammonia at the height of chickens' heads: Directive 2007/43/EC, Annex II 3(a)."""

TAN_SHARE, LOST_SHARE = 0.7, 0.21
"""Of the nitrogen dropped by chickens on litter: ammoniacal, and of that lost to the air of the house
(broilers; EMEP/EEA Guidebook 2019, 3.B, from memory). Wet or old litter loses more, fresh dry litter less."""
NH3_PER_N = 17.031 / 14.007
MOLAR_L_25C, ROOM_K = 24.465, 298.15
HOURS = 24.0


def ammonia_g_per_h(n_kg_per_d: ArrayLike) -> Array:
    """Ammonia that leaves the litter [g/h] where `n_kg_per_d` >= 0 of nitrogen is dropped on it in a day."""
    n = number("n_kg_per_d", n_kg_per_d, least=0)
    return n * (1000.0 * TAN_SHARE * LOST_SHARE * NH3_PER_N / HOURS)


def fresh_air_m3_per_h(
    ammonia_g_per_h: ArrayLike, temperature_C: ArrayLike, *, most_ppm: ArrayLike = MOST_PPM
) -> Array:
    """Air at -40 to 50 °C [m3/h] that keeps so much ammonia >= 0 at `most_ppm` > 0 when it comes in clean, is
    mixed well and leaves again (balance of a stirred room, ideal gas at sea level)."""
    kelvin = number("temperature_C", temperature_C, least=-40, most=50) + 273.15
    g_per_m3 = number("most_ppm", most_ppm, above=0) * 1e-3 * 17.031 / MOLAR_L_25C * (ROOM_K / kelvin)
    air: Array = np.divide(number("ammonia_g_per_h", ammonia_g_per_h, least=0), g_per_m3)
    return air
