"""An independent checker of layouts and allotments: its own plane geometry, nothing of leyfold.ground.

Everything by distances between segments and by separating axes, in numpy. It returns what is wrong as
sentences; an empty list is the verdict "sound", and tests must assert it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.land import Footprint, Ground, Land, Layout, Ring, Stand, Tread

TOLERANCE_M = 1e-5

Floats = NDArray[np.float64]


def segments(rings: Iterable[Ring], *, closed: bool = True) -> tuple[Floats, Floats]:
    a, b = [], []
    for ring in rings:
        points = list(ring)
        ends = points[1:] + points[:1] if closed else points[1:]
        a += points[: len(ends)]
        b += ends
    return np.array(a, float).reshape(-1, 2), np.array(b, float).reshape(-1, 2)


def point_to_segments(p: Floats, a: Floats, b: Floats) -> Floats:
    """(n, m) distances from points to segments."""
    d = b - a
    long2 = np.where((d**2).sum(1) == 0, 1.0, (d**2).sum(1))
    t = np.clip(((p[:, None] - a) * d).sum(2) / long2, 0, 1)
    return np.hypot(*np.moveaxis(p[:, None] - (a + t[..., None] * d), 2, 0))


def cross(o: Floats, p: Floats, q: Floats) -> Floats:
    u, v = p - o, q - o
    return u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]


def segments_apart(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """(n, m) distances between segments ab and cd; 0 where they cross."""
    near = np.minimum.reduce(
        [
            point_to_segments(a, c, d),
            point_to_segments(b, c, d),
            point_to_segments(c, a, b).T,
            point_to_segments(d, a, b).T,
        ]
    )
    A, B, C, D = a[:, None], b[:, None], c[None], d[None]
    crossing = (cross(A, B, C) * cross(A, B, D) < 0) & (cross(C, D, A) * cross(C, D, B) < 0)
    return np.where(crossing, 0.0, near)


def inside(p: Floats, rings: Iterable[Ring]) -> NDArray[np.bool_]:
    """Even-odd rule over all rings."""
    odd = np.zeros(len(p), bool)
    for ring in rings:
        a, b = segments([ring])
        for (x0, y0), (x1, y1) in zip(a, b, strict=True):
            straddles = (y0 > p[:, 1]) != (y1 > p[:, 1])
            at = x0 + (p[:, 1] - y0) * (x1 - x0) / (y1 - y0 if y1 != y0 else 1.0)
            odd ^= straddles & (p[:, 0] < at)
    return odd


def overlap_m(p: Floats, q: Floats) -> Floats:
    """Depth by which convex rings overlap, pair by pair, (..., k, 2) each; 0 or less where they do not.

    Separating axis theorem.
    """
    depth = np.full(p.shape[:-2], np.inf)
    for ring in (p, q):
        for k in range(ring.shape[-2]):
            side = ring[..., (k + 1) % ring.shape[-2], :] - ring[..., k, :]
            normal = np.stack([-side[..., 1], side[..., 0]], -1)
            axis = normal / np.hypot(side[..., 0], side[..., 1])[..., None]
            u, v = (p * axis[..., None, :]).sum(-1), (q * axis[..., None, :]).sum(-1)
            depth = np.minimum(depth, np.minimum(u.max(-1) - v.min(-1), v.max(-1) - u.min(-1)))
    return depth


def overlapping(rings: list[Floats], near_m: float) -> list[tuple[int, int]]:
    """Pairs of rectangles that overlap, found through a grid of cells `near_m` wide."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    pairs = []
    for i, ring in enumerate(rings):
        x, y = (int(c) for c in ring.mean(0) // near_m)
        pairs += [(j, i) for dx in (-1, 0, 1) for dy in (-1, 0, 1) for j in cells[x + dx, y + dy]]
        cells[x, y].append(i)
    if not pairs:
        return []
    corner, pair = np.array(rings), np.array(pairs)
    deep = overlap_m(corner[pair[:, 0]], corner[pair[:, 1]]) > TOLERANCE_M
    return [pairs[k] for k in np.flatnonzero(deep)]


def corners(stand: Stand, footprint: Footprint) -> Floats:
    """By a rotation matrix of its own."""
    t = np.radians(stand.angle_deg)
    along, across = np.array([np.cos(t), np.sin(t)]), np.array([-np.sin(t), np.cos(t)])
    a, b = along * footprint.length_m / 2, across * footprint.width_m / 2
    middle = np.array([stand.x_m, stand.y_m])
    return np.array([middle - a - b, middle + a - b, middle + a + b, middle - a + b])


def faults_of_layout(land: Land, layout: Layout) -> list[str]:
    """Stands outside the field, too near its edge, in a buffer, over each other, or doubly named."""
    faults: list[str] = []
    names = [s.id for s in layout.stands]
    if len(set(names)) != len(names):
        faults.append("two stands share a name")
    for field in land.fields:
        stands = [s for s in layout.stands if s.field == field.id]
        if not stands:
            continue
        rings = [corners(s, layout.footprint) for s in stands]
        points = np.vstack(rings)
        a, b = points, np.vstack([np.roll(r, -1, 0) for r in rings])
        edges = segments([field.outer, *field.holes])
        if not inside(np.array([r.mean(0) for r in rings]), [field.outer, *field.holes]).all():
            faults.append(f"{field.id}: a stand lies outside the field")
        nearest = segments_apart(a, b, *edges).min()
        if nearest < field.margin_m - TOLERANCE_M:
            faults.append(f"{field.id}: a stand is {nearest:.4f} m from the edge, margin {field.margin_m}")
        for e in field.exclusions:
            shape = np.array(e.points, float)
            if e.shape == "point":
                apart = min(segments_apart(a, b, shape[:1], shape[:1]).min(), np.inf)
                over = any(_holds(r, shape[0]) for r in rings)
            else:
                apart = segments_apart(a, b, *segments([e.points], closed=e.shape == "ring")).min()
                over = any(_holds(r, shape[0]) for r in rings)
                over = over or (e.shape == "ring" and bool(inside(points, [e.points]).any()))
            bare = e.buffer_m == 0 and e.shape != "ring"
            if not bare and (over or apart < e.buffer_m - TOLERANCE_M):
                faults.append(f"{field.id}: a stand is {apart:.4f} m from {e.id}, {e.buffer_m} wanted")
        faults += [
            f"{stands[i].id} and {stands[j].id} overlap"
            for i, j in overlapping(rings, np.hypot(layout.footprint.length_m, layout.footprint.width_m))
        ]
    return faults


def _holds(ring: Floats, point: Floats) -> bool:
    return bool((cross(ring, np.roll(ring, -1, 0), point[None]) > 0).all())


def faults_of_ground(ground: Ground, before: Iterable[Tread] = ()) -> list[str]:
    """Ground used again, or two shelters on one place, before it has rested `rest_days`.

    A stand left on day d is rested from day d + rest_days. Staying on the same stand on following days is
    one use.
    """
    faults: list[str] = []
    length, width = ground.footprint.length_m, ground.footprint.width_m
    rings = [np.array(t.ring) for t in before]
    last = [t.on for t in before]
    by = [("before", t.by) for t in before]
    first = list(last)
    runs: dict[str, int] = {}  # shelter -> its present use
    for a in sorted(ground.days, key=lambda a: (a.on, a.shelter, a.nth)):
        if a.stand is None:
            continue
        ring = corners(a.stand, ground.footprint)
        i = runs.get(a.shelter)
        if i is not None and a.on - last[i] == timedelta(days=1) and np.allclose(rings[i], ring):
            last[i] = a.on
            continue
        runs[a.shelter] = len(rings)
        rings.append(ring)
        first.append(a.on)
        last.append(a.on)
        by.append(("now", a.shelter))
    for i, j in overlapping(rings, np.hypot(length, width)):
        early, late = (i, j) if first[i] <= first[j] else (j, i)
        rested = (first[late] - last[early]).days
        if by[late][0] == "now" and rested < ground.rest_days:
            where = f"{by[late][1]} on {first[late]} stands where {by[early][1]}"
            faults.append(f"{where} left {rested} days before")
    return faults


def hull(points: Floats) -> Floats:
    """Convex hull, counter-clockwise (monotone chain)."""

    def half(ordered: Floats) -> list[Floats]:
        chain: list[Floats] = []
        for p in ordered:
            while len(chain) > 1 and cross(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    ordered = points[np.lexsort((points[:, 1], points[:, 0]))]
    return np.array(half(ordered) + half(ordered[::-1]))


def faults_of_moves(ground: Ground) -> list[str]:
    """Shelters pulled, within a strip or into the next, over ground where another stood the day before."""
    faults: list[str] = []
    on: dict[object, dict[str, Stand]] = defaultdict(dict)
    legs = {(a.on, a.shelter): a.leg.kind for a in ground.days if a.leg is not None}
    for a in ground.days:
        if a.stand is not None:
            on[a.on][a.shelter] = a.stand
    for day, stands in on.items():
        yesterday = on.get(day - timedelta(days=1), {})
        for shelter, to in stands.items():
            if shelter not in yesterday or legs[day, shelter] not in ("ahead", "skip", "turn"):
                continue
            ends = [corners(s, ground.footprint) for s in (yesterday[shelter], to)]
            swept = hull(np.vstack(ends))
            faults += [
                f"{shelter} is pulled over yesterday's ground of {other} on {day}"
                for other, stood in yesterday.items()
                if other != shelter and overlap_m(swept, corners(stood, ground.footprint)) > TOLERANCE_M
            ]
    return faults
