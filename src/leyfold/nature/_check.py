"""The one gate through which numbers enter the equations."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Array", "number"]

Array = NDArray[np.float64]


def number(
    name: str,
    value: ArrayLike,
    *,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
    below: float | None = None,
) -> Array:
    """`value` as float64. ValueError, naming it, when any of it is NaN, infinite or out of bounds.

    `least` and `most` are allowed themselves, `above` and `below` are not.
    """
    array = np.asarray(value, dtype=np.float64)
    if array.size == 0:
        return array
    # NaN passes through min and max, and compares false: two reductions see everything. A reduction costs
    # more than the rest together where there is one number.
    low, high = (array, array) if array.ndim == 0 else (array.min(), array.max())
    if not (math.isfinite(low) and math.isfinite(high)):
        raise ValueError(f"{name} holds a value that is missing or infinite")
    if least is not None and low < least:
        raise ValueError(f"{name} must be at least {least:g}, got {low:g}")
    if above is not None and low <= above:
        raise ValueError(f"{name} must be above {above:g}, got {low:g}")
    if most is not None and high > most:
        raise ValueError(f"{name} must be at most {most:g}, got {high:g}")
    if below is not None and high >= below:
        raise ValueError(f"{name} must be below {below:g}, got {high:g}")
    return array
