"""Eggs: the lay curve, light, and egg weight."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "adams_bell",
    "egg_weight_g",
    "first_egg_delay_d",
    "grossman_koops_2001",
    "grossman_koops_2001_eggs",
    "light_factor",
    "mcmillan",
    "wood",
    "yang",
]


def yang(
    age_wk: ArrayLike, *, a: ArrayLike, b_per_wk: ArrayLike, c_per_wk: ArrayLike, d_wk: ArrayLike
) -> Array:
    """Eggs per hen and day (0..1) at `age_wk` weeks: a exp(-b x) / (1 + exp(-c (x - d))).

    `a` 0..1 scale, `b_per_wk` >= 0 weekly decline, `c_per_wk` > 0 how closely the flock comes into lay
    together, `d_wk` age at which half of them lay. Age >= 0; broadcasts.
    Source: Yang, Wu & McMillan 1989, Poult. Sci. 68 (form from memory).
    """
    age = number("age_wk", age_wk, least=0)
    scale = number("a", a, least=0, most=1) * np.exp(-number("b_per_wk", b_per_wk, least=0) * age)
    onset = number("c_per_wk", c_per_wk, above=0) * (age - number("d_wk", d_wk))
    return np.asarray(scale * _rise(onset))[()]


def grossman_koops_2001(week: ArrayLike, *, k1: ArrayLike, k2: ArrayLike, c2_wk: ArrayLike) -> Array:
    """Eggs per hen and week, `week` >= 0 weeks after her first egg.

    7 k1 tanh(t/2) - 7 (k1 - k2) / (1 + exp(-(t - c2))): persistency k1 (eggs a day, 0..1) steps down to k2
    <= 1 about week c2. Broadcasts. Source: Grossman & Koops 2001, Poult. Sci. 80 (rebuilt from a garbled
    print: rate and sum are exact derivative and integral of each other).
    """
    t = number("week", week, least=0)
    first, second, c2 = _persistency(k1, k2, c2_wk)
    return 7.0 * first * np.tanh(t / 2.0) - 7.0 * (first - second) * _rise(t - c2)


def grossman_koops_2001_eggs(week: ArrayLike, *, k1: ArrayLike, k2: ArrayLike, c2_wk: ArrayLike) -> Array:
    """Eggs per hen from her first egg up to `week` >= 0: the integral of `grossman_koops_2001`.

    7 k1 (2 ln((1 + e^t)/2) - t) - 7 (k1 - k2) ln((e^c2 + e^t) / (1 + e^c2)). Same arguments and source.
    """
    t = number("week", week, least=0)
    first, second, c2 = _persistency(k1, k2, c2_wk)
    rise: Array = 2.0 * (np.logaddexp(0.0, t) - np.log(2.0)) - t
    step: Array = np.logaddexp(c2, t) - np.logaddexp(c2, 0.0)
    return 7.0 * first * rise - 7.0 * (first - second) * step


def _persistency(k1: ArrayLike, k2: ArrayLike, c2_wk: ArrayLike) -> tuple[Array, Array, Array]:
    return number("k1", k1, least=0, most=1), number("k2", k2, least=0, most=1), number("c2_wk", c2_wk)


def wood(week: ArrayLike, *, a: ArrayLike, b: ArrayLike, c_per_wk: ArrayLike) -> Array:
    """Lay in the unit of `a` in week `week` >= 0 of lay: a t^b exp(-c t), at its peak when t = b/c.

    `a` >= 0, `b` > 0, `c_per_wk` >= 0; broadcasts. Source: Wood 1967, Nature 216 (form from memory).
    """
    t = number("week", week, least=0)
    rise = number("a", a, least=0) * t ** number("b", b, above=0)
    return rise * np.exp(-number("c_per_wk", c_per_wk, least=0) * t)


def mcmillan(
    week: ArrayLike, *, most: ArrayLike, a_per_wk: ArrayLike, c_per_wk: ArrayLike, d_wk: ArrayLike
) -> Array:
    """Lay in the unit of `most` in week `week`: M (1 - exp(-c (t - d))) exp(-a t), zero before week d.

    `most` M >= 0, `a_per_wk` >= 0 decline, `c_per_wk` > 0 rise, `d_wk` first lay; `week` >= 0; broadcasts.
    Source: McMillan 1981, Poult. Sci. 60 (form from memory).
    """
    t = number("week", week, least=0)
    since = np.maximum(t - number("d_wk", d_wk), 0.0)
    rise = -np.expm1(-number("c_per_wk", c_per_wk, above=0) * since)
    decline = np.exp(-number("a_per_wk", a_per_wk, least=0) * t)
    return np.asarray(number("most", most, least=0) * rise * decline)[()]


def adams_bell(
    week: ArrayLike, *, a: ArrayLike, r: ArrayLike, b_wk: ArrayLike, c_per_wk: ArrayLike, d_wk: ArrayLike
) -> Array:
    """Lay [%] in week `week` >= 0: 1 / (0.01 + a r^(t - b)) - c (t - d).

    `a` > 0, 0 < `r` < 1, `c_per_wk` >= 0 points lost a week counted from `d_wk`; broadcasts. Not held within
    0..100: outside the weeks fitted it leaves them. Source: Adams & Bell 1980, Poult. Sci. 59 (form from
    memory).
    """
    t = number("week", week, least=0)
    ratio = number("r", r, above=0, below=1)
    rise = 1.0 / (0.01 + number("a", a, above=0) * ratio ** (t - number("b_wk", b_wk)))
    return rise - number("c_per_wk", c_per_wk, least=0) * (t - number("d_wk", d_wk))


def light_factor(light_h: ArrayLike, *, dark_h: float, full_h: float, at_dark: float) -> Array:
    """Share of full lay kept at `light_h` 0..24 of light: a line from `at_dark` at `dark_h` to 1 at `full_h`.

    Level beyond the two; broadcasts. 0 <= `dark_h` < `full_h` <= 24, `at_dark` 0..1. A guess in form and
    figures: papers give 14-16 h as enough and a threshold near 12 h, none a percentage by day length. To be
    replaced by the farm's own winters.
    """
    dark = number("dark_h", dark_h, least=0, most=24)
    full = number("full_h", full_h, least=0, most=24)
    if not dark < full:
        raise ValueError("dark_h must be below full_h")
    low = number("at_dark", at_dark, least=0, most=1)
    share = np.clip((number("light_h", light_h, least=0, most=24) - dark) / (full - dark), 0.0, 1.0)
    return np.asarray(low + (1.0 - low) * share)[()]


def first_egg_delay_d(light_h_by_day: ArrayLike, *, from_day: int, needed_h: float) -> int | None:
    """First day, counted in `light_h_by_day`, from `from_day` on whose light is at least `needed_h`.

    `light_h_by_day` [day] 0..24 h, `from_day` >= 0 the day the pullets are old enough, `needed_h` 0..24. None
    when the light does not come within the days given. Hens start near 14 h, some from 12 (extension
    advice); that pullets wait for it like a switch is a guess.
    """
    light = number("light_h_by_day", light_h_by_day, least=0, most=24)
    needed = number("needed_h", needed_h, least=0, most=24)
    if light.ndim != 1 or from_day < 0:
        raise ValueError("light_h_by_day must be one-dimensional and from_day at least 0")
    bright = np.flatnonzero(light[from_day:] >= needed)
    return int(bright[0]) + from_day if bright.size else None


def egg_weight_g(age_wk: ArrayLike, *, p: ArrayLike, q: ArrayLike, r_per_wk: ArrayLike) -> Array:
    """Mean weight of an egg [g] at `age_wk` >= 0: P - Q exp(-R t).

    `p` > 0 the weight approached, 0 <= `q` < `p`, `r_per_wk` > 0; broadcasts. Published for 18-51 weeks of
    age: P 56.9-65.8 g, P - Q 26.9-33.9 g. Source: Minvielle et al. 1994, Genet. Sel. Evol. 26.
    """
    most = number("p", p, above=0)
    lack = number("q", q, least=0)
    if not np.all(lack < most):
        raise ValueError("q must be below p")
    return most - lack * np.exp(-number("r_per_wk", r_per_wk, above=0) * number("age_wk", age_wk, least=0))


def _rise(x: Array) -> Array:
    """1 / (1 + exp(-x)) by tanh, which cannot overflow."""
    return 0.5 + 0.5 * np.tanh(0.5 * x)
