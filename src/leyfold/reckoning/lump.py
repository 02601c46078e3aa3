"""An amount of one thing for one batch and class."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.reckoning import Class

__all__ = ["Lump"]


@dataclass(frozen=True, slots=True, eq=False)
class Lump:
    """`amount` [day] of what `rate` prices."""

    rate: str
    batch: str
    kind: Class
    amount: NDArray[np.float64]
