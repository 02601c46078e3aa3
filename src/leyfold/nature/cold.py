"""Cold nights: how much of them a group of birds can bear.

What is graded here is graded, never a forecast of deaths: 0 easy, 1 watch, 2 act, 3 danger, with the reasons.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number
from leyfold.nature.heat import lower_critical_temperature_meltzer_1983_C

__all__ = [
    "GRADES",
    "Cold",
    "ColdRule",
    "Reason",
    "cold_reasons",
    "cold_risk",
    "huddle_saving",
    "huddled_critical_C",
    "pile_risk",
    "soaked_limit_C",
]

GRADES = ("easy", "watch", "act", "danger")


def huddle_saving(heads: ArrayLike, *, most: ArrayLike = 0.42) -> Array:
    """Share of heat saved by lying together, of `heads` >= 1: most (1 - 1/n).

    Two save 21 % (a pair of small passerines at 20 °C, Auk 1982, 99:424), many 42 % (mean of small
    mammals, Canals et al. 1997); measured over species 6 to 53 % (Gilbert et al. 2010). For chicks a guess.
    """
    return number("most", most, least=0, below=1) * (1.0 - 1.0 / number("heads", heads, least=1))


def huddled_critical_C(  # noqa: N802
    critical_C: ArrayLike, saving: ArrayLike, *, body_C: ArrayLike = 41.2
) -> Array:
    """Lower critical temperature [°C] of birds that save heat: body - (body - alone) / (1 - saving).

    Heat loss in proportion to body less air (Scholander et al. 1950). `saving` 0 to under 1.
    """
    alone, body = (
        number("critical_C", critical_C, least=-40, most=40),
        number("body_C", body_C, least=38, most=43),
    )
    return body - (body - alone) / (1.0 - number("saving", saving, least=0, below=1))


_SOAKED_D = (10.5, 15.5, 25.0)
_SOAKED_C = (25.0, 5.0, 5.0)


def soaked_limit_C(age_d: ArrayLike) -> Array:  # noqa: N802
    """Air [°C] under which wet chicks lose heat faster than they make it, by age; -60 from 25 days.

    25 up to 10.5 d and 5 from 15.5 d, straight between. Source: Marjoniemi et al. 1995, wet galliform chicks:
    full heat production reached at 25 °C when 10-11 d old, at 5 °C from 15-16 d, and 5 °C shunned until 25 d.
    """
    age = number("age_d", age_d, least=0)
    return np.where(age < _SOAKED_D[-1], np.interp(age, _SOAKED_D, _SOAKED_C), -60.0)[()]


class ColdRule(NamedTuple):
    """Figures of the cold risk; all guesses of the trade until the farm's own nights replace them.

    A dry, bedded, usual-sized group out of the wind bears `floor_C` at `age_d` (straight between, level
    beyond). `bare_or_wet_K` is added where there is no dry litter or it is wet, `wind_K_per_m_per_s` for each
    m/s at the birds up to `wind_most_K`, and in groups under `usual_heads` what their huddle lacks. Watch
    from `watch_K` over that floor, act from the floor down, danger from `danger_K` under it.
    """

    age_d: tuple[float, ...]
    floor_C: tuple[float, ...]
    bare_or_wet_K: float
    wind_K_per_m_per_s: float
    wind_most_K: float
    usual_heads: float
    watch_K: float
    danger_K: float


class Cold(NamedTuple):
    """Grade 0..3 (GRADES) and why: the floor by age, what is added to it [K], `margin_K` the air over the
    sum, `soaked` 1 where a wet chick of that age cannot keep warm whatever the floor says."""

    grade: Array
    margin_K: Array
    age_floor_C: Array
    bare_or_wet_K: Array
    wind_K: Array
    few_K: Array
    soaked: Array

    @property
    def floor_C(self) -> Array:  # noqa: N802
        """The coldest air this group bears as it stands tonight."""
        return self.age_floor_C + self.bare_or_wet_K + self.wind_K + self.few_K


def cold_risk(
    bird_height_C: ArrayLike,
    age_d: ArrayLike,
    *,
    heads: ArrayLike,
    bedded: ArrayLike,
    wet: ArrayLike,
    wind_m_per_s: ArrayLike,
    rule: ColdRule,
) -> Cold:
    """The graded risk of cold for groups: air at the birds, age >= 0, heads >= 1, dry litter and wet each 0
    or 1, wind at the birds >= 0 (not the station's: `air.wind_at_m_per_s`, less what walls stop). Broadcasts.

    Never falls when it is colder, wetter, windier, less bedded, the birds younger or fewer.
    """
    air = number("bird_height_C", bird_height_C, least=-60, most=60)
    age, n = number("age_d", age_d, least=0), number("heads", heads, least=1)
    is_bedded, is_wet = number("bedded", bedded, least=0, most=1), number("wet", wet, least=0, most=1)
    wind = number("wind_m_per_s", wind_m_per_s, least=0)

    by_age: Array = np.interp(age, rule.age_d, rule.floor_C)
    bare = rule.bare_or_wet_K * np.maximum(1.0 - is_bedded, is_wet)
    blown = np.minimum(rule.wind_K_per_m_per_s * wind, rule.wind_most_K)
    # Grown past the rule's last age a bird bears no less, so what its huddle lacks grows no further either.
    alone = lower_critical_temperature_meltzer_1983_C(np.minimum(age, min(70.0, rule.age_d[-1])))
    usual = huddled_critical_C(alone, huddle_saving(rule.usual_heads))
    few = huddled_critical_C(alone, huddle_saving(n)) - usual
    few = np.maximum(few, 0.0)
    margin = air - (by_age + bare + blown + few)
    soaked = 1.0 * ((is_wet > 0) & (air < soaked_limit_C(age)))
    grade = 1.0 * (margin < rule.watch_K) + 1.0 * (margin < 0) + 1.0 * (margin < -rule.danger_K)
    every = np.broadcast_arrays(np.maximum(grade, 3.0 * soaked), margin, by_age, bare, blown, few, soaked)
    return Cold(*(one[()] for one in every))


class Reason(NamedTuple):
    """One reason of a grade: what (`young`, `bare_or_wet`, `windy`, `few`, `soaked`) and how many K of it."""

    what: str
    by: float


def cold_reasons(cold: Cold) -> tuple[Reason, ...]:
    """What raises the floor of one group (scalars), the heaviest first; `young` by the floor of its age over
    that of full feather is always said. `soaked` stands first where it decides."""
    added = [
        Reason("bare_or_wet", float(cold.bare_or_wet_K)),
        Reason("windy", float(cold.wind_K)),
        Reason("few", float(cold.few_K)),
    ]
    ranked = sorted((r for r in added if r.by > 0), key=lambda r: -r.by)
    soaked = (Reason("soaked", float(cold.soaked)),) if cold.soaked > 0 else ()
    return (*soaked, Reason("young", float(cold.age_floor_C)), *ranked)


def pile_risk(
    heads: ArrayLike,
    margin_K: ArrayLike,
    *,
    settled: ArrayLike,
    easy_heads: ArrayLike,
    many_heads: ArrayLike,
) -> Array:
    """Grade 0..3 of birds piling on each other tonight.

    Pressure: one each for air under the group's floor (`margin_K` of `cold_risk` < 0), for 5 K under it,
    and for birds not `settled` (0 or 1: moved, sorted or joined today). Without pressure 0; up to
    `easy_heads` one grade less than pressure, up to `many_heads` as much, above one more. Guess: no chance of
    piling by group size is published; rounded corners, straw and a sheeted windward end are the mend.
    """
    n, margin = number("heads", heads, least=0), number("margin_K", margin_K)
    easy, many = number("easy_heads", easy_heads, least=0), number("many_heads", many_heads, least=0)
    calm = number("settled", settled, least=0, most=1)
    pressure = 1.0 * (margin < 0) + 1.0 * (margin < -5.0) + 1.0 * (calm < 1)
    crowd = 1.0 * (n > easy) + 1.0 * (n > many) - 1.0
    return np.where((pressure > 0) & (n >= 2), np.clip(pressure + crowd, 0.0, 3.0), 0.0)[()]
