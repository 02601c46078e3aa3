"""Rings as drawn to valid polygons: mended where only one reading is possible, refused where not.

Lengths are metres. Corners are numbered from 1, as in the file.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from leyfold.ground.drawn import Drawn, Floats, Remark, refuse, remark
from leyfold.ground.inset import polygons

__all__ = ["LEAST_M2", "closed_line", "mended_line", "mended_polygons"]

Ints = NDArray[np.int_]

SAME_M = 0.01
"""Corners nearer than this are one: seven decimals of a degree, the standard's advice, are 1 cm."""

LEAST_M2 = 1.0
"""Ground smaller than this is a slip of the pen."""

SURE = 0.01
"""A crossing is mended when the ways to read the ring differ by less than this share of its area."""

CLOSE_M, CLOSE_SHARE = 20.0, 0.05
"""A walked line is a field's edge when its ends meet within 20 m or a twentieth of its length."""

SPECK_M2 = 0.1
MOST_CROSSINGS = 100
MOST_HOLES = 1000


def mended_polygons(d: Drawn, file: str, remarks: list[Remark]) -> list[Polygon]:
    """The ground inside a polygon's outer ring and outside its holes, in one part or more."""
    if len(d.rings) > MOST_HOLES + 1:
        refuse(file, "too_many_holes", d.label, most=MOST_HOLES)
    rings = [_cleaned(ring, d, n, file, remarks) for n, ring in enumerate(d.rings, 1)]
    whole = Polygon(rings[0][0], [points for points, _ in rings[1:]])
    if not whole.is_valid:
        parts = [_uncrossed(*ring, d, n, file, remarks) for n, ring in enumerate(rings, 1)]
        whole = _cut_out(parts, d, file, remarks)
        whole = shapely.MultiPolygon([_without_specks(p) for p in polygons(whole)])
    parts = polygons(whole)
    found = [p for p in parts if p.area >= LEAST_M2]
    if not found:
        refuse(file, "no_area", d.label, at="coordinates", m2=max((p.area for p in parts), default=0.0))
    return found


def closed_line(d: Drawn, file: str, remarks: list[Remark]) -> Drawn:
    """A line walked round a field as that field's polygon. Refused where its ends lie apart."""
    (points,) = d.rings
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    gap = float(np.hypot(*(points[-1] - points[0])))
    if gap > max(CLOSE_M, CLOSE_SHARE * length):
        refuse(file, "line_open", d.label, gap_m=gap)
    remarks.append(remark("line_closed", d.label, gap_m=gap))
    ring = points if gap <= SAME_M else np.vstack((points, points[:1]))
    return Drawn(d.label, "polygon", (ring,), d.id, d.name, d.properties)


def mended_line(d: Drawn, file: str) -> Floats:
    """Corners of a line without doubles. Refused where fewer than two are left."""
    points = d.rings[0]
    points = points[_fresh(points)]
    if len(points) < 2:
        refuse(file, "too_few", d.label, at="coordinates", ring=1, n=len(points), least=2)
    return points


def _fresh(points: Floats) -> NDArray[np.bool_]:
    """Which corners differ from the one before."""
    step = np.hypot(*np.diff(points, axis=0).T)
    return np.concatenate(([True], step > SAME_M))


def _cleaned(points: Floats, d: Drawn, n: int, file: str, remarks: list[Remark]) -> tuple[Floats, Ints]:
    """A ring without its closing corner and without doubles, and the number of each corner kept."""
    numbers = np.arange(1, len(points) + 1)
    if len(points) > 1 and np.hypot(*(points[-1] - points[0])) <= SAME_M:
        points, numbers = points[:-1], numbers[:-1]
    else:
        remarks.append(remark("ring_open", d.label, ring=n))
    fresh = _fresh(points)
    if len(points) > 2 and np.hypot(*(points[-1] - points[0])) <= SAME_M:  # closed twice over
        fresh[-1] = False
    if not fresh.all():
        remarks.append(
            remark("doubled", d.label, n=int((~fresh).sum()), ring=n, corner=int(numbers[np.argmin(fresh)]))
        )
    points, numbers = points[fresh], numbers[fresh]
    if len(points) < 3:
        refuse(file, "too_few", d.label, at="coordinates", ring=n, n=len(points), least=3)
    return points, numbers


