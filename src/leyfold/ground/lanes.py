"""One direction -> the lanes to work: which offsets across the ground hold the most stands.

Every offset has a worth, its stands less a charge for each strip begun. Lanes may not overlap, so the best
set is a weighted choice of intervals of equal width, exact by dynamic programming over the offsets tried.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leyfold.ground.free import TOUCH_M, Cut, Edges, Runs, free_runs, shortened
from leyfold.nouns.land import Footprint

__all__ = ["TURN", "Lanes", "abreast", "best_lanes", "fixed_lanes", "prefixes"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

TURN = 0.25
"""Stands one would give up to save a turn. Guess: four turns' work against one stand."""


@dataclass(frozen=True, eq=False, slots=True)
class Lanes:
    """The best lanes in one direction. Run i lies in lane `lower_m[i]`, packed from `first_m[i]`.

    Frame: the ground turned so that `angle_rad` is +x. `stands[i]` >= 1 stands fit in run i, `slack_m[i]`
    is left over. `turn`: stands charged for each strip begun.
    """

    angle_rad: float
    lower_m: Floats
    first_m: Floats
    stands: Ints
    slack_m: Floats
    turn: float

    @property
    def count(self) -> int:
        return int(self.stands.sum())

    @property
    def worth(self) -> float:
        """Stands, less what the turns cost."""
        return self.count - self.turn * self.stands.size


def whole(runs: Runs, length_m: float) -> Ints:
    """Whole stands that fit in each run."""
    return np.floor((runs.last_m - runs.first_m + TOUCH_M) / length_m).astype(np.intp)


def offsets(turned: Edges, width_m: float, step_m: float, *, corners: bool) -> Floats:
    """Lower sides of lanes to try, ascending: a comb from the lowest side.

    `corners`: a comb from the highest side too, and lanes that touch a corner.
    """
    lowest, highest = float(turned.y0.min()), float(turned.y0.max()) - width_m
    if highest < lowest - TOUCH_M:
        return np.empty(0)
    comb = np.arange(int((highest - lowest) / step_m + 1e-9) + 1) * step_m
    if not corners:
        return np.asarray(lowest + comb)
    teeth = [lowest + comb, highest - comb, turned.y0, turned.y0 - width_m]
    v = np.sort(np.concatenate(teeth))
    v = v[(v >= lowest - TOUCH_M) & (v <= highest + TOUCH_M)]
    apart = np.concatenate(([True], np.diff(v) > TOUCH_M / 10))
    return v[apart]


def chosen(offsets_m: Floats, worth: Floats, width_m: float) -> tuple[Floats, NDArray[np.bool_], Ints]:
    """Best total worth of lanes among the first i offsets; whether offset i is taken; where to go back to."""
    back = np.searchsorted(offsets_m, offsets_m - width_m + TOUCH_M, side="right")
    best = [0.0]
    top, add = 0.0, best.append
    for own, before in zip(worth.tolist(), back.tolist(), strict=True):
        with_it = own + best[before]
        if with_it > top + 1e-9:
            top = with_it
        add(top)
    totals = np.array(best)
    return totals, np.diff(totals) > 0, back


def walked_back(take: NDArray[np.bool_], back: Ints, upto: int) -> list[int]:
    """The offsets taken among the first `upto`."""
    last_taken = np.maximum.accumulate(np.where(take, np.arange(take.size), -1))
    i, got = upto, []
    while i > 0 and (taken := int(last_taken[i - 1])) >= 0:
        got.append(taken)
        i = int(back[taken])
    return got[::-1]


def prefixes(
    edges: Edges, angle_rad: float, footprint: Footprint, step_m: float, turn: float = TURN
) -> tuple[Floats, Floats]:
    """Levels across the ground, and the worth of the best lanes that lie wholly below each."""
    turned = edges.turned(angle_rad)
    v = offsets(turned, footprint.width_m, step_m, corners=False)
    runs = free_runs(turned, v, footprint.width_m)
    stands = whole(runs, footprint.length_m)
    worth = np.bincount(runs.at, stands - turn * (stands > 0), minlength=v.size).astype(np.float64)
    best, _, _ = chosen(v, worth, footprint.width_m)
    return v + footprint.width_m, best[1:]


def best_lanes(
    edges: Edges,
    angle_rad: float,
    footprint: Footprint,
    step_m: float,
    *,
    cuts: tuple[Cut, ...] = (),
    corners: bool = False,
    turn: float = TURN,
) -> Lanes:
    """The lanes of most worth in one direction, every run that the cuts leave counted."""
    turned = edges.turned(angle_rad)
    v = offsets(turned, footprint.width_m, step_m, corners=corners)
    runs = free_runs(turned, v, footprint.width_m)
    for cut in cuts:
        runs = shortened(runs, v, footprint.width_m, Cut(cut.angle_rad - angle_rad, cut.from_m))
    stands = whole(runs, footprint.length_m)
    worth = np.bincount(runs.at, stands - turn * (stands > 0), minlength=v.size).astype(np.float64)
    _, take, back = chosen(v, worth, footprint.width_m)
    return picked(angle_rad, v, runs, stands, walked_back(take, back, v.size), footprint, turn)


def picked(
    angle_rad: float, v: Floats, runs: Runs, stands: Ints, got: list[int], footprint: Footprint, turn: float
) -> Lanes:
    """The runs of the offsets taken, those that hold no stand left out."""
    taken = np.zeros(v.size, dtype=np.bool_)
    taken[got] = True
    keep = taken[runs.at] & (stands > 0)
    first, last, n = runs.first_m[keep], runs.last_m[keep], stands[keep]
    slack = np.maximum(last - first - n * footprint.length_m, 0.0)
    return Lanes(angle_rad, v[runs.at[keep]], first, n, slack, turn)


def abreast(lanes: Lanes, length_m: float) -> Lanes:
    """The same runs, each slid within its slack so that the stands of most lanes lie in rows."""

    def wait(phase: float) -> Floats:
        return np.asarray(np.round((phase - lanes.first_m) % length_m, 9) % length_m)

    if lanes.first_m.size == 0:
        return lanes
    phases = np.unique(np.round(lanes.first_m % length_m, 9))
    phase = max(phases.tolist(), key=lambda p: int((wait(p) <= lanes.slack_m).sum()))
    w = wait(phase)
    nearest = np.where(length_m - w < w - lanes.slack_m, 0.0, lanes.slack_m)
    slid = np.where(w <= lanes.slack_m, w, nearest)
    return replace(lanes, first_m=lanes.first_m + slid, slack_m=lanes.slack_m - slid)


def fixed_lanes(edges: Edges, angle_rad: float, footprint: Footprint) -> int:
    """Stands in lanes laid side by side from the lowest corner: what a plain search would count."""
    turned = edges.turned(angle_rad)
    lowest, width = float(turned.y0.min()), footprint.width_m
    many = int((float(turned.y0.max()) - lowest + TOUCH_M) / width)
    comb = lowest + np.arange(many, dtype=np.float64) * width
    return int(whole(free_runs(turned, comb, width), footprint.length_m).sum())
