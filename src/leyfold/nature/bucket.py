"""The header bucket in sun and wind: how warm its water gets, and how long it lasts.

Water and shell share one temperature T. Light S warms them, air and sky take heat:

    (c m + C_shell) dT/dt = S - h A (T - T_air) - e k [A_sky (T^4 - T_sky^4) + A_ground (T^4 - T_air^4)]

with A top and side, A_sky the top and half the side, A_ground the other half, k Stefan and Boltzmann's. What
the birds drink leaves at T, so it takes warmth away but does not cool what stays. Left out: what is under the
bucket (a roof sheet in the sun adds some 1 to 2 K), shade, and the heat of freezing (below 0 °C read: ice).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number
from leyfold.nature.air import KELVIN, STEFAN_BOLTZMANN

__all__ = [
    "WATER_J_PER_L_K",
    "BucketDays",
    "Surroundings",
    "follow",
    "frost_free_w",
    "hours_above",
    "hours_until_dry",
    "mixed_C",
    "stand_C",
    "time_constant_h",
]

WATER_J_PER_L_K = 4186.0


class Surroundings(NamedTuple):
    """What is about the bucket; each scalar or an array, all of shapes that broadcast.

    `absorbed_w` light taken up (absorptance times `light.on_cylinder_w`), `air_C` and `sky_C` (the radiant
    sky), `film_w_per_m2_K` the wind's (`air.watmuff_1977_film` and its like), `emissivity` 0..1.
    """

    absorbed_w: ArrayLike
    air_C: ArrayLike
    sky_C: ArrayLike
    film_w_per_m2_K: ArrayLike
    emissivity: ArrayLike = 0.9


class _Balance(NamedTuple):
    """The surroundings of a bucket of one shape, checked and ready: W, K, W/K and W/K^4."""

    absorbed: Array
    air: Array
    film: Array
    to_sky: Array
    to_ground: Array
    sky4: Array
    air4: Array

    def gain_w(self, t: Array) -> Array:
        fourth = t**4
        return (
            self.absorbed - self.film * (t - self.air)
            - self.to_sky * (fourth - self.sky4) - self.to_ground * (fourth - self.air4)
        )  # fmt: skip

    def slope_w(self, t: Array, to: Array) -> Array:
        """How much more heat is lost for each K warmer, between two temperatures."""
        return self.film + (self.to_sky + self.to_ground) * (t**2 + to**2) * (t + to)


def _balance(around: Surroundings, diameter_m: ArrayLike, height_m: ArrayLike) -> _Balance:
    wide, high = number("diameter_m", diameter_m, above=0), number("height_m", height_m, above=0)
    top, side = np.pi * wide**2 / 4.0, np.pi * wide * high
    air = number("air_C", around.air_C, least=-60, most=60) + KELVIN
    sky = number("sky_C", around.sky_C, least=-120, most=60) + KELVIN
    film = number("film_w_per_m2_K", around.film_w_per_m2_K, above=0)
    radiates = STEFAN_BOLTZMANN * number("emissivity", around.emissivity, least=0, most=1)
    return _Balance(
        number("absorbed_w", around.absorbed_w, least=0), air, film * (top + side),
        radiates * (top + 0.5 * side), radiates * 0.5 * side, sky**4, air**4,
    )  # fmt: skip


def stand_C(around: Surroundings, *, diameter_m: ArrayLike, height_m: ArrayLike) -> Array:  # noqa: N802
    """Temperature at which the water would come to rest [°C] if nothing changed; within 1e-9 K."""
    balance = _balance(around, diameter_m, height_m)
    t = balance.air + 0.0 * balance.gain_w(balance.air)
    for _ in range(12):  # Newton on a convex curve
        t = t + balance.gain_w(t) / balance.slope_w(t, t)
    return t - KELVIN


def time_constant_h(
    water_C: ArrayLike,
    litres: ArrayLike,
    around: Surroundings,
    *,
    diameter_m: ArrayLike,
    height_m: ArrayLike,
    shell_j_per_K: ArrayLike = 0.0,
) -> Array:
    """Hours in which the water comes within 1/e of where it is going, near `water_C`; `litres` > 0."""
    t = number("water_C", water_C, least=-40, most=100) + KELVIN
    holds = WATER_J_PER_L_K * number("litres", litres, above=0) + number(
        "shell_j_per_K", shell_j_per_K, least=0
    )
    return holds / _balance(around, diameter_m, height_m).slope_w(t, t) / 3600.0


def mixed_C(  # noqa: N802
    first_l: ArrayLike, first_C: ArrayLike, second_l: ArrayLike, second_C: ArrayLike
) -> Array:
    """Temperature [°C] of two waters poured together, litres >= 0 and not both nil."""
    a, b = number("first_l", first_l, least=0), number("second_l", second_l, least=0)
    if np.any(a + b <= 0):
        raise ValueError("first_l and second_l are both nil: nothing to mix")
    warm = a * number("first_C", first_C, least=-40, most=100) + b * number(
        "second_C", second_C, least=-40, most=100
    )
    return warm / (a + b)


@dataclass(frozen=True, eq=False, slots=True)
class BucketDays:
    """A run of buckets, [bucket, step] and one more at the end where it is a state at the step's start.

    `water_C`, `water_l` [bucket, step + 1]: states; in an empty bucket the shell's temperature. `drunk_l`,
    `poured_l`, `missed_l` (wanted from a dry bucket) [bucket, step]: sums over the step; a filling comes at
    its start, before `drunk_l`, and its own state does not show. Water adds up: start + poured - drunk = end.
    """

    water_C: Array
    water_l: Array
    drunk_l: Array
    poured_l: Array
    missed_l: Array


def follow(
    around: Surroundings,
    *,
    step_h: float,
    wanted_l: ArrayLike,
    start_l: ArrayLike,
    start_C: ArrayLike,
    diameter_m: ArrayLike,
    height_m: ArrayLike,
    holds_l: ArrayLike,
    shell_j_per_K: ArrayLike = 1000.0,
    poured_l: ArrayLike = 0.0,
    poured_C: ArrayLike = 12.0,
) -> BucketDays:
    """Buckets step by step. Series (`around`, `wanted_l`, `poured_*`) are [step] or [bucket, step]; what
    belongs to the bucket is a scalar or [bucket].

    `wanted_l` >= 0 the birds would drink in each step; `poured_l` >= 0 at its start, no more than fits into
    `holds_l`; `shell_j_per_K` > 0 (0.6 kg of polythene 1140). Each step takes the loss as a straight line
    over the change it makes and solves that exactly, also while the level falls: exact for a linear loss and
    steady inputs whatever the step, within 0.01 K of the full balance at a quarter of an hour.
    """
    hours = float(number("step_h", step_h, above=0, most=24))
    # [bucket] becomes [bucket, 1]: it then stands beside [step] and [bucket, step].
    wide, high, full, shell, litres, at = (
        np.atleast_1d(number(name, value, least=low, most=top))[:, None]
        for name, value, low, top in (
            ("diameter_m", diameter_m, 0.01, 5.0), ("height_m", height_m, 0.01, 5.0),
            ("holds_l", holds_l, 0.01, 1e5), ("shell_j_per_K", shell_j_per_K, 1.0, 1e7),
            ("start_l", start_l, 0.0, 1e5), ("start_C", start_C, -40.0, 100.0),
        )
    )  # fmt: skip
    if np.any(litres > full):
        raise ValueError("start_l is more than holds_l")
    balance = _balance(around, wide, high)
    wanted, poured = number("wanted_l", wanted_l, least=0), number("poured_l", poured_l, least=0)
    fresh = number("poured_C", poured_C, least=-5, most=60) + KELVIN
    series = np.broadcast_arrays(*balance, wanted, poured, fresh)
    buckets, steps = np.broadcast_shapes(series[0].shape, full.shape, shell.shape, litres.shape, at.shape)
    by_step = [np.ascontiguousarray(np.broadcast_to(one, (buckets, steps)).T) for one in series]
    full, shell, litres, kelvin = (
        np.broadcast_to(one, (buckets, 1))[:, 0] for one in (full, shell, litres, at + KELVIN)
    )

    states_C, states_l = np.empty((steps + 1, buckets)), np.empty((steps + 1, buckets))
    drunk, filled, missed = (np.empty((steps, buckets)) for _ in range(3))
    for i in range(steps):
        states_C[i], states_l[i] = kelvin, litres
        now = _Balance(*(one[i] for one in by_step[:7]))
        want, pour, pour_K = (one[i] for one in by_step[7:])
        filled[i] = np.minimum(pour, full - litres)
        heat = WATER_J_PER_L_K * litres + shell
        kelvin = (heat * kelvin + WATER_J_PER_L_K * filled[i] * pour_K) / (heat + WATER_J_PER_L_K * filled[i])
        litres = litres + filled[i]
        drunk[i] = np.minimum(want, litres)
        missed[i] = want - drunk[i]
        heat, litres = WATER_J_PER_L_K * litres + shell, litres - drunk[i]
        left = WATER_J_PER_L_K * litres + shell
        # dT = -T dt / tau(t) with the heat held falling in a straight line: its logarithmic mean is exact.
        falls = (heat - left) / heat
        mean = heat * np.where(falls > 1e-9, falls / -np.log1p(-np.where(falls > 1e-9, falls, 0.5)), 1.0)
        gain, to = now.gain_w(kelvin), kelvin
        for _ in range(2):  # the slope where the step begins, then over what it covers
            slope = now.slope_w(kelvin, to)
            to = kelvin - gain / slope * np.expm1(-slope * hours * 3600.0 / mean)
        kelvin = to
    states_C[steps], states_l[steps] = kelvin, litres
    return BucketDays(states_C.T - KELVIN, states_l.T, drunk.T, filled.T, missed.T)


def hours_above(
    temperature_C: ArrayLike, limit_C: ArrayLike, *, step_h: float, counted: ArrayLike = 1.0
) -> Array:
    """Hours above `limit_C` of a run [..., step + 1] at the ends of steps of `step_h`, straight between them.

    `counted` 0..1 [..., step]: what share of a step counts, so `run.water_l[:, 1:] > 0` leaves out the hours
    of a dry bucket.

    30 °C is where birds drink less, 44 where they refuse (Univ. of Kentucky poultry manual, ch. 12).
    `limit_C` is a scalar or has the shape of the run without its last axis.
    """
    over = number("temperature_C", temperature_C) - number("limit_C", limit_C)[..., None]
    a, b = over[..., :-1], over[..., 1:]
    span = np.where(a == b, 1.0, np.abs(a - b))
    share = np.where(a == b, 1.0 * (a > 0), np.clip(np.maximum(a, b) / span, 0.0, 1.0))
    share = share * number("counted", counted, least=0, most=1)
    hours: Array = share.sum(axis=-1) * float(number("step_h", step_h, above=0))
    return hours


def hours_until_dry(run: BucketDays, *, step_h: float) -> Array:
    """Hours until birds first want water that is not there, [bucket]; infinite where that never comes.

    Within the step the birds are taken to drink evenly.
    """
    hours = float(number("step_h", step_h, above=0))
    dry = run.missed_l > 1e-12
    first = dry.argmax(axis=1)
    rows = np.arange(len(dry))
    drunk, missed = run.drunk_l[rows, first], run.missed_l[rows, first]
    within = drunk / np.where(dry.any(axis=1), drunk + missed, 1.0)
    return np.where(dry.any(axis=1), (first + within) * hours, np.inf)


def frost_free_w(lowest_C: ArrayLike, *, loss_w_per_K: ArrayLike, keep_C: ArrayLike = 2.0) -> Array:
    """Heat that keeps a drinker or bucket from freezing [W]: loss (keep - lowest), nil in milder nights.

    `loss_w_per_K` >= 0: the slope of the balance (`film` times surface and radiation), about 4.5 for a bare
    12 L bucket. Mains beside water and wet litter: see `cautions.ELECTRICITY`.
    """
    below = number("keep_C", keep_C, least=0, most=20) - number("lowest_C", lowest_C, least=-60, most=40)
    return number("loss_w_per_K", loss_w_per_K, least=0) * np.maximum(below, 0.0)
