"""The ground as GeoJSON: stands with their strip and the days they are used, paddocks, over the land."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from leyfold.ground.geojson import collection, feature_out, lon_lat, ring_out
from leyfold.nouns.land import Ground, Land, Layout, Paddock, Ring

__all__ = ["write_ground"]


def write_ground(
    land: Land, layout: Layout, ground: Ground | None = None, paddocks: Sequence[Paddock] = ()
) -> str:
    """Polygons in degrees with eight decimals: every stand, and every paddock.

    A stand has `strip`, `peg` (from 1) and `heading` (degrees clockwise from north), and where the ground is
    allotted `used`: who stands there and when.
    """
    used: dict[str, list[dict[str, str]]] = defaultdict(list)
    for a in ground.days if ground else ():
        if a.stand is not None:
            used[a.stand.id].append({"by": a.shelter, "on": a.on.isoformat()})
    features = []
    for strip in layout.strips:
        heading = round((90 - strip.angle_deg) % 360, 3)
        for stand in strip.stands:
            about: dict[str, Any] = {
                "kind": "stand", "field": stand.field, "strip": stand.strip, "peg": stand.index + 1,
                "heading": heading,
            }
            if ground is not None:
                about["used"] = used[stand.id]
            features.append(polygon(stand.id, about, stand.corners(layout.footprint), land))
    for p in paddocks:
        about = {"kind": "paddock", "field": p.field}
        about |= {"m2": round(p.area_m2, 1), "round_m": round(p.perimeter_m, 1)}
        features.append(polygon(p.id, about, p.ring, land))
    return collection(features)


def polygon(name: str, about: dict[str, Any], ring: Ring, land: Land) -> dict[str, Any]:
    return feature_out(name, about, "Polygon", [ring_out(lon_lat(ring, land), ccw=True)])
