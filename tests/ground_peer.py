"""A plain second implementation to beat: lanes side by side from the lowest corner, every 5 degrees.

In each lane the stands begin where they will. By clipping with shapely, lane after lane.
"""

from __future__ import annotations

import shapely
from shapely.affinity import rotate
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from leyfold.nouns.land import Field, Footprint


def peer_ground(field: Field) -> BaseGeometry:
    ground = Polygon(field.outer, field.holes).buffer(-field.margin_m)
    for e in field.exclusions:
        make = {"ring": shapely.Polygon, "line": shapely.LineString, "point": lambda p: shapely.Point(p[0])}
        ground = ground.difference(make[e.shape](e.points).buffer(e.buffer_m))
    return ground


def lane_stands(ground: BaseGeometry, low: float, footprint: Footprint) -> int:
    """Stands in one lane: its gaps are the x-ranges of whatever part of the lane is not ground."""
    x0, _, x1, _ = ground.bounds
    lane = box(x0 - 1, low + 1e-7, x1 + 1, low + footprint.width_m - 1e-7)
    holes = lane.difference(ground)
    reach, many = x0 - 1, 0
    for a, b in sorted((part.bounds[0], part.bounds[2]) for part in getattr(holes, "geoms", [holes])):
        if a > reach:
            many += int((a - reach + 1e-6) // footprint.length_m)
        reach = max(reach, b)
    return many


def peer_stands(ground: BaseGeometry, footprint: Footprint, angles: range = range(0, 180, 5)) -> int:
    best = 0
    for angle in angles:
        flat = rotate(ground, -angle, origin=(0, 0))
        shapely.prepare(flat)
        low, top = flat.bounds[1], flat.bounds[3]
        many = 0
        while low + footprint.width_m <= top + 1e-6:
            many += lane_stands(flat, low, footprint)
            low += footprint.width_m
        best = max(best, many)
    return best
