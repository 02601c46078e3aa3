"""How own counts take over from a start value: the mean of the conjugate posterior, each in one line.

A start value of strength k weighs as much as k counts of the farm's own. No counts leave it as it is, and the
more of them, the nearer the answer to what they say.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["concentration", "effective", "gamma_factor", "rate", "spread"]

Floats = NDArray[np.float64]


def effective(number: float, steady: float) -> float:
    """What `number` > 0 birds or eggs of one batch, which share its luck, count for: n/(1 + (n - 1)r).

    `steady` > 0 is the concentration a + b of the beta-binomial, r = 1/(steady + 1) the correlation of two of
    a batch. Never below 1 nor above `steady` + 1. The design effect of cluster sampling (Kish 1965).
    """
    return number / (1.0 + (number - 1.0) / (steady + 1.0)) if number > 1.0 else number


def rate(prior: float, strength: float, hits: float, trials: float) -> float:
    """Mean of Beta(prior k + hits, (1 - prior) k + trials - hits), held to 1 where hits pass the trials."""
    return min((prior * strength + hits) / (strength + trials), 1.0)


def gamma_factor(strength: float, seen: float, expected: float) -> float:
    """Mean of Gamma(k + seen, k + expected): by what to multiply what was expected, 1 before any count."""
    return (strength + seen) / (strength + expected)


def spread(prior: float, strength: float, squares: float, freedom: float) -> float:
    """Scale of the inverse chi-square posterior of a standard deviation: `prior` counts as `strength`
    degrees of freedom beside the `squares` summed on `freedom` of them."""
    return float(np.sqrt((strength * prior**2 + squares) / (strength + freedom)))


def concentration(
    prior: float, strength: float, hits: Sequence[float], trials: Sequence[float], chance: Sequence[float]
) -> float:
    """The concentration of batches with `hits` of `trials`, where `chance` in (0, 1) was due to each.

    By moments: Pearson's X2 of the batches is on average k - 1 + r sum (n - 1)(1 - n/N), with the correlation
    r = 1/(concentration + 1) held to 0..1; it is then shrunk as the start value weighs `strength` batches and
    the records k - 1. Needs two batches or more of two or more. Source of the moments: Williams 1982, Applied
    Statistics 31:144-148.
    """
    y, n, p = (np.asarray(x, dtype=np.float64) for x in (hits, trials, chance))
    pearson = float(np.sum((y - n * p) ** 2 / (n * p * (1.0 - p))))
    free = len(n) - 1
    room = float(np.sum((n - 1.0) * (1.0 - n / n.sum())))
    seen = min(max((pearson - free) / room, 0.0), 1.0)
    r = (strength / (prior + 1.0) + free * seen) / (strength + free)
    return max(1.0 / r - 1.0, 1.0)
