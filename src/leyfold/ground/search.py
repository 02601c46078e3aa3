"""Inset -> lanes: directions tried, one side worked in another direction where that gains, corners filled.

Directions come from the field's own edges and contour, never from north: a field turned or shifted gets the
same stands, turned or shifted.
"""

from __future__ import annotations

from dataclasses import replace
from math import atan2, hypot, pi, radians

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from leyfold.ground.free import Cut, Edges
from leyfold.ground.inset import GRID_M, polygons
from leyfold.ground.lanes import TURN, Lanes, abreast, best_lanes, fixed_lanes, prefixes
from leyfold.nouns.land import Footprint, Ring, rectangle

__all__ = ["edge_directions", "edges_of", "strip_boxes", "work"]

COARSE, FINE = 8, 16  # steps across a lane
FINALISTS, PROMISING = 6, 2  # directions looked at closely; ways whose corners are filled
LEAST_FILL = 2  # stands: a corner that holds fewer is left, it is not worth pulling a shelter to it
APART = radians(5.0)  # directions nearer than this count as one


def edges_of(ground: BaseGeometry) -> Edges:
    """All edges of all rings, outer ones counter-clockwise and holes clockwise."""
    starts, ends = [np.empty((0, 2))], [np.empty((0, 2))]
    for polygon in polygons(ground):
        turned = shapely.geometry.polygon.orient(polygon)
        for ring in (turned.exterior, *turned.interiors):
            corners = np.asarray(ring.coords)
            starts.append(corners[:-1])
            ends.append(corners[1:])
    a, b = np.vstack(starts), np.vstack(ends)
    return Edges(a[:, 0], a[:, 1], b[:, 0], b[:, 1])


def edge_directions(outer: Ring) -> list[float]:
    """Directions of a ring's edges, the greatest total length first; near ones joined.

    The first is that of an edge as the ring runs, in radians; the others follow within half a turn of it.
    """
    sides = [(q[0] - p[0], q[1] - p[1]) for p, q in zip(outer, (*outer[1:], outer[0]), strict=True)]
    sides.sort(key=lambda d: -round(hypot(*d), 6))
    sums: list[list[float]] = []  # [direction, length]
    for dx, dy in sides:
        direction, length = atan2(dy, dx), hypot(dx, dy)
        near = next((s for s in sums if apart(s[0], direction) < radians(1.0)), None)
        if near is None:
            sums.append([direction, length])
        else:
            near[1] += length
    sums.sort(key=lambda s: -round(s[1], 6))
    base = sums[0][0]
    return [base + (s[0] - base) % pi for s in sums]


def apart(a: float, b: float) -> float:
    """Angle between two directions, either way along them. Radians."""
    return abs((a - b + pi / 2) % pi - pi / 2)


def work(ground: MultiPolygon, footprint: Footprint, directions: list[float], *, only: bool) -> list[Lanes]:
    """The lanes to work on a ground, best found. `only`: no direction but those given.

    `directions`: radians, the ground's own (edges, contour), at least one; the first is the one that
    all others are counted from.
    """
    edges = edges_of(ground)
    if edges.x0.size == 0:
        return []
    around = directions if only else [directions[0] + radians(k) for k in range(0, 180, 5)]
    plain = max(fixed_lanes(edges, a, footprint) for a in around)
    best: list[Lanes] = []
    for turn in (TURN, 0.0):  # the charge for turns must not cost more than plain lanes would give
        best = max(best, searched(ground, edges, footprint, directions, turn, plain, only=only), key=count)
        if count(best) > plain:
            return best
    fine = footprint.width_m / FINE
    last = max((best_lanes(edges, a, footprint, fine, turn=0.0) for a in around), key=lambda z: z.count)
    return best if count(best) >= last.count else [last]


def searched(
    ground: MultiPolygon,
    edges: Edges,
    footprint: Footprint,
    directions: list[float],
    turn: float,
    plain: int,
    *,
    only: bool,
) -> list[Lanes]:
    """The zones worth most when each strip begun costs `turn` stands.

    Nothing when, with that charge, one direction alone has no more than the `plain` number of stands.
    """
    around = [] if only else [directions[0] + radians(k) for k in range(0, 180, 2)]
    ranked = tried(edges, footprint, [*directions, *around], turn)
    finalists = apart_ones(ranked, FINALISTS, radians(0.9))
    close = (0.0,) if only else tuple(radians(k) for k in (0.0, -1.0, -0.5, -0.2, 0.2, 0.5, 1.0))
    fine = footprint.width_m / FINE
    near = [angle + off for angle in finalists for off in close]
    one_way = max(
        (best_lanes(edges, angle, footprint, fine, corners=True, turn=turn) for angle in near),
        key=lambda lanes: round(lanes.worth, 6),
    )
    if turn > 0 and one_way.count <= plain:
        return []
    ways = [[one_way]]
    if not only:
        ways += split(edges, footprint, one_way, directions, apart_ones(ranked, 3, APART))
    ways = sorted(ways, key=total, reverse=True)[:PROMISING]
    rows = [[abreast(lanes, footprint.length_m) for lanes in way] for way in ways]
    return max((filled(ground, footprint, way, directions, only=only) for way in (*rows, *ways)), key=total)


def count(way: list[Lanes]) -> int:
    """Stands of all zones."""
    return sum(lanes.count for lanes in way)


def total(way: list[Lanes]) -> float:
    """Worth of all zones, rounded so that equal ways stay equal wherever the field lies."""
    return round(sum(lanes.worth for lanes in way), 6)


def tried(edges: Edges, footprint: Footprint, angles: list[float], turn: float) -> list[tuple[float, float]]:
    """Worth and direction, best first."""
    step = footprint.width_m / COARSE
    found = [(round(best_lanes(edges, a, footprint, step, turn=turn).worth, 6), a) for a in angles]
    return sorted(found, key=lambda f: -f[0])


