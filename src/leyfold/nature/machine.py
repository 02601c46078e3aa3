"""The incubator and the brooder when something goes out. Say `cautions.ELECTRICITY` beside lamps and fuses.

Grades are grades: 0 easy, 1 watch, 2 act, 3 danger; no count of chicks lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "Carries",
    "brooder_carries",
    "chicks_under_lamp",
    "cold_embryo_grade",
    "cooled_C",
    "fuse_amps",
    "hot_embryo_grade",
    "hours_until_cooled",
    "needed_C",
    "settable_share",
    "under_heat",
]


def cooled_C(  # noqa: N802
    hours: ArrayLike, *, room_C: ArrayLike, tau_h: ArrayLike, from_C: ArrayLike = 37.7
) -> Array:
    """Temperature of a shut incubator `hours` >= 0 after the mains went: room + (from - room) e^(-t/tau).

    `tau_h` > 0 from a trial run with water jars; about 3 h for a small box (guess). Newton's cooling. Eggs
    from the second week on make heat of their own and cool more slowly.
    """
    room, at = number("room_C", room_C, least=-40, most=50), number("from_C", from_C, least=0, most=50)
    return room + (at - room) * np.exp(-number("hours", hours, least=0) / number("tau_h", tau_h, above=0))


def hours_until_cooled(
    limit_C: ArrayLike, *, room_C: ArrayLike, tau_h: ArrayLike, from_C: ArrayLike = 37.7
) -> Array:
    """Hours until a shut incubator falls to `limit_C`, the inverse of `cooled_C`: 0 where it starts below,
    infinite where the room is no cooler than the limit."""
    room, at = number("room_C", room_C, least=-40, most=50), number("from_C", from_C, least=0, most=50)
    limit, tau = number("limit_C", limit_C, least=-40, most=50), number("tau_h", tau_h, above=0)
    falls = (room < limit) & (at > limit)
    share = np.where(falls, at - room, 1.0) / np.where(falls, limit - room, 1.0)
    return np.where(falls, tau * np.log(share), np.where(at <= limit, 0.0, np.inf))[()]


# Hours below 32 °C from which it is watch, act, danger, by day of incubation: young, middle, late.
_COLD_HOURS = ((2.0, 12.0, 18.0), (1.0, 6.0, 18.0), (0.5, 4.0, 12.0))


def cold_embryo_grade(hours_cold: ArrayLike, coldest_C: ArrayLike, day: ArrayLike) -> Array:
    """Grade 0..3 of a set that lay under 32 °C for `hours_cold` and fell to `coldest_C`, on `day` 0..22.

    Published: some embryos live through 18 h below 32 °C (90 °F), and briefly 21 °C; hatch often late, and
    down to 40-50 % (Penn State Extension, power outage); below 27 °C growth stands still, and from 27 to 35
    °C it goes on unevenly; frost at -2 °C kills (Lundy 1969, zones of incubation temperature). Young embryos
    bear it longest; near hatch want of air is added: the steps by age (2, 12, 18 h to day 6; 1, 6, 18 to day
    17; half, 4, 12 from 18) are guesses between those. At or under 0 °C always danger. Keep on, and candle
    five days later before throwing anything out.
    """
    hours, low = number("hours_cold", hours_cold, least=0), number("coldest_C", coldest_C, least=-40, most=50)
    age = number("day", day, least=0, most=22)
    stage = np.where(age < 7, 0, np.where(age < 18, 1, 2))
    steps = np.array(_COLD_HOURS)[stage]
    grade = (hours[..., None] >= steps).sum(axis=-1).astype(np.float64)
    return np.where(low <= 0.0, 3.0, np.where(low < 32.0, grade, 0.0))[()]


def hot_embryo_grade(hours: ArrayLike, hottest_C: ArrayLike, day: ArrayLike) -> Array:
    """Grade 0..3 of a set that stood at `hottest_C` for `hours`, on `day` 0..22 of incubation.

    Best 37.2-38.3 °C, borne 36.1-38.9; 40.6 °C (105 °F) for a quarter of an hour harms (Virginia
    Cooperative Extension). Held above 40.5 none hatch; to day 5 a few hours at 41 kill, near hatch 43.5 is
    outlived for some hours (Lundy 1969). Steps: over 38.9 watch from an hour; over 40.5 act from 0.25 h and
    danger from 2 h to day 6, 4 h later (guess); 43.5 and over danger at once.
    """
    h, hot = number("hours", hours, least=0), number("hottest_C", hottest_C, least=-40, most=60)
    age = number("day", day, least=0, most=22)
    kills_h = np.where(age < 7, 2.0, 4.0)
    warm = 1.0 * ((hot > 38.9) & (h >= 1.0))
    over = np.where(hot > 40.5, 2.0 * (h >= 0.25) + 1.0 * (h >= kills_h), 0.0)
    return np.where((hot >= 43.5) & (h > 0), 3.0, np.maximum(warm, over))[()]


def settable_share(hen_age_wk: ArrayLike, *, none_before_wk: ArrayLike, kept_share: ArrayLike) -> Array:
    """Share of eggs fit to set: `kept_share` 0..1 (weight, shell, dirt), none from hens under an age [weeks].

    Common practice: none of the first six weeks of lay, 52 to 68 g, clean and sound.
    """
    age = number("hen_age_wk", hen_age_wk, least=0)
    share = number("kept_share", kept_share, least=0, most=1)
    return np.where(age < number("none_before_wk", none_before_wk, least=0), 0.0, share)[()]


def chicks_under_lamp(
    barn_C: ArrayLike, *, watts: ArrayLike = 250.0, at_10C: ArrayLike = 75.0, per_K: ArrayLike = 1.8
) -> Array:
    """Chicks one heat lamp carries: (75 - 1.8 (10 - barn)) for 250 W, in proportion to `watts` >= 0.

    `barn_C` the coldest of the night, -40 to 40. Above 10 °C held at that of 10, never under nil: the rule is
    a handbook's from 10 down to -10 °C. The chicks' behaviour overrules it.
    """
    short = np.maximum(10.0 - number("barn_C", barn_C, least=-40, most=40), 0.0)
    each = number("at_10C", at_10C, least=0) - number("per_K", per_K, least=0) * short
    return np.maximum(each, 0.0) * number("watts", watts, least=0) / 250.0


HATCH_C, LESS_A_WEEK_K = 35.0, 3.0
"""Warmth under the heat at hatch, and how much less each week: common practice."""


def needed_C(age_d: ArrayLike) -> Array:  # noqa: N802
    """Warmth [°C] that chicks of an age >= 0 [d] look for; their behaviour overrules it."""
    needed: Array = HATCH_C - LESS_A_WEEK_K * number("age_d", age_d, least=0) / 7.0
    return needed


def under_heat(age_d: ArrayLike, barn_C: ArrayLike) -> Array:
    """What part of a day-old a chick counts for under lamps: warmth it lacks over what a day-old lacks."""
    barn = number("barn_C", barn_C, least=-60, most=50)
    part: Array = np.maximum(needed_C(age_d) - barn, 0.0) / np.maximum(HATCH_C - barn, 1.0)
    return part


class Carries(NamedTuple):
    """Chicks a brooder's lamps carry: all burning, the worst one lamp out, the worst one fuse out."""

    all_on: Array
    lamp_out: Array
    fuse_out: Array