def _uncrossed(points: Floats, numbers: Ints, d: Drawn, n: int, file: str, remarks: list[Remark]) -> Polygon:
    """One ring's ground. A ring that crosses itself encloses parts run round in opposite senses, or twice:
    then its signed area and its ground differ. Where they agree there is only one reading."""
    ring = Polygon(points)
    if ring.is_valid:
        return ring
    corner = _crossing(ring, points, numbers)
    if _crossings(points) > MOST_CROSSINGS:
        refuse(file, "crosses_often", d.label, at="coordinates", ring=n, corner=corner)
    ground = shapely.make_valid(ring, method="structure", keep_collapsed=False)
    signed = abs(_signed_area(points))
    if ground.area <= 0 or abs(signed - ground.area) > SURE * ground.area:
        what = "goes_round_twice" if signed > 1.5 * ground.area > 0 else "crosses"
        refuse(file, what, d.label, at="coordinates", ring=n, corner=corner)
    parts = [p for p in polygons(ground) if p.area > SURE * ground.area]
    dropped = ground.area - sum(p.area for p in parts)
    remarks.append(remark("crossed", d.label, ring=n, corner=corner, m2=dropped))
    return shapely.union_all(parts)


def _signed_area(points: Floats) -> float:
    x, y = (points - points[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def _crossing(ring: Polygon, points: Floats, numbers: Ints) -> int:
    """The corner nearest to where the ring first meets itself."""
    reason = shapely.is_valid_reason(ring)
    x, y = map(float, reason[reason.index("[") + 1 : -1].split()[:2])
    return int(numbers[np.argmin(np.hypot(*(points - (x, y)).T))])


def _crossings(points: Floats) -> float:
    """About how often a ring crosses itself: counted for up to 300 of its edges, spread evenly.

    Mending a scribble takes time and memory in the square of its corners: it is refused before.
    """
    a, b = points, np.roll(points, -1, axis=0)
    some = np.unique(np.linspace(0, len(a) - 1, min(len(a), 300)).astype(int))

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return np.asarray(
            np.sign(
                (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1])
                - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])
            )
        )

    hits = 0
    for i in some:
        p, q = a[i], b[i]
        hits += int(((side(p, q, a) * side(p, q, b) < 0) & (side(a, b, p) * side(a, b, q) < 0)).sum())
    return hits / 2 * len(a) / len(some)


def _without_specks(part: Polygon) -> Polygon:
    """Without the hair-thin holes that putting crossings right can leave."""
    return Polygon(part.exterior, [h for h in part.interiors if Polygon(h).area >= SPECK_M2])


def _cut_out(parts: list[Polygon], d: Drawn, file: str, remarks: list[Remark]) -> Polygon:
    """The outer ring's ground less the holes. A hole over the edge leaves no doubt: no hole is ground."""
    outer, holes = parts[0], parts[1:]
    shapely.prepare(outer)
    for n, hole in enumerate(holes, 2):
        if not outer.intersects(hole) or outer.touches(hole):
            refuse(file, "hole_outside", d.label, at="coordinates", ring=n)
        if hole.covers(outer):
            refuse(file, "hole_covers", d.label, at="coordinates", ring=n)
        if not outer.covers(hole):
            remarks.append(remark("hole_over_edge", d.label, ring=n))
    if not holes:
        return outer
    union = shapely.union_all(holes)
    twice = sum(h.area for h in holes) - union.area
    if twice > 1e-6 * union.area:
        remarks.append(remark("holes_overlap", d.label, m2=twice))
    return outer.difference(union)
