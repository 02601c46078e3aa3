"""A proven upper bound on the stands that any arrangement, at any angles, could reach."""

from __future__ import annotations

from math import cos, hypot, pi

from shapely.geometry import MultiPolygon

from leyfold.nouns.land import Footprint

__all__ = ["most_stands"]

STEPS = 16


def most_stands(ground: MultiPolygon, footprint: Footprint) -> int:
    """Whole stands that the usable area could hold if nothing were lost between them.

    A stand holds a disc of its shorter side about its centre, so centres lie where the ground, eroded by half
    that side, is left; and no point of a stand is further from its centre than half the diagonal. Ground
    outside that reach can carry no stand; the rest, divided by one footprint, bounds their number.
    """
    if ground.is_empty:
        return 0
    half = min(footprint.length_m, footprint.width_m) / 2
    reach = hypot(footprint.length_m, footprint.width_m) / 2
    # Both buffers err outward: rounded shapes are drawn inside their circle, and GEOS smooths by up to 1 %.
    centres = ground.buffer(-half * 0.99, quad_segs=STEPS)
    usable = ground.intersection(centres.buffer(reach * 1.01 / cos(pi / (4 * STEPS)), quad_segs=STEPS))
    return int(usable.area / footprint.area_m2 + 1e-6)
