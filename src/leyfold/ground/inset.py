"""Field -> inset: the ground on which a shelter may stand."""

from __future__ import annotations

from math import ceil, cos, pi, sqrt

import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from leyfold.nouns.land import Exclusion, Field

__all__ = ["GRID_M", "excluded", "inset", "outline", "polygons"]

ARC_M = 0.005
"""How far a rounded corner may lie outside the true arc: buffers are kept whole, at 5 mm of ground."""


GRID_M = 1e-7


def outline(field: Field) -> Polygon:
    """The field as drawn, holes left out of it. Metres."""
    return Polygon(field.outer, field.holes)


def grown(shape: BaseGeometry, by_m: float) -> BaseGeometry:
    """Everything within `by_m` of a shape, never less: the chords of every arc lie outside the circle.

    Negative `by_m` keeps only what is at least that far inside.
    """
    if by_m == 0:
        return shape
    # GEOS rounds the number of chords: one may span up to one and a half steps.
    steps = max(4, ceil(1.5 * pi / 4 * sqrt(abs(by_m) / (2 * ARC_M))))
    return shape.buffer(by_m / cos(1.5 * pi / (4 * steps)), quad_segs=steps)


def excluded(exclusion: Exclusion) -> BaseGeometry:
    """The ground an exclusion takes, its buffer included. Empty for a bare line or point without one."""
    make = {"ring": Polygon, "line": LineString}
    shape = make[exclusion.shape](exclusion.points) if exclusion.shape in make else Point(exclusion.points[0])
    if exclusion.buffer_m == 0 and exclusion.shape != "ring":
        return Polygon()
    return grown(shape, exclusion.buffer_m)


def inset(field: Field, *, exclusions: tuple[Exclusion, ...] = ()) -> MultiPolygon:
    """The field less its margin, its exclusions and those given besides. May be empty."""
    ground = grown(outline(field), -field.margin_m)
    taken = [excluded(e) for e in (*field.exclusions, *exclusions)]
    if taken:
        # On a grid: strips kept off share sides, and without one GEOS can lose or tangle what lies between.
        gone = shapely.union_all(taken, grid_size=GRID_M)
        ground = shapely.difference(ground, gone, grid_size=GRID_M)
    return MultiPolygon(polygons(ground))


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons in any shape, empty ones and slivers of no area left out."""
    parts = getattr(shape, "geoms", [shape])
    return [p for p in parts if isinstance(p, Polygon) and p.area > 0]
