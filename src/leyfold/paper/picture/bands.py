"""Nine in ten of the seasons tried, for the strips that have them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.draws import Draws

__all__ = ["bands"]

Floats = NDArray[np.float64]
LOW, HIGH = 5.0, 95.0


def bands(draws: Draws | None) -> dict[str, tuple[Floats, Floats]]:
    """[day] 5 and 95 % points by the name of the strip; nothing without draws."""
    if draws is None:
        return {}
    heads = np.zeros((draws.n, draws.days), dtype=np.int32)
    for lot in range(len(draws.lots)):
        heads[:, draws.span(lot)] += draws.cells[draws.at[lot]].T
    values = {"heads": heads, "feed": draws.feed_kg.sum(axis=1), "water": draws.water_l, "eggs": draws.eggs}
    return {name: _points(tried) for name, tried in values.items()}


def _points(tried: NDArray[np.int32] | NDArray[np.float32]) -> tuple[Floats, Floats]:
    low, high = np.percentile(np.asarray(tried, dtype=np.float64), (LOW, HIGH), axis=0)
    return low, high
