"""The ground as GeoJSON: stands with their strip and the days they are used, paddocks, over the land."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from leyfold.ground.flat import to_metres
from leyfold.ground.geojson import collection, feature_out, lon_lat, ring_out
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.land import Ground, Land, Layout, Paddock, Ring, Tread
from leyfold.words import say

__all__ = ["read_used", "write_ground"]


def write_ground(
    land: Land, laid: Sequence[tuple[Layout, Ground | None]], paddocks: Sequence[Paddock] = ()
) -> str:
    """Polygons in degrees with eight decimals: every stand, and every paddock.

    `laid`: a layout for each size of shelter, and its allotment. A stand has `strip`, `peg` (from 1) and
    `heading` (degrees clockwise from north), and where the ground is allotted `used`: who stands there and
    when.
    """
    features = []
    for layout, ground in laid:
        used: dict[str, list[dict[str, str]]] = defaultdict(list)
        for a in ground.days if ground else ():
            if a.stand is not None:
                used[a.stand.id].append({"by": a.shelter, "on": a.on.isoformat()})
        for stand in layout.stands:
            about: dict[str, Any] = {
                "kind": "stand",
                "field": stand.field,
                "strip": stand.strip,
                "peg": stand.index + 1,
                "heading": round((90 - stand.angle_deg) % 360, 3),
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
    """A ring as a feature."""
    return feature_out(name, about, "Polygon", [ring_out(lon_lat(ring, land), ccw=True)])


def read_used(path: Path, land: Land) -> tuple[Tread, ...]:
    """The ground used, out of what `write_ground` wrote in a year before; the last day of each stand counts.

    BadInput where the file cannot be read or a stand in it is not a ring with days of use.
    """
    try:
        features = json.loads(path.read_text("utf-8"))["features"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise refused(path, "") from error
    treads = []
    for number, feature in enumerate(features, 1):
        try:
            about = feature["properties"]
            if about["kind"] != "stand" or not about.get("used"):
                continue
            degrees = np.array(feature["geometry"]["coordinates"][0], dtype=np.float64)
            metres = to_metres(degrees, (land.origin_lon_deg, land.origin_lat_deg))
            last = max(about["used"], key=lambda use: date.fromisoformat(use["on"]))
            ring = tuple((float(x), float(y)) for x, y in metres[:-1])
            treads.append(Tread(ring, date.fromisoformat(last["on"]), str(last["by"])))
            if len(ring) < 3 or not np.isfinite(metres).all():
                raise ValueError("no ring")
        except (KeyError, TypeError, ValueError, IndexError) as error:
            raise refused(path, str(number)) from error
    return tuple(treads)


def refused(path: Path, feature: str) -> BadInput:
    """The refusal of a file of ground used before."""
    wrong, mend = say("stands.used_unread"), say("stands.used_unread_mend")
    return BadInput(Fault(path.name, "", wrong, mend, feature=feature or None))
