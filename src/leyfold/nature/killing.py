"""The killing day: water to scald in, ice to chill with. Say `cautions.KILLING` beside all of it."""

from __future__ import annotations

from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["FUSION_KJ_PER_KG", "WATER_KJ_PER_KG_K", "heating_h", "ice_kg", "water_kwh"]

WATER_KJ_PER_KG_K = 4.186
FUSION_KJ_PER_KG = 334.0
"""Heat that melts a kilogram of ice at 0 °C (333.4 to 334 in the handbooks)."""


def water_kwh(litres: ArrayLike, *, from_C: ArrayLike, to_C: ArrayLike) -> Array:
    """Heat [kWh] that brings `litres` >= 0 of water from one temperature to another, 0 to 100 °C and not
    falling: 4.186 kJ/(kg K), a kilogram to the litre (within 2 % up to 65 °C)."""
    cold, hot = number("from_C", from_C, least=0, most=100), number("to_C", to_C, least=0, most=100)
    rise = number("to_C - from_C", hot - cold, least=0)
    return number("litres", litres, least=0) * WATER_KJ_PER_KG_K * rise / 3600.0


def heating_h(kwh: ArrayLike, *, watts: ArrayLike, kept_share: ArrayLike) -> Array:
    """Hours a heater of `watts` > 0 takes for `kwh` >= 0 where a share of its heat (0 < share <= 1) stays in
    the water: the rest goes through the wall and as steam."""
    power = number("watts", watts, above=0) * number("kept_share", kept_share, above=0, most=1)
    return 1000.0 * number("kwh", kwh, least=0) / power


def ice_kg(kg: ArrayLike, *, from_C: ArrayLike, to_C: ArrayLike, kj_per_kg_K: ArrayLike) -> Array:
    """Ice [kg] at 0 °C that cools `kg` >= 0 of carcass from one temperature to another (0 to 45 °C, not
    rising), itself melting and warming to the end: c (from - to) / (334 + 4.186 to) a kilogram.

    What the tub, the air and the rinsing water warm comes on top. Heat balance; c about 3.4 to 3.7.
    """
    hot, cold = number("from_C", from_C, least=0, most=45), number("to_C", to_C, least=0, most=45)
    fall = number("from_C - to_C", hot - cold, least=0)
    heat = number("kg", kg, least=0) * number("kj_per_kg_K", kj_per_kg_K, above=0) * fall
    return heat / (FUSION_KJ_PER_KG + WATER_KJ_PER_KG_K * cold)