def apart_ones(ranked: list[tuple[float, float]], many: int, least: float) -> list[float]:
    """The best few directions that differ by at least `least`."""
    got: list[float] = []
    for _, angle in ranked:
        if len(got) == many:
            break
        if all(apart(angle, other) >= least for other in got):
            got.append(angle)
    return got


def split(
    edges: Edges, footprint: Footprint, one_way: Lanes, sides: list[float], good: list[float]
) -> list[list[Lanes]]:
    """Two zones parted by a straight line: lanes along the line on one side, another direction beyond it.

    Cuts are tried where the lanes along the line leave least ground unused. The best few that are worth more
    than one direction alone, best first.
    """
    coarse, fine, turn = footprint.width_m / COARSE, footprint.width_m / FINE, one_way.turn
    all_m2 = float(edges.below_m2(np.array([np.inf]))[0])
    waste = all_m2 / footprint.area_m2 - one_way.worth
    found: list[tuple[float, float, float, float]] = []
    for along in [*sides[:5], one_way.angle_rad]:
        for angle in (along, along + pi):
            levels, best = prefixes(edges, angle, footprint, coarse, turn)
            if levels.size == 0:
                continue
            share = edges.turned(angle).below_m2(levels) / footprint.area_m2
            lost = share - best + waste * (1 - share * footprint.area_m2 / all_m2)
            for i in spread(lost, levels, best, footprint.width_m / 2, 8):
                beyond = Cut(angle, float(levels[i]))
                for other in [*good, angle + pi / 2]:
                    if apart(other, angle) < APART:
                        continue
                    rest = best_lanes(edges, other, footprint, coarse, cuts=(beyond,), turn=turn)
                    found.append((round(float(best[i]) + rest.worth, 6), angle, beyond.from_m, other))
    found.sort(key=lambda f: -f[0])
    ways = []
    for worth, angle, level, other in found[:4]:
        if worth <= one_way.worth:
            break
        beyond, before = Cut(angle, level), Cut(angle + pi, -level)
        ways.append(
            [
                best_lanes(edges, angle, footprint, coarse, cuts=(before,), turn=turn),
                best_lanes(edges, other, footprint, fine, cuts=(beyond,), corners=True, turn=turn),
            ]
        )
    return ways


def spread(
    lost: NDArray[np.float64], levels: NDArray[np.float64], best: NDArray[np.float64], least: float, many: int
) -> list[int]:
    """The few levels with least lost that lie at least `least` apart and have something below them."""
    got: list[int] = []
    for i in np.argsort(np.round(lost, 6), kind="stable"):
        if len(got) == many:
            break
        if best[i] > 0 and all(abs(levels[i] - levels[j]) >= least for j in got):
            got.append(int(i))
    return got


def strip_boxes(lanes: Lanes, footprint: Footprint) -> list[Polygon]:
    """One rectangle a run: the ground its stands cover."""
    c, s = np.cos(lanes.angle_rad), np.sin(lanes.angle_rad)
    boxes = []
    for lower, first, n in zip(lanes.lower_m, lanes.first_m, lanes.stands, strict=True):
        length = float(n) * footprint.length_m
        u, v = first + length / 2, lower + footprint.width_m / 2
        x, y, angle = c * u - s * v, s * u + c * v, float(np.degrees(lanes.angle_rad))
        boxes.append(Polygon(rectangle(x, y, angle, length, footprint.width_m)))
    return boxes


def filled(
    ground: MultiPolygon, footprint: Footprint, way: list[Lanes], directions: list[float], *, only: bool
) -> list[Lanes]:
    """The way, and strips in whatever corners it leaves that hold a few stands in some direction."""
    taken = [box for lanes in way for box in strip_boxes(lanes, footprint)]
    left = roomy(less(ground, taken), footprint)
    main, turn = way[-1].angle_rad, way[-1].turn
    around = [main + pi / 2, *directions[:6], *(main + radians(k) for k in range(0, 180, 20))]
    angles = directions if only else around
    for _ in range(3):
        edges = edges_of(left)
        if edges.x0.size == 0:
            break
        step = footprint.width_m / COARSE
        found = (best_lanes(edges, a, footprint, step, corners=True, turn=turn) for a in angles)
        best = max(map(longer, found), key=lambda lanes: round(lanes.worth, 6))
        if best.count == 0:
            break
        way = [*way, best]
        left = roomy(less(left, strip_boxes(best, footprint)), footprint)
    return way


def less(ground: MultiPolygon, taken: list[Polygon]) -> MultiPolygon:
    """The ground without the boxes. They share sides: without a grid their union can lose some of them."""
    gone = shapely.union_all(taken, grid_size=GRID_M)
    return MultiPolygon(polygons(shapely.difference(ground, gone, grid_size=GRID_M)))


def longer(lanes: Lanes) -> Lanes:
    """Only the runs that are worth going to."""
    keep = lanes.stands >= LEAST_FILL
    return replace(
        lanes,
        lower_m=lanes.lower_m[keep],
        first_m=lanes.first_m[keep],
        stands=lanes.stands[keep],
        slack_m=lanes.slack_m[keep],
    )


def roomy(ground: MultiPolygon, footprint: Footprint) -> MultiPolygon:
    """The ground without what is too narrow for any stand."""
    core = ground.buffer(-min(footprint.length_m, footprint.width_m) / 2 + 1e-4, quad_segs=4)
    reach = core.buffer(hypot(footprint.length_m, footprint.width_m) / 2, quad_segs=4)
    return MultiPolygon(polygons(reach.intersection(ground)))
