"""Wind on a light shelter: the gust, and when it slides, tips or lifts.

Not a structural design: pressures of a code for buildings on a thing lower than the code knows. Say
`cautions.WIND` beside every figure.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "AIR_KG_PER_M3",
    "CASES",
    "TERRAINS",
    "AnchorLoad",
    "Case",
    "Gusts",
    "Terrain",
    "anchor_load_n",
    "canopy_coefficients",
    "gust_at_shelter_m_per_s",
    "gusts_borne",
    "peak_pressure_pa",
    "roughness_factor",
    "terrain_factor",
    "turbulence_intensity",
]

AIR_KG_PER_M3 = 1.25
_G = 9.81


class Terrain(NamedTuple):
    roughness_m: float
    least_height_m: float


TERRAINS: Mapping[str, Terrain] = MappingProxyType(
    {
        "0": Terrain(0.003, 1.0),
        "I": Terrain(0.01, 1.0),
        "II": Terrain(0.05, 2.0),
        "III": Terrain(0.3, 5.0),
        "IV": Terrain(1.0, 10.0),
    }
)
"""EN 1991-1-4 table 4.1: 0 open sea, I lake or bare flat, II grass with single trees, III villages and woods,
IV town. Below the least height the wind is taken as there: safe, for in truth it is less."""


def terrain_factor(roughness_m: ArrayLike) -> Array:
    """k_r = 0.19 (z0 / 0.05)^0.07, z0 0.001 to 2 m. EN 1991-1-4, eq. 4.5."""
    return 0.19 * (number("roughness_m", roughness_m, least=0.001, most=2) / 0.05) ** 0.07


def roughness_factor(height_m: ArrayLike, roughness_m: ArrayLike, least_height_m: ArrayLike) -> Array:
    """c_r = k_r ln(z / z0): mean wind at a height (taken no lower than the least, up to 200 m) over the basic
    wind. EN 1991-1-4, eq. 4.4."""
    ln = np.log(_height(height_m, least_height_m) / number("roughness_m", roughness_m, least=0.001, most=2))
    return terrain_factor(roughness_m) * ln


def turbulence_intensity(height_m: ArrayLike, roughness_m: ArrayLike, least_height_m: ArrayLike) -> Array:
    """I_v = 1 / ln(z / z0) on flat ground. EN 1991-1-4, eq. 4.7."""
    return 1.0 / np.log(
        _height(height_m, least_height_m) / number("roughness_m", roughness_m, least=0.001, most=2)
    )


def peak_pressure_pa(
    basic_m_per_s: ArrayLike, height_m: ArrayLike, roughness_m: ArrayLike, least_height_m: ArrayLike
) -> Array:
    """q_p = (1 + 7 I_v) rho v_m^2 / 2 [Pa], of the basic wind (10-min mean at 10 m in terrain II, 50 years).

    Flat ground, air 1.25 kg/m3. EN 1991-1-4, eq. 4.8.
    """
    mean = number("basic_m_per_s", basic_m_per_s, least=0, most=60) * roughness_factor(
        height_m, roughness_m, least_height_m
    )
    gusty = 1.0 + 7.0 * turbulence_intensity(height_m, roughness_m, least_height_m)
    return gusty * 0.5 * AIR_KG_PER_M3 * mean**2


def gust_at_shelter_m_per_s(
    gust_m_per_s: ArrayLike, height_m: ArrayLike, roughness_m: ArrayLike, least_height_m: ArrayLike
) -> Array:
    """The gust at a height from the forecast's at 10 m [m/s], by the ratio of peak pressures."""
    here, there = (
        peak_pressure_pa(10.0, h, roughness_m, least_height_m)
        for h in (height_m, np.full(np.shape(height_m), 10.0))
    )
    return number("gust_m_per_s", gust_m_per_s, least=0, most=120) * np.sqrt(here / there)


def _height(height_m: ArrayLike, least_height_m: ArrayLike) -> Array:
    height = number("height_m", height_m, above=0, most=200)
    return np.maximum(height, number("least_height_m", least_height_m, above=0, most=200))


class Case(NamedTuple):
    """How the wind meets a shelter: net uplift on the roofed part, net push on the front, both over q."""

    lift: float
    drag: float


CASES: Mapping[str, Case] = MappingProxyType(
    {
        "closed": Case(0.7, 1.0),
        "open_windward": Case(1.3, 1.0),
        "open_windward_edge": Case(1.8, 1.0),
        "open_roof": Case(0.5, 0.6),
        "open_roof_blocked": Case(1.3, 0.6),
    }
)
"""Net coefficients of low flat shelters: our own putting together of EN 1991-1-4 roofs (7.2.3, with the inner
pressure of a large opening, 7.2.9) and canopies (table 7.6; its blocked row from memory). The edge case takes
the suction of the first strip for the whole roof: the worst there is."""

_PITCH_DEG = (0.0, 5.0, 10.0)
_CANOPY = ((0.2, 0.4, 0.5), (-0.5, -0.7, -0.9), (-1.3, -1.4, -1.4))


def canopy_coefficients(pitch_deg: ArrayLike, blocked_share: ArrayLike) -> tuple[Array, Array]:
    """Greatest down and up force on an open single-pitch roof over q (down positive), 0 to 10 degrees.

    `blocked_share` 0..1 of the opening under the lee edge. Straight between the rows. Source: EN 1991-1-4
    table 7.6; the blocked row from memory.
    """
    pitch = number("pitch_deg", pitch_deg, least=0, most=10)
    blocked = number("blocked_share", blocked_share, least=0, most=1)
    down, free, full = (np.interp(pitch, _PITCH_DEG, row) for row in _CANOPY)
    return (down + 0.0 * blocked)[()], ((1.0 - blocked) * free + blocked * full)[()]