def brooder_carries(
    lamps: Sequence[tuple[float, str]],
    barn_C: ArrayLike,
    *,
    at_10C: ArrayLike = 75.0,
    per_K: ArrayLike = 1.8,
) -> Carries:
    """What `lamps`, each (watts, the fuse it hangs on), carry at `barn_C`; shapes as `chicks_under_lamp`'s.

    Lamps that stay keep their own places: chicks can walk over. No lamps carry none.
    """
    all_w = sum(watts for watts, _ in lamps)
    worst_lamp = max((watts for watts, _ in lamps), default=0.0)
    worst_fuse = max(_by_fuse(lamps).values(), default=0.0)
    return Carries(
        *(
            chicks_under_lamp(barn_C, watts=all_w - out, at_10C=at_10C, per_K=per_K)
            for out in (0.0, worst_lamp, worst_fuse)
        )
    )


def fuse_amps(lamps: Sequence[tuple[float, str]], *, volts: float) -> Mapping[str, float]:
    """Current [A] each fuse carries with all its lamps burning at `volts` > 0, nothing else on it."""
    tension = float(number("volts", volts, above=0))
    return {fuse: watts / tension for fuse, watts in _by_fuse(lamps).items()}


def _by_fuse(lamps: Sequence[tuple[float, str]]) -> dict[str, float]:
    watts_on: dict[str, float] = {}
    for watts, fuse in lamps:
        watts_on[fuse] = watts_on.get(fuse, 0.0) + float(number("watts", watts, least=0))
    return watts_on
