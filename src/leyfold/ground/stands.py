"""Land -> layout: every stand of one footprint, in strips."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import cos, degrees, hypot, pi, radians, sin

import numpy as np
from shapely.geometry import MultiPolygon

from leyfold.ground.bound import most_stands
from leyfold.ground.inset import inset
from leyfold.ground.lanes import Lanes
from leyfold.ground.search import edge_directions, work
from leyfold.nouns.land import Area, Exclusion, Field, Footprint, Land, Layout, Point, Stand, Strip

__all__ = ["lay_out"]


def lay_out(
    land: Land,
    footprint: Footprint,
    *,
    exclusions: Mapping[str, tuple[Exclusion, ...]] | None = None,
    directions: Mapping[str, tuple[float, ...]] | None = None,
    numbered_from: int = 1,
) -> Layout:
    """Whole stands inside every field, each off the margin and every buffer, none over another.

    `exclusions`: by field id, besides the field's own (steep or wet ground, gaps under the skirt).
    `directions`: by field id, degrees counter-clockwise from east; where given, no other is tried. Else
    directions come from the field's edges and contour. `numbered_from`: the first strip's number, where some
    of a field's strips belong to shelters of another size. ValueError for a footprint without area.
    """
    if not (footprint.length_m > 0 and footprint.width_m > 0):
        raise ValueError(f"footprint {footprint.id!r} has no area")
    strips: list[Strip] = []
    areas: list[Area] = []
    for field in land.fields:
        extra = (exclusions or {}).get(field.id, ())
        only = (directions or {}).get(field.id)
        found, ground = strips_in(field, footprint, extra, only, numbered_from)
        strips += found
        areas.append(measured(field, ground, found, footprint))
    return Layout(footprint, tuple(strips), tuple(areas))


def strips_in(
    field: Field,
    footprint: Footprint,
    extra: tuple[Exclusion, ...],
    only: tuple[float, ...] | None,
    numbered_from: int,
) -> tuple[list[Strip], MultiPolygon]:
    """The strips of one field, numbered across each zone, and the ground they were cut from.

    All is reckoned in the field's own frame, its longest edge along +x from its first corner, so that where
    the field lies on the map makes no difference. The ground is in that frame.
    """
    sides = edge_directions(field.outer)
    base, corner = sides[0], field.outer[0]
    ours = [0.0, *((side - base) % pi for side in sides[1:])]
    if field.contour_deg is not None:
        ours.append((radians(field.contour_deg) - base) % pi)
    if only:
        ours = [(radians(d) - base) % (2 * pi) for d in only]
    ground = inset(in_frame(replace(field, exclusions=field.exclusions + extra), base, corner))
    strips: list[Strip] = []
    lane = 0
    for zone in work(ground, footprint, ours, only=bool(only)):
        below = None
        for i in np.lexsort((zone.first_m, zone.lower_m)):
            lane += below is None or zone.lower_m[i] != below
            below = zone.lower_m[i]
            name = f"{field.id}/{numbered_from + len(strips)}"
            strips.append(strip(name, field.id, lane, zone, int(i), base, corner, footprint))
    return strips, ground


def in_frame(field: Field, base: float, corner: Point) -> Field:
    """The field moved so that `corner` is the origin and the direction `base` is +x."""
    c, s = cos(base), sin(base)

    def move(points: tuple[Point, ...]) -> tuple[Point, ...]:
        from_corner = [(x - corner[0], y - corner[1]) for x, y in points]
        return tuple((c * x + s * y, c * y - s * x) for x, y in from_corner)

    return replace(
        field,
        outer=move(field.outer),
        holes=tuple(map(move, field.holes)),
        exclusions=tuple(replace(e, points=move(e.points)) for e in field.exclusions),
    )


def strip(
    name: str, field: str, lane: int, zone: Lanes, i: int, base: float, corner: Point, footprint: Footprint
) -> Strip:
    """One run as a strip of stands in the land's metres."""
    turn = zone.angle_rad + base
    c, s = cos(turn), sin(turn)
    v = float(zone.lower_m[i]) + footprint.width_m / 2
    angle = degrees(turn) % 360
    stands = []
    for k in range(int(zone.stands[i])):
        u = float(zone.first_m[i]) + (k + 0.5) * footprint.length_m
        x, y = corner[0] + c * u - s * v, corner[1] + s * u + c * v
        stands.append(Stand(f"{name}.{k + 1}", field, name, k, x, y, angle))
    return Strip(name, field, lane, angle, tuple(stands))


def measured(field: Field, ground: MultiPolygon, strips: list[Strip], footprint: Footprint) -> Area:
    """What the strips reach, against what no arrangement could pass."""
    stands = [s for strip in strips for s in strip.stands]
    bound = most_stands(ground, footprint)
    return Area(
        field=field.id,
        inset_m2=ground.area,
        stands=len(stands),
        share=len(stands) * footprint.area_m2 / ground.area if ground.area else 0.0,
        bound=bound,
        gap=(bound - len(stands)) / bound if bound else 0.0,
        turns=max(len(strips) - 1, 0),
        pulled_m=pulled(strips),
        to_water_m=mean_way(stands, field.water),
        to_gate_m=mean_way(stands, field.gates),
    )


def pulled(strips: list[Strip]) -> float:
    """Metres of moving once over every stand, strip after strip, each entered at its nearer end."""
    total, at = 0.0, None
    for strip in strips:
        a, b = strip.stands[0], strip.stands[-1]
        if at is not None and hypot(b.x_m - at.x_m, b.y_m - at.y_m) < hypot(a.x_m - at.x_m, a.y_m - at.y_m):
            a, b = b, a
        if at is not None:
            total += hypot(a.x_m - at.x_m, a.y_m - at.y_m)
        total += hypot(b.x_m - a.x_m, b.y_m - a.y_m)
        at = b
    return total


def mean_way(stands: list[Stand], points: tuple[Point, ...]) -> float | None:
    """Mean distance from a stand to the nearest of the points, None without points or stands."""
    if not stands or not points:
        return None
    return sum(min(hypot(s.x_m - x, s.y_m - y) for x, y in points) for s in stands) / len(stands)
