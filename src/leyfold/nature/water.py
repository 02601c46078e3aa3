"""Water drunk."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["drunk_l", "over_the_day", "pesti_1985_ml"]


def drunk_l(
    feed_kg: ArrayLike,
    temperature_C: ArrayLike,
    *,
    litres_per_kg: ArrayLike,
    slope_per_K: ArrayLike,
    base_C: ArrayLike,
) -> Array:
    """Water drunk [L]: litres_per_kg * feed * (1 + slope * max(0, T - base)).

    `feed_kg` >= 0 eaten, day's mean temperature [°C] -40 to 50, `litres_per_kg` >= 0, `slope_per_K` >= 0
    (share of the amount at `base_C` for each K above it). Broadcasts. Published: 1.77 L/kg, broilers
    (Pesti et al. 1985); about 7 % of the 21 °C amount per K, linear, agrees with the nearly doubled use from
    20 to 32 °C (Univ. of Kentucky, poultry manual, table 12.1). Pass the feed that hot birds then eat.
    """
    over = number("temperature_C", temperature_C, least=-40, most=50) - number("base_C", base_C)
    amount = number("litres_per_kg", litres_per_kg, least=0) * number("feed_kg", feed_kg, least=0)
    return amount * (1.0 + number("slope_per_K", slope_per_K, least=0) * np.maximum(over, 0.0))


def pesti_1985_ml(age_d: ArrayLike) -> Array:
    """Water drunk by a broiler in a day [mL]: 5.28 times its age in days, 0 to 56 d.

    5.1 in cool and 5.7 in warm months. Source: Pesti, Amato & Minear 1985, Poult. Sci. 64:803 (24 flocks).
    """
    return 5.28 * number("age_d", age_d, least=0, most=56)


def over_the_day(lit_h: ArrayLike) -> Array:
    """Share of the day's drinking in each step of one day [..., step], by its hours of light `lit_h` >= 0.

    Birds drink by day: the shares follow the light and add up to one, evenly where a day has no light.
    Common practice; in truth mornings and evenings draw more.
    """
    lit = number("lit_h", lit_h, least=0)
    day = lit.sum(axis=-1, keepdims=True)
    return np.where(day > 0, lit / np.where(day > 0, day, 1.0), 1.0 / lit.shape[-1])
