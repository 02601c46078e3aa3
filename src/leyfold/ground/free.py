"""Where a strip of given width runs free: exact, by edges, without any clipping of polygons.

The ground is turned so that strips run along +x. A strip covering [v, v + W] across the field is free at x
when no edge enters it there and its middle is inside. Each edge that enters it blocks the x-range of
its part within the strip; what is left between the blocked ranges is inside or outside by parity.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["TOUCH_M", "Cut", "Edges", "Runs", "free_runs", "shortened"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

TOUCH_M = 1e-6
"""Two edges nearer than this touch: a micrometre, far above rounding and far below a spade."""


@dataclass(frozen=True, eq=False, slots=True)
class Edges:
    """Edges of all rings, each as (n,) start and end in metres."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats

    def below_m2(self, levels_m: Floats) -> Floats:
        """Area of the ground below each level of y, by the sum of x dy over the clipped edges."""
        y0, y1 = self.y0[:, None], self.y1[:, None]
        rise = y1 - y0
        a, b = np.minimum(y0, levels_m), np.minimum(y1, levels_m)
        per = np.where(rise == 0, 0.0, (self.x1 - self.x0)[:, None] / np.where(rise == 0, 1.0, rise))
        middle = self.x0[:, None] + ((a + b) / 2 - y0) * per
        area: Floats = (middle * (b - a)).sum(axis=0)
        return area

    def turned(self, angle_rad: float) -> Edges:
        """Turned so that `angle_rad` becomes +x."""
        c, s = np.cos(angle_rad), np.sin(angle_rad)
        return Edges(
            c * self.x0 + s * self.y0,
            c * self.y0 - s * self.x0,
            c * self.x1 + s * self.y1,
            c * self.y1 - s * self.x1,
        )


@dataclass(frozen=True, eq=False, slots=True)
class Runs:
    """Free runs: row `at[i]` of the offsets asked for is free from `first_m[i]` to `last_m[i]`."""

    at: Ints
    first_m: Floats
    last_m: Floats


@dataclass(frozen=True, slots=True)
class Cut:
    """Keeps the ground on the left of a line: points p with p . (-sin a, cos a) >= `from_m`."""

    angle_rad: float
    from_m: float


def shortened(runs: Runs, offsets_m: Floats, width_m: float, cut: Cut) -> Runs:
    """Runs shortened so that the strip's whole width is kept by `cut`, its angle taken from the strips'."""
    s, c = np.sin(cut.angle_rad), np.cos(cut.angle_rad)
    v = offsets_m[runs.at]
    worst = np.minimum(v * c, (v + width_m) * c)  # of the strip's two sides, the one that leaves first
    first, last = runs.first_m, runs.last_m
    if s < -1e-12:
        first = np.maximum(first, (cut.from_m - worst) / -s)
    elif s > 1e-12:
        last = np.minimum(last, (worst - cut.from_m) / s)
    else:
        last = np.where(worst >= cut.from_m - TOUCH_M, last, first)
    keep = last - first > TOUCH_M
    return Runs(runs.at[keep], first[keep], last[keep])


def free_runs(edges: Edges, offsets_m: Floats, width_m: float) -> Runs:
    """Free runs of a strip of `width_m` at each of the ascending offsets (its lower side).

    Offsets where nothing is free give no run. Touching an edge is allowed. O(pairs log pairs) where a pair
    is an edge and a strip it enters.
    """
    low, high = np.minimum(edges.y0, edges.y1), np.maximum(edges.y0, edges.y1)
    start = np.searchsorted(offsets_m, low - width_m + TOUCH_M, side="right")
    stop = np.searchsorted(offsets_m, high - TOUCH_M, side="left")
    many = np.maximum(stop - start, 0)
    edge = np.repeat(np.arange(len(many)), many)
    row = np.arange(edge.size) - np.repeat(np.cumsum(many) - many, many) + start[edge]
    v = offsets_m[row]

    x0, y0, x1, y1 = edges.x0[edge], edges.y0[edge], edges.x1[edge], edges.y1[edge]
    rise = y1 - y0
    level = np.abs(rise) < 1e-12
    per = np.where(level, 0.0, (x1 - x0) / np.where(level, 1.0, rise))
    xa = np.where(level, x0, x0 + (np.clip(y0, v, v + width_m) - y0) * per)
    xb = np.where(level, x1, x0 + (np.clip(y1, v, v + width_m) - y0) * per)
    lo, hi = np.minimum(xa, xb), np.maximum(xa, xb)
    middle = v + width_m / 2
    crosses = (y0 <= middle) != (y1 <= middle)

    if row.size < 2:
        none = np.empty(0)
        return Runs(np.empty(0, np.intp), none, none)
    # One sorting and one running maximum serve all rows: each is shifted beyond the reach of the one before.
    shift = row * (hi.max() - lo.min() + 1.0)
    order = np.argsort(lo + shift)
    row, lo, hi, crosses, shift = row[order], lo[order], hi[order], crosses[order], shift[order]
    reach = np.maximum.accumulate(hi + shift) - shift
    inside = np.cumsum(crosses) % 2 == 1  # every row crosses an even number of edges, so one sum serves all
    gap = (row[1:] == row[:-1]) & inside[:-1] & (lo[1:] - reach[:-1] > TOUCH_M)
    i = np.flatnonzero(gap)
    return Runs(row[i], reach[i], lo[i + 1])
