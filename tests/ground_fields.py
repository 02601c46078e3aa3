"""Fields for tests and benchmarks of the ground: real parcels from open registers, and five of our own."""

from __future__ import annotations

import json
from functools import cache
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import shapely
from shapely.geometry import shape

from leyfold.nouns.land import Exclusion, Field, Footprint, Land, Point, Ring

SHELTER = Footprint("shelter", 3.35, 3.05)
PARCELS = Path(__file__).resolve().parents[1] / "examples" / "fields" / "pasture_fields.geojson"


@cache
def features() -> dict[str, dict[str, Any]]:
    return {f["id"]: f for f in json.loads(PARCELS.read_text(encoding="utf-8"))["features"]}


@cache
def parcel(name: str, margin_m: float = 1.0) -> Field:
    """A parcel in its register's own projection, moved to its first corner."""
    f = features()[name]
    to = pyproj.Transformer.from_crs(4326, f["properties"]["src_crs"], always_xy=True)
    flat = shapely.transform(shape(f["geometry"]), lambda a: np.column_stack(to.transform(a[:, 0], a[:, 1])))
    flat = shapely.geometry.polygon.orient(flat)
    x, y = flat.exterior.coords[0]
    outer, *holes = (
        tuple((a - x, b - y) for a, b in ring.coords[:-1]) for ring in (flat.exterior, *flat.interiors)
    )
    return Field(name, name, outer, tuple(holes), margin_m=margin_m)


def land(*fields: Field) -> Land:
    return Land(fields, 12.0, 56.0)


def box(length: float, width: float, name: str = "box", **other: Any) -> Field:
    return Field(name, name, ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)), **other)


def turned(ring: tuple[Point, ...], angle_deg: float, by: Point = (0.0, 0.0)) -> Ring:
    c, s = cos(angle_deg * pi / 180), sin(angle_deg * pi / 180)
    return tuple((c * x - s * y + by[0], s * x + c * y + by[1]) for x, y in ring)


def bean(n: int = 24) -> Ring:
    """A smooth kidney of about 1.2 ha."""
    points = []
    for k in range(n):
        t = 2 * pi * k / n
        r = 62 * (1 + 0.22 * cos(t) - 0.16 * cos(2 * t))
        points.append((1.15 * r * cos(t), r * sin(t)))
    return tuple(points)


def own_fields() -> tuple[Field, ...]:
    """A trapezoid, an L, a pentagon with a ditch, a bean with a well, and 5.8 ha with a pond."""
    pond = tuple((150 + 16 * cos(2 * pi * k / 12), 110 + 11 * sin(2 * pi * k / 12)) for k in range(12))
    ell = ((0, 0), (80, 0), (80, 26), (34, 26), (34, 74), (0, 70))
    great = ((0, 0), (120, -14), (262, 10), (285, 118), (240, 214), (96, 226), (-12, 150))
    return (
        Field("trapezoid", "Bull piece", ((0, 0), (62, 0), (50, 38), (4, 36)), gates=((0, 0),)),
        Field("ell", "Long close", ell, water=((80, 0),)),
        Field(
            "pentagon",
            "Church field",
            ((0, 0), (95, -12), (118, 40), (70, 88), (-8, 62)),
            exclusions=(Exclusion("ditch", "ditch", "line", ((-10, 20), (20, 26), (40, 70)), 5.0, "test"),),
        ),
        Field(
            "bean",
            "Hollow",
            bean(),
            margin_m=1.5,
            exclusions=(Exclusion("well", "well", "point", ((60.0, 5.0),), 20.0, "test"),),
        ),
        Field(
            "pond",
            "Great field",
            great,
            gates=((0, 0),),
            water=((262, 10),),
            exclusions=(Exclusion("pond", "water", "ring", pond, 10.0, "test"),),
        ),
    )
