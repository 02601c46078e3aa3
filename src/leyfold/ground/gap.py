"""The gap under the skirt of a rigid shelter on uneven ground.

A rigid rectangle comes to rest where its middle is lowest: the plane a + b x + c y, x and y from the middle,
with the least `a` that nowhere along the skirt lies below the ground. That is a linear programme in three
unknowns; its dual asks for three points of the skirt around the middle. They are found for all stands at
once: start from three corners, take in the point that stands highest above their plane, let go of one.

Where the two bearing points lie straight across the middle the shelter rocks about them. Then the plane with
the smallest worst gap is meant, and how wide it opens when tipped is told beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from leyfold.ground.terrain import height_at
from leyfold.nouns.land import Footprint, SkirtGap, Stand, Terrain

__all__ = ["OPEN_M", "Rest", "Skirt", "boards_to_bring", "rest", "skirt", "skirt_gaps"]

Floats = NDArray[np.float64]

OPEN_M = 0.025
"""Common practice: board every gap wider than 25 mm, since stoats and weasels pass a mesh of 25 mm."""

STEP_M = 0.05
EXACT_M = 1e-9
SLIGHT = 1e-4
"""A third bearing point that carries less of the weight than this holds nothing."""
ROCKS_M = 0.001
"""A shelter whose worst gap grows by less than this when it leans is said to stand still."""

MOST_ROUNDS = 500


@dataclass(frozen=True, eq=False, slots=True)
class Skirt:
    """Points along a skirt: (n, 2) metres from its middle, counter-clockwise from the rear right corner.

    `corners`: their indices; side k runs from corner k to the next.
    """

    points: Floats
    corners: tuple[int, int, int, int]


@dataclass(frozen=True, eq=False, slots=True)
class Rest:
    """How rectangles rest: planes (s, 3) as a, b, c; gaps (s, n) in metres; which rock (s,); and the worst
    gap when tipped (s,), equal to the worst gap where nothing rocks."""

    planes: Floats
    gaps_m: Floats
    rocks: NDArray[np.bool_]
    tipped_m: Floats


def skirt(length_m: float, width_m: float, step_m: float = STEP_M) -> Skirt:
    """A rectangle's skirt with points at most `step_m` apart, corners among them."""
    if not (length_m > 0 and width_m > 0 and step_m > 0):
        raise ValueError("length, width and step must be above 0")
    a, b = length_m / 2, width_m / 2
    corners = np.array([(-a, -b), (a, -b), (a, b), (-a, b)])
    sides, at = [], [0]
    for k in range(4):
        start, stop = corners[k], corners[(k + 1) % 4]
        n = max(1, int(np.ceil(np.abs(stop - start).sum() / step_m - 1e-9)))
        sides.append(start + np.arange(n)[:, None] / n * (stop - start))
        at.append(at[-1] + n)
    return Skirt(np.vstack(sides), (at[0], at[1], at[2], at[3]))


def rest(on: Skirt, heights_m: Floats) -> Rest:
    """How a rigid rectangle rests on each row of heights (s, n) along its skirt. ValueError on NaN."""
    z = np.atleast_2d(np.asarray(heights_m, float))
    if not np.isfinite(z).all():
        raise ValueError("heights must be known all along the skirt")
    level = z.mean(axis=1, keepdims=True)
    z = z - level
    rows = np.column_stack((np.ones(len(on.points)), on.points))
    bearing = _bearing(rows, z, on)
    planes = np.linalg.solve(rows[bearing], np.take_along_axis(z, bearing, 1)[..., None])[..., 0]
    planes, tipped = _balanced(rows, z, bearing, planes)
    gaps = np.maximum(planes @ rows.T - z, 0.0)
    planes[:, 0] += level[:, 0]
    worst = gaps.max(axis=1)
    rocks = tipped > worst + ROCKS_M
    return Rest(planes, gaps, rocks, np.where(rocks, tipped, worst))


