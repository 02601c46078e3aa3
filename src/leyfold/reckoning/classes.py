"""Weight classes of carcasses from a slice of a flock's weights."""

from __future__ import annotations

from math import erfc, inf, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leyfold.nouns.farm import Farm

__all__ = ["bounds", "shares"]

Floats = NDArray[np.float64]

NARROW = 1e-9
"""Birds all of one weight are taken as spread by so little that it changes nothing."""
_NORMAL = NormalDist()
_BELOW = np.frompyfunc(lambda z: erfc(-z / sqrt(2.0)) / 2.0, 1, 1)
"""The share of a normal spread that lies below each of `z` deviates."""


def bounds(farm: Farm) -> Floats:
    """[class + 2] kg: below the first class, the classes by rising weight, and no end."""
    return np.array([0.0, *(c.least_kg for c in farm.weight_classes), np.inf])


def shares(mean_kg: ArrayLike, cv: float, slice_: tuple[float, float], edges: Floats) -> Floats:
    """[..., class] shares by class of carcasses whose flock has a mean of `mean_kg` > 0 [...] and a spread of
    `cv` >= 0, and which are those between two shares of it, counted from the heaviest: 0 <= slice_[0] <
    slice_[1] <= 1. `edges` [class + 1] kg, rising, the first 0 and the last infinite. Sums to 1.

    Normal weights cut at two quantiles, as `season.drafts` has them.
    """
    upper, lower = slice_
    if not 0.0 <= upper < lower <= 1.0:
        raise ValueError("a slice runs from a lesser share to a greater one, within 0..1")
    heaviest, lightest = _above(upper), _above(lower)
    mean = np.asarray(mean_kg, dtype=np.float64)[..., None]
    with np.errstate(over="ignore"):
        z = (edges / mean - 1.0) / max(cv, NARROW)
    z[..., 0] = -np.inf
    held = np.clip(z, lightest, heaviest)
    parts = np.diff(_BELOW(held).astype(np.float64), axis=-1) / (lower - upper)
    found: Floats = np.clip(parts, 0.0, None)
    whole: Floats = found / found.sum(axis=-1, keepdims=True)
    return whole


def _above(share: float) -> float:
    """The deviate above which a share of a normal spread lies."""
    below = 1.0 - share
    return _NORMAL.inv_cdf(below) if 0.0 < below < 1.0 else inf if below >= 1.0 else -inf