class Gusts(NamedTuple):
    """Gusts [m/s] at the shelter from which it slides, tips about its lee or its windward edge, and lifts;
    infinite where no gust does."""

    slide: Array
    tip_lee: Array
    tip_windward: Array
    lift: Array

    @property
    def first(self) -> Array:
        """The least of the four: untied, the shelter moves in this gust."""
        return np.minimum(np.minimum(self.slide, self.lift), np.minimum(self.tip_lee, self.tip_windward))


def gusts_borne(
    mass_kg: ArrayLike,
    *,
    depth_m: ArrayLike,
    height_m: ArrayLike,
    roof_m2: ArrayLike,
    front_m2: ArrayLike,
    lift: ArrayLike,
    drag: ArrayLike,
    uplift_centre_m: ArrayLike,
    mass_centre_m: ArrayLike,
    friction: ArrayLike = 0.4,
) -> Gusts:
    """Gusts an untied shelter bears, the wind square to its front.

    `mass_kg` with what stands on it, `depth_m` along the wind, `height_m` of the front, `roof_m2` the part
    that lifts, `front_m2` the solid part that is pushed at half height; `lift`, `drag` of a Case, both >= 0;
    the two centres from the lee edge, 0 to `depth_m`; `friction` on grass 0.2 to 0.6. Statics about both
    edges: a light half to windward lifts the windward edge, a roof to leeward the lee edge. Tied to stakes:
    `anchor_load_n`.
    """
    weight, up, push, high, deep, x_up, x_mass = _statics(
        mass_kg, depth_m, height_m, roof_m2, front_m2, lift, drag, uplift_centre_m, mass_centre_m
    )
    rub = number("friction", friction, above=0, most=2)
    arm = 0.5 * push * high
    return Gusts(
        _gust(rub * weight, push + rub * up),
        _gust(weight * x_mass, up * x_up + arm),
        _gust(weight * (deep - x_mass), up * (deep - x_up) - arm),
        _gust(weight, up),
    )


def _gust(holds: Array, takes: Array) -> Array:
    """Gust whose pressure times `takes` equals `holds`; infinite where nothing is taken."""
    some = takes > 1e-9
    pressure = np.where(some, holds / np.where(some, takes, 1.0), np.inf)
    return np.sqrt(2.0 * pressure / AIR_KG_PER_M3)[()]


class AnchorLoad(NamedTuple):
    """Pull on each anchor straight up [N], and along the ground on all together."""

    windward_n: Array
    lee_n: Array
    total_uplift_n: Array
    total_slide_n: Array


def anchor_load_n(
    gust_m_per_s: ArrayLike,
    mass_kg: ArrayLike,
    *,
    depth_m: ArrayLike,
    height_m: ArrayLike,
    roof_m2: ArrayLike,
    front_m2: ArrayLike,
    lift: ArrayLike,
    drag: ArrayLike,
    uplift_centre_m: ArrayLike,
    mass_centre_m: ArrayLike,
    a_side: ArrayLike = 2.0,
    wind_factor: ArrayLike = 1.5,
    weight_factor: ArrayLike = 0.9,
) -> AnchorLoad:
    """What stakes must hold in a gust, `a_side` anchors at the windward and at the lee edge.

    Wind times 1.5, weight times 0.9 (EN 1990, loss of equilibrium; from memory). No resistance factor on the
    stake: divide what a pull test showed by one. Wind may come from any side: give every corner the larger
    load. Other arguments as `gusts_borne`'s. Published holds: 1.6 kN a point asked of tied play equipment
    (EN 14960); 4.4 kN for a driven 1 x 36 in stake in average lawn, about half in soaked soil.
    """
    weight, up, push, high, deep, x_up, x_mass = _statics(
        mass_kg, depth_m, height_m, roof_m2, front_m2, lift, drag, uplift_centre_m, mass_centre_m
    )
    gust = number("gust_m_per_s", gust_m_per_s, least=0, most=120)
    pressure = number("wind_factor", wind_factor, above=0) * 0.5 * AIR_KG_PER_M3 * gust**2
    held = number("weight_factor", weight_factor, least=0, most=1) * weight
    each = number("a_side", a_side, least=1)
    total = np.maximum(pressure * up - held, 0.0)
    windward = (pressure * (up * x_up + 0.5 * push * high) - held * x_mass) / deep
    lee = (pressure * (up * (deep - x_up) - 0.5 * push * high) - held * (deep - x_mass)) / deep
    return AnchorLoad(
        np.maximum(windward, 0.0) / each, np.maximum(lee, 0.0) / each, total, pressure * push + 0.0 * total
    )


def _statics(
    mass_kg: ArrayLike,
    depth_m: ArrayLike,
    height_m: ArrayLike,
    roof_m2: ArrayLike,
    front_m2: ArrayLike,
    lift: ArrayLike,
    drag: ArrayLike,
    uplift_centre_m: ArrayLike,
    mass_centre_m: ArrayLike,
) -> tuple[Array, Array, Array, Array, Array, Array, Array]:
    deep = number("depth_m", depth_m, above=0)
    x_up = number("uplift_centre_m", uplift_centre_m, least=0)
    x_mass = number("mass_centre_m", mass_centre_m, least=0)
    if np.any(x_up > deep) or np.any(x_mass > deep):
        raise ValueError("uplift_centre_m and mass_centre_m must lie within depth_m")
    up = number("lift", lift, least=0) * number("roof_m2", roof_m2, least=0)
    push = number("drag", drag, least=0) * number("front_m2", front_m2, least=0)
    weight = _G * number("mass_kg", mass_kg, above=0)
    return weight, up, push, number("height_m", height_m, above=0), deep, x_up, x_mass
