"""Growth of a grass sward, day by day: LINGRA.

LINGRA: Schapendonk, Stol, van Kraalingen & Bouman 1998, "LINGRA, a sink/source model to simulate grassland
productivity in Europe", Eur. J. Agron. 9:87-100, doi 10.1016/S1161-0301(98)00027-6, as restated with
reserves by Wolf 2006. Grass grows by the lesser of what light yields (source) and what leaves can take up as
they lengthen (sink); a surplus is kept as reserves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["RYEGRASS", "Grass", "Sward", "SwardDays", "sward_schapendonk_1998"]


@dataclass(frozen=True, slots=True)
class Grass:
    """What kind of grass. Defaults: perennial ryegrass, northern set of Wolf 2006 (FST source of LINGRA)."""

    leaf_area_ha_per_kg: float = 0.0025
    critical_leaf_area: float = 4.0
    extinction: float = 0.60
    light_use_g_per_mj: float = 3.0  # of photosynthetically active radiation, at 360 ppm
    base_C: float = 3.0
    degree_days_most: float = 600.0
    death_base: float = 0.01
    death_shading: float = 0.03
    death_drought: float = 0.05
    site_filling_most: float = 0.693
    tillering_after_cut: tuple[float, float] = (0.335, 0.067)
    tillering_later: tuple[float, float] = (0.867, 0.183)
    tillers_most: float = 14000.0
    roots_share_dry: float = 0.263
    roots_share_wet: float = 0.165
    soil_range_C: tuple[float, float] = (3.0, 8.0)
    radiation_range_mj: tuple[float, float] = (10.0, 40.0)
    radiation_least: float = 0.33


RYEGRASS = Grass()


@dataclass(frozen=True, slots=True)
class Sward:
    """A sward at the start of a day. Per m2 of ground where not per ha; `soil_C` in the upper 10 cm.

    `since_cut`: days since the last cut or grazing, None before the first.
    """

    leaf_area: float = 0.1
    green_kg_per_ha: float = 40.0
    tillers_per_m2: float = 7000.0
    reserves_kg_per_ha: float = 200.0
    roots_kg_per_ha: float = 4.0
    degree_days: float = 0.0
    soil_C: float = 5.0
    since_cut: int | None = None


@dataclass(frozen=True, eq=False, slots=True)
class SwardDays:
    """By day, (n,): the sward at the day's start, then what the day brought. kg DM/ha.

    `end`: the sward after the last day. Green changes by grown - died - taken, exactly.
    """

    green_kg_per_ha: Array
    leaf_area: Array
    tillers_per_m2: Array
    reserves_kg_per_ha: Array
    grown_kg_per_ha: Array
    died_kg_per_ha: Array
    taken_kg_per_ha: Array
    end: Sward


def sward_schapendonk_1998(
    temperature_C: ArrayLike,
    radiation_mj_per_m2: ArrayLike,
    *,
    start: Sward | None = None,
    cuts: Mapping[int, float] | None = None,
    water: ArrayLike = 1.0,
    grass: Grass = RYEGRASS,
    co2_ppm: float = 360.0,
) -> SwardDays:
    """A sward from day 0 on, by daily mean temperature [°C] and global radiation [MJ/m2/day], (n,) each.

    `cuts`: day index -> green kg DM/ha left behind; no growth counts on that day. `water`: the day's actual
    over potential transpiration, 0-1 (1 = never short). ValueError for a missing value.
    """
    mean = number("temperature_C", temperature_C, least=-60, most=60)
    light = number("radiation_mj_per_m2", radiation_mj_per_m2, least=0, most=60)
    wet = np.broadcast_to(number("water", water, least=0, most=1), mean.shape)
    if mean.ndim != 1 or light.shape != mean.shape:
        raise ValueError("temperature_C and radiation_mj_per_m2 must be one series each, of one length")
    left = {day: float(number("cuts", kg, least=0)) for day, kg in (cuts or {}).items()}
    now, rows = start or Sward(), []
    for day, (t, mj, w) in enumerate(zip(mean.tolist(), light.tolist(), wet.tolist(), strict=True)):
        following, grown, died, taken = one_day(now, t, mj, w, left.get(day), grass, co2_ppm)
        rows.append(
            (
                now.green_kg_per_ha,
                now.leaf_area,
                now.tillers_per_m2,
                now.reserves_kg_per_ha,
                grown,
                died,
                taken,
            )
        )
        now = following
    green, area, tillers, reserves, grown_, died_, taken_ = np.array(rows, dtype=np.float64).reshape(-1, 7).T
    return SwardDays(green, area, tillers, reserves, grown_, died_, taken_, now)


def one_day(
    s: Sward, mean_C: float, mj: float, wet: float, left: float | None, g: Grass, co2_ppm: float
) -> tuple[Sward, float, float, float]:
    """The sward a day later; green matter grown, died and taken."""
    taken = max(0.0, s.green_kg_per_ha - left) if left is not None else 0.0
    area_per_kg = s.leaf_area / s.green_kg_per_ha if s.green_kg_per_ha > 0 else g.leaf_area_ha_per_kg
    warmth = ramp(s.soil_C, *g.soil_range_C, 0.0, 1.0)
    roots = g.roots_share_dry + wet * (g.roots_share_wet - g.roots_share_dry)

    source = sink = 0.0
    if taken == 0:
        bright = ramp(mj, *g.radiation_range_mj, 1.0, g.radiation_least)
        caught = 0.5 * mj * (1.0 - exp(-g.extinction * s.leaf_area))
        source = g.light_use_g_per_mj * warmth * bright * wet * caught * (1 + 0.8 * log(co2_ppm / 360)) * 10
        longer_cm = 0.83 * log(max(mean_C, 2.0)) - 0.8924 if mean_C > g.base_C else 0.0
        sink = s.tillers_per_m2 * 1e4 * 0.3 * longer_cm * 1e-8 / g.leaf_area_ha_per_kg / (1 - roots)
    if source < sink:
        from_reserves = min(s.reserves_kg_per_ha, sink - source)
        growth, reserves = source + from_reserves, s.reserves_kg_per_ha - from_reserves
    else:
        growth, reserves = sink, s.reserves_kg_per_ha + source - sink
    leaves = growth * (1 - roots)

    crowded = (s.leaf_area - g.critical_leaf_area) / g.critical_leaf_area
    shading = min(max(g.death_shading * crowded, 0.0), g.death_shading)
    if left is None:
        died = s.green_kg_per_ha * (1 - exp(-g.death_base - max(shading, g.death_drought * (1 - wet))))
    else:
        died = 0.0
    return (
        Sward(
            leaf_area=s.leaf_area + leaves * g.leaf_area_ha_per_kg - (died + taken) * area_per_kg,
            green_kg_per_ha=s.green_kg_per_ha + leaves - died - taken,
            tillers_per_m2=s.tillers_per_m2 + new_tillers(s, warmth, crowded, g),
            reserves_kg_per_ha=reserves,
            roots_kg_per_ha=s.roots_kg_per_ha + growth * roots,
            degree_days=s.degree_days + max(mean_C - g.base_C, 0.0),
            soil_C=s.soil_C + (mean_C - s.soil_C) / 10,
            since_cut=0 if left is not None else None if s.since_cut is None else s.since_cut + 1,
        ),
        leaves,
        died,
        taken,
    )


def new_tillers(s: Sward, warmth: float, crowded: float, g: Grass) -> float:
    """Net change of tillers a day: by leaves appearing, sites filled and tillers lost to age or shade."""
    appearing = 0.01 * s.soil_C if warmth > 0 else 0.0
    if (s.since_cut or 0) < 8:
        a, b = g.tillering_after_cut
        formed = max(0.0, a - b * s.leaf_area) * warmth
    else:
        a, b = g.tillering_later
        formed = min(max(0.0, a - b * s.leaf_area), g.site_filling_most) * warmth
    lost = max(0.01 * (1 + s.degree_days / g.degree_days_most), 0.05 * crowded)
    if s.tillers_per_m2 > g.tillers_most:
        formed = 0.0
    return (formed - lost) * appearing * s.tillers_per_m2


def ramp(x: float, x0: float, x1: float, y0: float, y1: float) -> float:
    """Straight from (x0, y0) to (x1, y1), level beyond."""
    return y0 + (y1 - y0) * min(max((x - x0) / (x1 - x0), 0.0), 1.0)
