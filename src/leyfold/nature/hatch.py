"""From eggs kept to chicks hatched."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "EggFate",
    "chick_weight_g",
    "chicks",
    "egg_weight_on_day",
    "fate_kuurman_2001",
    "projected_loss_share",
    "storage_factor",
]


def storage_factor(
    stored_d: ArrayLike, *, free_d: float, loss_per_d: float, late_from_d: float, late_loss_per_d: float
) -> Array:
    """Hatch of a set over that of fresh eggs, when its eggs were gathered evenly over the days before it.

    The set holds as many eggs of 0, 1, .. `stored_d` days; the factor is the mean over them of 1 - loss.
    An egg of a days loses `loss_per_d` of the hatch for each day over `free_d`, and `late_loss_per_d` instead
    for each day over `late_from_d` >= `free_d`, never more than all. `stored_d` whole days 0..60, any shape;
    the rest scalars >= 0. Published: no fall to 3-6 days, then about 0.5-1 % a day after the seventh
    (hatchery manuals; Meijerhof 1992 review); the steeper later loss is common practice.
    """
    days = number("stored_d", stored_d, least=0, most=60)
    whole = days.astype(np.int64)
    if np.any(whole != days):
        raise ValueError("stored_d must be whole days")
    free = number("free_d", free_d, least=0)
    late_from = number("late_from_d", late_from_d, least=0)
    if late_from < free:
        raise ValueError("late_from_d must not be before free_d")
    age = np.arange(61.0)
    loss = number("loss_per_d", loss_per_d, least=0) * np.clip(age - free, 0.0, late_from - free)
    loss = loss + number("late_loss_per_d", late_loss_per_d, least=0) * np.maximum(age - late_from, 0.0)
    mean = np.cumsum(np.maximum(1.0 - loss, 0.0)) / (age + 1.0)
    return np.asarray(mean[whole])[()]


def chicks(
    eggs: ArrayLike, *, fertility: ArrayLike, hatch_of_fertile: ArrayLike, storage: ArrayLike = 1.0
) -> Array:
    """Chicks expected: eggs set * fertility * hatch of fertile * storage factor.

    `eggs` >= 0, the shares within 0..1; broadcasts. Stays fractional: it is an expectation.
    """
    share = number("fertility", fertility, least=0, most=1) * number(
        "hatch_of_fertile", hatch_of_fertile, least=0, most=1
    )
    return number("eggs", eggs, least=0) * share * number("storage", storage, least=0, most=1)


_EGG_G = np.array([50.0, 56.0, 63.0, 68.0, 70.0])
_CHICK_G = np.array([35.0, 40.0, 43.0, 45.0, 47.0])


def chick_weight_g(egg_weight_g: ArrayLike) -> Array:
    """Weight of the chick at hatch [g] by the weight of its egg when set, 50 to 70 g, by straight lines.

    50, 56, 63, 68, 70 g eggs give 35, 40, 43, 45, 47 g chicks. Outside the table: ValueError.
    Source: University of Florida IFAS Extension VM099, meat breeders (its ratio 65-72 %).
    """
    chick: Array = np.interp(number("egg_weight_g", egg_weight_g, least=50, most=70), _EGG_G, _CHICK_G)
    return chick


def projected_loss_share(
    weight_start: ArrayLike, weight_now: ArrayLike, day: ArrayLike, at_day: ArrayLike = 18.0
) -> Array:
    """Share of its weight an egg (or tray) will have lost by `at_day`, going on as up to `day`.

    (1 - now/start) at_day/day: loss is even over incubation. Weights in one unit, 0 < now <= start; `day`
    > 0 of incubation; `at_day` >= 0. Broadcasts. Published aim 11-12 % by day 18.
    """
    start = number("weight_start", weight_start, above=0)
    now = number("weight_now", weight_now, above=0)
    if np.any(now > start):
        raise ValueError("weight_now is above weight_start: an egg cannot gain")
    return (1.0 - now / start) * number("at_day", at_day, least=0) / number("day", day, above=0)


def egg_weight_on_day(weight_start: ArrayLike, day: ArrayLike, *, loss_share_per_d: ArrayLike) -> Array:
    """Weight of an egg on `day` 0..18 of incubation: start * (1 - loss a day * day), in the unit of start.

    `loss_share_per_d` 0..0.02 of the first weight a day; published 0.5-0.6 % to day 18, 11.5 % in all.
    """
    lost = number("loss_share_per_d", loss_share_per_d, least=0, most=0.02)
    return number("weight_start", weight_start, above=0) * (1.0 - lost * number("day", day, least=0, most=18))


class EggFate(NamedTuple):
    """Shares of the eggs set, adding up to one."""

    clear: Array
    alive: Array
    dead: Array


# Shares of the eggs set that were clear, and that died; of those deaths, share in each phase, and the Weibull
# shape and scale [d] that give the published mean and SD of its day: 2.6 ± 3.3 and 17.4 ± 2.0.
_CLEAR, _DEAD = 0.213, 0.086
_PHASES = ((0.77, 0.79492, 2.28428), (0.23, 10.4947, 18.2530))


def fate_kuurman_2001(day: ArrayLike) -> EggFate:
    """What has become of the eggs of a set by `day` 0..21 of incubation: clear, alive, dead.

    A comparison, not a forecast for other stock: 21.3 % were clear, 8.6 % died, 70.1 % lived (89.1 % of the
    fertile). The day of death is a mixture of two Weibull distributions (77 %: mean 2.6 d, SD 3.3; 23 %: mean
    17.4, SD 2.0), their shapes solved here from those means and SDs; the last half per cent of
    the deaths falls past day 21. Source: Kuurman et al. 2001, Poult. Sci. 80:710 (11,254 unhatched eggs).
    """
    at = number("day", day, least=0, most=21)
    done = sum(share * -np.expm1(-((at / scale) ** shape)) for share, shape, scale in _PHASES)
    dead = np.asarray(_DEAD * done)[()]
    return EggFate(np.full_like(at, _CLEAR)[()], 1.0 - _CLEAR - dead, dead)
