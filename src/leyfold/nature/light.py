"""Sunlight: what a clear sky lets through, what cloud leaves, and what meets a thing in the open."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "Beam",
    "beam_and_diffuse_w",
    "clouded_kasten_czeplak_1980",
    "extraterrestrial_w",
    "haurwitz_1945_w",
    "on_cylinder_w",
]


def extraterrestrial_w(day_of_year: ArrayLike) -> Array:
    """Sunlight above the air, square to it [W/m2], day 1..366; solar constant 1366.1 W/m2.

    Source: Spencer 1971, Search 2:172 (distance); ASTM E490 (constant).
    """
    angle = 2.0 * np.pi * (number("day_of_year", day_of_year, least=1, most=366) - 1.0) / 365.0
    distance = (
        1.00011 + 0.034221 * np.cos(angle) + 0.00128 * np.sin(angle)
        + 0.000719 * np.cos(2 * angle) + 7.7e-5 * np.sin(2 * angle)
    )  # fmt: skip
    bright: Array = 1366.1 * distance
    return bright


def haurwitz_1945_w(zenith_deg: ArrayLike) -> Array:
    """Sunlight on level ground under a clear sky [W/m2], 0 with the sun down: 1098 c exp(-0.059/c), c the
    cosine of `zenith_deg` 0..180.

    Within some 5 % of clear days of middle haze with the sun over 20 deg, high by a quarter at 10 deg.
    Source: Haurwitz 1945, J. Meteor. 2:154, as restated by Reno, Hansen & Stein 2012 (SAND2012-2389).
    """
    up = np.cos(np.radians(number("zenith_deg", zenith_deg, least=0, most=180)))
    seen = np.maximum(up, 1e-3)
    return np.where(up > 1e-3, 1098.0 * seen * np.exp(-0.059 / seen), 0.0)[()]


def clouded_kasten_czeplak_1980(cloud_share: ArrayLike) -> Array:
    """Share of a clear sky's light that comes through cloud over `cloud_share` 0..1 of it: 1 - 0.75 n^3.4.

    A mean of many kinds of cloud. Source: Kasten & Czeplak 1980, Solar Energy 24:177.
    """
    through: Array = 1.0 - 0.75 * number("cloud_share", cloud_share, least=0, most=1) ** 3.4
    return through


class Beam(NamedTuple):
    """Sunlight [W/m2]: `direct_w` square to the beam, `diffuse_w` from the sky on level ground."""

    direct_w: Array
    diffuse_w: Array


def beam_and_diffuse_w(global_w: ArrayLike, zenith_deg: ArrayLike, day_of_year: ArrayLike) -> Beam:
    """Light on level ground `global_w` >= 0 parted into beam and sky, by the sun's zenith and the day 1..366.

    direct cos(zenith) + diffuse is the global, always. With the sun under 3 deg high all is diffuse. The
    diffuse share of an hour is uncertain by about 0.1.
    Source: Erbs, Klein & Duffie 1982, Solar Energy 28:293.
    """
    light = number("global_w", global_w, least=0, most=2000)
    zenith = number("zenith_deg", zenith_deg, least=0, most=180)
    up = np.cos(np.radians(zenith))
    above = extraterrestrial_w(day_of_year) * np.maximum(up, 0.065)
    kt = np.clip(light / above, 0.0, 1.0)
    middle = 0.9511 - 0.1604 * kt + 4.388 * kt**2 - 16.638 * kt**3 + 12.336 * kt**4
    share = np.where(kt <= 0.22, 1.0 - 0.09 * kt, np.where(kt <= 0.8, middle, 0.165))
    share = np.where(zenith > 87.0, 1.0, share)
    diffuse = light * share
    return Beam(((light - diffuse) / np.maximum(up, 0.05))[()], diffuse[()])


def on_cylinder_w(
    global_w: ArrayLike,
    direct_w: ArrayLike,
    diffuse_w: ArrayLike,
    zenith_deg: ArrayLike,
    *,
    diameter_m: ArrayLike,
    height_m: ArrayLike,
    reflected_share: ArrayLike = 0.2,
) -> Array:
    """Sunlight that meets an upright cylinder with a lid [W].

    global A_top + direct sin(zenith) D H + (diffuse + reflected global) A_side / 2: half the side sees the
    sky, half the ground, both alike in all directions; `reflected_share` 0..1 of the ground, 0.2 for grass,
    0.5 for a bright roof. Light terms [W/m2] >= 0. No shade of anything near.
    """
    level = number("global_w", global_w, least=0)
    zenith = np.radians(number("zenith_deg", zenith_deg, least=0, most=180))
    wide, high = number("diameter_m", diameter_m, above=0), number("height_m", height_m, above=0)
    sky = number("diffuse_w", diffuse_w, least=0)
    ground = number("reflected_share", reflected_share, least=0, most=1) * level
    side = np.pi * wide * high
    beam = number("direct_w", direct_w, least=0) * np.sin(zenith) * wide * high
    return level * np.pi * wide**2 / 4.0 + beam + 0.5 * (sky + ground) * side
