"""Birds lost: constant daily rates within stages."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["alive_share", "daily_survival", "eu_2007_43_ceiling_share", "lost_over"]


def daily_survival(stage_survival: ArrayLike, stage_days: ArrayLike) -> Array:
    """Share of birds that live through each day, when `stage_survival` live through `stage_days`: S^(1/days).

    0 < `stage_survival` <= 1, `stage_days` > 0; broadcasts.
    """
    survival = number("stage_survival", stage_survival, above=0, most=1)
    return survival ** (1.0 / number("stage_days", stage_days, above=0))


def lost_over(lost_share: ArrayLike, days: ArrayLike, *, over_d: ArrayLike) -> Array:
    """The share lost in `over_d` days when `lost_share` is lost in `days`, at one constant hazard.

    1 - (1 - lost)^(over / days). 0 <= `lost_share` < 1, `days` > 0, `over_d` >= 0; broadcasts.
    """
    lost = number("lost_share", lost_share, least=0, below=1)
    return 1.0 - (1.0 - lost) ** (number("over_d", over_d, least=0) / number("days", days, above=0))


def alive_share(age_d: ArrayLike, *, ends_d: Sequence[ArrayLike], survivals: Sequence[ArrayLike]) -> Array:
    """Share of the hatched alive at the start of day `age_d` >= 0.

    Stage i runs from the end before it (the first from hatch) up to `ends_d[i]` >= 0 days; `survivals[i]`,
    in (0, 1], of those that enter it are alive at its end, lost at one constant daily rate. Ends must not
    fall; a stage of no length loses nobody, whatever its survival. Past the last end the rate of the last
    stage with a length goes on; with none, nobody dies. The two sequences are of one length; their members
    are scalars or arrays that broadcast with `age_d`, so each lot of [lot, day] may have its own stages.
    """
    age = number("age_d", age_d, least=0)
    if len(ends_d) != len(survivals):
        raise ValueError(f"{len(ends_d)} stage ends for {len(survivals)} survivals")
    start: Array = np.zeros(())
    log_alive: Array = np.zeros_like(age)
    rate: Array = np.zeros(())
    for i, (an_end, a_survival) in enumerate(zip(ends_d, survivals, strict=True)):
        end = number(f"ends_d[{i}]", an_end, least=0)
        survival = number(f"survivals[{i}]", a_survival, above=0, most=1)
        length = end - start
        if np.any(length < 0):
            raise ValueError(f"ends_d[{i}] falls before the stage begins")
        rate = np.where(length > 0, np.log(survival) / np.where(length > 0, length, 1.0), rate)
        log_alive = log_alive + rate * np.clip(age - start, 0.0, length)
        start = end
    return np.exp(log_alive + rate * np.maximum(age - start, 0.0))


def eu_2007_43_ceiling_share(age_d: ArrayLike) -> Array:
    """Cumulative daily mortality a meat flock must stay under for the densest stocking: 1 % + 0.06 % a day.

    `age_d` >= 0 at slaughter. Source: Council Directive 2007/43/EC, Annex V (from memory). A yardstick, not
    a forecast.
    """
    return 0.01 + 0.0006 * number("age_d", age_d, least=0)
