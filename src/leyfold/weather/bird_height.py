"""How much colder it gets where the birds lie: the start figure, moved by the farm's own thermometer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from leyfold.nouns.figure import Figure
from leyfold.words import say

__all__ = ["STRENGTH_NIGHTS", "Night", "refit"]

STRENGTH_NIGHTS = 10.0
"""The start figure weighs as ten clear calm nights: twenty of one's own outweigh it two to one."""
LEAST_WEIGHT = 0.05


@dataclass(frozen=True, slots=True)
class Night:
    """The station's least temperature less the bird-height thermometer's [K], and how open the night was to
    cooling, 0..1: (1 - wind / calm) (1 - cloud), the share of the deepest correction it can show."""

    depth_K: float
    openness: float


def refit(start: Figure, nights: Iterable[Night]) -> Figure:
    """The depth of a wholly clear and calm night [K], held within 0..15.

    Least squares of depth = deepest x openness with the start figure as `STRENGTH_NIGHTS` whole nights:
    (n0 d0 + sum o x) / (n0 + sum o^2). Nights that cloud or wind hid teach nothing and are not counted.
    """
    seen = [n for n in nights if n.openness >= LEAST_WEIGHT]
    if not seen:
        return start
    o = np.array([n.openness for n in seen])
    x = np.array([n.depth_K for n in seen])
    value = (STRENGTH_NIGHTS * start.value + float(o @ x)) / (STRENGTH_NIGHTS + float(o @ o))
    source = say("weather.own_thermometer", n=len(seen), start=f"{start.value:g}")
    return Figure(min(max(value, 0.0), 15.0), start.unit, source, "records", len(seen))