def _bearing(rows: Floats, z: Floats, on: Skirt) -> NDArray[np.intp]:
    """Three bearing points (s, 3) of each rectangle: a simplex walk, all stands abreast."""
    # A hair beside the middle, so that no diagonal or midline passes through it and no step is idle.
    size = np.abs(on.points).max(axis=0)
    middle = np.array([1.0, 1.1e-7 * size[0], -1.3e-7 * size[1]])
    bearing = np.tile(np.array(on.corners[:3]), (len(z), 1))
    active = np.arange(len(z))
    for _ in range(MOST_ROUNDS):
        basis = rows[bearing[active]]
        heights = np.take_along_axis(z[active], bearing[active], 1)
        planes = np.linalg.solve(basis, heights[..., None])[..., 0]
        above = z[active] - planes @ rows.T
        enters = above.argmax(axis=1)
        low = np.take_along_axis(above, enters[:, None], 1)[:, 0] > EXACT_M
        active, basis, enters = active[low], basis[low], enters[low]
        if not active.size:
            return bearing
        turned = np.swapaxes(basis, 1, 2)
        weights = np.linalg.solve(turned, np.broadcast_to(middle[:, None], (len(active), 3, 1)))[..., 0]
        share = np.linalg.solve(turned, rows[enters][..., None])[..., 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            leaves = np.where(share > 1e-12, weights / share, np.inf).argmin(axis=1)
        bearing[active, leaves] = enters
    raise ArithmeticError("no resting plane found")


def _balanced(rows: Floats, z: Floats, bearing: NDArray[np.intp], planes: Floats) -> tuple[Floats, Floats]:
    """Planes, those free to turn brought to the smallest worst gap; and the worst gap when tipped, else 0."""
    basis = np.swapaxes(rows[bearing], 1, 2)
    weights = np.linalg.solve(basis, np.broadcast_to(np.array([[1.0], [0.0], [0.0]]), (len(z), 3, 1)))[..., 0]
    free = weights.argmin(axis=1)
    tipped = np.zeros(len(z))
    i = np.flatnonzero(weights[np.arange(len(z)), free] < SLIGHT)
    if not i.size:
        return planes, tipped
    p = rows[bearing[i, (free[i] + 1) % 3]]
    q = rows[bearing[i, (free[i] + 2) % 3]]
    along = q[:, 1:] - p[:, 1:]
    across = np.column_stack((-along[:, 1], along[:, 0])) / np.hypot(*along.T)[:, None]
    turn = np.column_stack((-(across * p[:, 1:]).sum(axis=1), across))
    gaps, arm = planes[i] @ rows.T - z[i], turn @ rows.T
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -np.maximum(gaps, 0.0) / arm
    least = np.where(arm > EXACT_M, reach, -np.inf).max(axis=1)
    most = np.where(arm < -EXACT_M, reach, np.inf).min(axis=1)

    def worst(t: Floats) -> Floats:
        return np.asarray((gaps + t[:, None] * arm).max(axis=1))

    tipped[i] = np.maximum(worst(least), worst(most))
    for _ in range(60):  # the worst gap is convex in the turn: a third of the range falls away each time
        a, b = least + (most - least) / 3, most - (most - least) / 3
        left = worst(a) <= worst(b)
        least, most = np.where(left, least, a), np.where(left, b, most)
    planes = planes.copy()
    planes[i] += ((least + most) / 2)[:, None] * turn
    return planes, tipped


def skirt_gaps(
    stands: Sequence[Stand], footprint: Footprint, terrain: Terrain, *, open_m: float = OPEN_M
) -> tuple[SkirtGap | None, ...]:
    """The gap under a shelter at each stand; None where the heights are not known all round.

    A grid shows no hollow smaller than its cell, so the true gap is this or more.
    """
    around = skirt(footprint.length_m, footprint.width_m)
    if not stands:
        return ()
    angle = np.radians([s.angle_deg for s in stands])
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    u, v = around.points.T
    x = np.array([[stand.x_m] for stand in stands]) + c * u - s * v
    y = np.array([[stand.y_m] for stand in stands]) + s * u + c * v
    heights = height_at(terrain, x, y)
    known = np.flatnonzero(np.isfinite(heights).all(axis=1))
    found: list[SkirtGap | None] = [None] * len(stands)
    if known.size:
        rests = rest(around, heights[known])
        for row, i in enumerate(known.tolist()):
            gaps = rests.gaps_m[row]
            k = int(gaps.argmax())
            found[i] = SkirtGap(
                stands[i].id,
                float(gaps[k]),
                (float(x[i, k]), float(y[i, k])),
                _boards(around, gaps, open_m),
                bool(rests.rocks[row]),
                float(rests.tipped_m[row]),
            )
    return tuple(found)


def _boards(around: Skirt, gaps: Floats, open_m: float) -> tuple[float, ...]:
    """Lengths of skirt to board, longest first: runs along one side where either end of a step is open."""
    if gaps.max() <= open_m:
        return ()
    lengths: list[float] = []
    wide = np.append(gaps, gaps[0]) > open_m
    steps = (wide[1:] | wide[:-1]).tolist()
    points = np.vstack((around.points, around.points[:1]))
    for first, last in pairwise((*around.corners, len(gaps))):
        step_m = float(np.abs(points[first + 1] - points[first]).sum())
        lengths += [sum(run) * step_m for is_open, run in groupby(steps[first:last]) if is_open]
    return tuple(sorted(lengths, reverse=True))


def boards_to_bring(gaps: Iterable[SkirtGap | None]) -> tuple[float, ...]:
    """Board lengths in metres, longest first, that close every one of these stands, one after another."""
    needed: list[float] = []
    for gap in gaps:
        for k, length in enumerate(gap.boards_m if gap else ()):
            if k == len(needed):
                needed.append(length)
            else:
                needed[k] = max(needed[k], length)
    return tuple(needed)
