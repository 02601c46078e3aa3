"""A land file to the farm's Land: fields, what to keep off, gates and water points, in metres.

open (formats, geojson) -> place on earth (located) -> flat map (flat) -> mend (mend) -> fields
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import isfinite
from pathlib import Path
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry import Point as PointShape
from shapely.geometry.base import BaseGeometry

from leyfold.farm.tables import table
from leyfold.ground.drawn import Drawn, Remark, refuse, remark
from leyfold.ground.flat import to_metres
from leyfold.ground.formats import open_source
from leyfold.ground.geojson import tidy
from leyfold.ground.hay import hay_of
from leyfold.ground.keep_off import LAWFUL, PLACES, keep_off_kinds
from leyfold.ground.located import located
from leyfold.ground.mend import closed_line, mended_line, mended_polygons
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.land import Exclusion, Field, Land, Point, Ring

__all__ = ["read_land"]

MOST_FIELDS = 500
MOST_FIELD_M = 20_000.0
MOST_FAULTS = 20
MARGIN_M = 1.0
MOST_MARGIN_M = 100.0
BESIDE_M, NEAR_M = 10.0, 200.0
"""A gate or water point serves every field within 10 m, or else the nearest one within 200 m."""

OVERLAP = 0.01
"""Fields drawn by hand along one fence overlap a little; more than this share of the smaller is a mistake."""
LEAST_OVERLAP_M2 = 0.5


@dataclass(frozen=True, slots=True)
class _Thing:
    """Something drawn that is not a field, in metres."""

    drawn: Drawn
    kind: str
    shape: BaseGeometry
    buffer_m: float
    source: str


def read_land(
    source: str | bytes | Path, *, name: str, place: tuple[float, float] | None = None
) -> tuple[Land, list[Remark]]:
    """Read a land file: GeoJSON, or with the extra `gis` KML, KMZ, GPX, GeoPackage, Shapefile (also zipped).

    `source`: a Path, or the contents as text or bytes. `name`: what messages call the file. `place`: the
    farm's (latitude, longitude) in degrees; it settles exchanged coordinates and a missing coordinate system.

    Features carry `kind` (absent or `field` for a field), and may carry `id`, `name`, `margin` (fields) and
    `buffer` (the rest), in metres, and `hay` (fields; see `ground.hay`). What has only one reading is mended
    and remarked upon; all else raises BadInput with every feature at fault.
    """
    if place is not None and not (abs(place[0]) <= 90 and abs(place[1]) <= 180):
        raise ValueError(f"place must be (latitude, longitude) in degrees, not {place}")
    drawn, remarks = located(open_source(source, name), place)
    if not drawn:
        refuse(name, "no_field")
    origin = _origin(drawn)
    faults: list[Fault] = []
    plots: dict[str, tuple[Drawn, list[Polygon]]] = {}
    things: list[_Thing] = []
    used: set[tuple[str, str]] = set()
    for in_degrees in drawn:
        d = replace(in_degrees, rings=tuple(to_metres(ring, origin) for ring in in_degrees.rings))
        try:
            kind = _kind(d, name)
            if kind == "field":
                plots.setdefault(d.label, (d, []))[1].extend(_plot(d, name, remarks))
            else:
                things.append(_thing(d, kind, name, remarks))
                if kind in LAWFUL and _number(d, "buffer", name) is None:
                    used.add((kind, f"{things[-1].buffer_m:g}"))
        except BadInput as error:
            faults += error.faults
            if len(faults) >= MOST_FAULTS:
                break
    _raise(faults)
    if not plots:
        refuse(name, "no_field")
    if used:
        distances = ", ".join(f"{kind.replace('_', ' ')} {metres} m" for kind, metres in sorted(used))
        remarks.append(remark("local_law", distances=distances))
    fields = _fields(list(plots.values()), name, remarks)
    fields = _with_things(fields, things, name, remarks)
    land = Land(fields, *origin, notes=tuple(str(r) for r in remarks))
    return land, remarks


def _raise(faults: list[Fault]) -> None:
    if faults:
        raise BadInput(*faults[:MOST_FAULTS])


def _origin(drawn: Iterable[Drawn]) -> tuple[float, float]:
    """Middle of the box around everything, to a ten-millionth of a degree."""
    points = np.vstack([ring for d in drawn for ring in d.rings])
    lon, lat = (points.min(axis=0) + points.max(axis=0)) / 2
    return round((float(lon) + 180) % 360 - 180, 7), round(float(lat), 7)


def _kind(d: Drawn, file: str) -> str:
    known = ("field", *keep_off_kinds(), *PLACES)
    raw = d.properties.get("kind")
    if raw is None or raw == "":
        if d.shape == "polygon" or (d.shape == "line" and not _named_kind(d)):
            return "field"
        raw = _named_kind(d)
        if not raw:
            refuse(file, "no_kind", d.label, at="kind", kinds=", ".join(known[1:]))
    kind = _plain(raw) if isinstance(raw, str) else ""
    if kind not in known:
        near = get_close_matches(kind, known, 1)
        refuse(file, "kind", d.label, at="kind", kind=tidy(raw) or "?", kinds=", ".join(near or known))
    return kind


def _plain(raw: str) -> str:
    return re.sub(r"[\s_-]+", "_", raw.strip().lower())


def _named_kind(d: Drawn) -> str | None:
    """A point or line called "well" is a well: walkers and KML drawings have names and no properties."""
    kind = _plain(d.name or "")
    return kind if kind in (*keep_off_kinds(), *PLACES) else None


def _number(d: Drawn, key: str, file: str, least: float = 0.0, most: float = 500.0) -> float | None:
    raw = d.properties.get(key)
    if raw is None or raw == "":
        return None
    try:
        usable = isinstance(raw, str | int | float | np.number) and not isinstance(raw, bool)
        value = float(raw) if usable else None  # type: ignore[arg-type]
    except (ValueError, OverflowError):
        value = None
    if value is None or not isfinite(value) or not least <= value <= most:
        refuse(file, "number", d.label, at=key, value=tidy(raw) or "?", least=least, most=most)
    return value


def _plot(d: Drawn, file: str, remarks: list[Remark]) -> list[Polygon]:
    if d.shape == "point":
        refuse(file, "point_field", d.label, at="geometry")
    _check_size(d, file)
    return mended_polygons(closed_line(d, file, remarks) if d.shape == "line" else d, file, remarks)


def _check_size(d: Drawn, file: str) -> None:
    for n, ring in enumerate(d.rings, 1):
        if np.ptp(ring, axis=0).max() > MOST_FIELD_M:
            off = np.hypot(*(ring - np.median(ring, axis=0)).T)
            refuse(
                file,
                "too_wide",
                d.label,
                at="coordinates",
                ring=n,
                corner=int(np.argmax(off)) + 1,
                km=float(np.ptp(ring, axis=0).max()) / 1000,
                most_km=MOST_FIELD_M / 1000,
            )


def _thing(d: Drawn, kind: str, file: str, remarks: list[Remark]) -> _Thing:
    if d.shape == "polygon":
        _check_size(d, file)
        shape: BaseGeometry = MultiPolygon([Polygon(p.exterior) for p in mended_polygons(d, file, remarks)])
        if len(d.rings) > 1:
            remarks.append(remark("island", d.label))
    elif d.shape == "line":
        shape = LineString(mended_line(d, file))
    else:
        shape = PointShape(d.rings[0][0])
    if kind in PLACES:
        return _Thing(d, kind, shape.centroid, 0.0, "")
    rule = table("keep_off")[kind]
    own = _number(d, "buffer", file, rule["least"], rule["most"])
    return _Thing(d, kind, shape, *((rule["value"], rule["source"]) if own is None else (own, "")))


def _ring(closed: BaseGeometry, *, ccw: bool = True) -> Ring:
    points = shapely.get_coordinates(closed)[:-1].tolist()
    return tuple((x, y) for x, y in (points if closed.is_ccw == ccw else points[::-1]))


def _fields(plots: list[tuple[Drawn, list[Polygon]]], file: str, remarks: list[Remark]) -> tuple[Field, ...]:
    """Fields with names of their own; the same ground twice counts once, ground in two fields is refused."""
    fields: list[Field] = []
    shapes: list[Polygon] = []
    labels: list[str] = []
    seen: dict[bytes, str] = {}
    ids: dict[str, str] = {}
    for d, parts in plots:
        fresh = []
        for part in parts:
            key = shapely.to_wkb(shapely.set_precision(part, 0.01).normalize())
            if key in seen:
                remarks.append(remark("same_ground", d.label, other=seen[key]))
            else:
                seen[key] = d.label
                fresh.append(part)
        if len(fresh) > 1:
            remarks.append(remark("in_parts", d.label, n=len(fresh)))
        base = d.id or _slug(d.name) or f"field-{len(fields) + 1}"
        for n, part in enumerate(fresh, 1):
            id_ = _unused(f"{base}-{n}" if len(fresh) > 1 else base, ids, d.label, remarks)
            margin = _number(d, "margin", file, 0.0, MOST_MARGIN_M)
            fields.append(
                Field(
                    id=id_,
                    name=d.name or id_,
                    outer=_ring(part.exterior),
                    holes=tuple(_ring(h, ccw=False) for h in part.interiors),
                    margin_m=MARGIN_M if margin is None else margin,
                    hay_shut=hay_of(d, file),
                )
            )
            shapes.append(part)
            labels.append(d.label)
    if len(fields) > MOST_FIELDS:
        refuse(file, "too_many_fields", most=MOST_FIELDS)
    _check_overlaps(shapes, labels, file, remarks)
    return tuple(fields)


def _slug(name: str | None) -> str:
    return re.sub(r"[^\w]+", "-", (name or "").lower()).strip("-")


def _unused(base: str, ids: dict[str, str], label: str, remarks: list[Remark]) -> str:
    """An id nobody has yet. `ids`: by id, the feature that has it; parts of one feature are told nothing."""
    id_, n = base, 1
    while id_ in ids:
        n += 1
        id_ = f"{base}-{n}"
    if n > 1 and ids[base] != label:
        remarks.append(remark("id_twice", label, id=base, new=id_))
    ids[id_] = label
    return id_


def _check_overlaps(shapes: list[Polygon], labels: list[str], file: str, remarks: list[Remark]) -> None:
    faults: list[Fault] = []
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    for i, j in sorted((int(i), int(j)) for i, j in zip(one, other, strict=True) if i < j):
        m2 = shapes[i].intersection(shapes[j]).area
        if m2 > OVERLAP * min(shapes[i].area, shapes[j].area):
            try:
                refuse(file, "overlap", labels[j], at="geometry", other=labels[i], m2=m2)
            except BadInput as error:
                faults += error.faults
            if len(faults) >= MOST_FAULTS:
                break
        elif m2 > LEAST_OVERLAP_M2:
            remarks.append(remark("overlap", labels[j], other=labels[i], m2=m2))
    _raise(faults)


def _with_things(
    fields: tuple[Field, ...], things: list[_Thing], file: str, remarks: list[Remark]
) -> tuple[Field, ...]:
    """Each field with the things that reach it."""
    shapes = [Polygon(f.outer, f.holes) for f in fields]
    tree = shapely.STRtree(shapes)
    ids: dict[str, str] = {}
    exclusions: list[list[Exclusion]] = [[] for _ in fields]
    places: dict[str, list[list[Point]]] = {kind: [[] for _ in fields] for kind in PLACES}
    for number, thing in enumerate(things, 1):
        own = thing.drawn.properties.get("field")
        if thing.kind in PLACES:
            hit = [i for i, f in enumerate(fields) if own is not None and f.id == tidy(own)]
            if own is not None and not hit:
                refuse(file, "which_field", thing.drawn.label, at="field", field=tidy(own) or "?")
            hit = hit or [int(i) for i in tree.query(thing.shape, predicate="dwithin", distance=BESIDE_M)]
            if not hit:
                nearest = int(tree.nearest(thing.shape))
                hit = [nearest] if shapes[nearest].distance(thing.shape) <= NEAR_M else []
            for i in hit:
                places[thing.kind][i].append((thing.shape.x, thing.shape.y))
        else:
            base = thing.drawn.id or _slug(thing.drawn.name) or f"{thing.kind}-{number}"
            parts = list(getattr(thing.shape, "geoms", [thing.shape]))
            hit = []
            for n, part in enumerate(parts, 1):
                id_ = _unused(f"{base}-{n}" if len(parts) > 1 else base, ids, thing.drawn.label, remarks)
                exclusion = _exclusion(id_, thing, part)
                reached = [int(i) for i in tree.query(part, predicate="dwithin", distance=thing.buffer_m)]
                for i in reached:
                    exclusions[i].append(exclusion)
                hit += reached
        if not hit:
            remarks.append(remark("reaches_no_field", thing.drawn.label))
    return tuple(
        replace(
            f,
            exclusions=tuple(exclusions[i]),
            gates=tuple(places["gate"][i]),
            water=tuple(places["water_point"][i]),
        )
        for i, f in enumerate(fields)
    )


def _exclusion(id_: str, thing: _Thing, part: BaseGeometry) -> Exclusion:
    shape: Literal["ring", "line", "point"]
    if isinstance(part, Polygon):
        shape, points = "ring", _ring(part.exterior)
    else:
        shape = "line" if isinstance(part, LineString) else "point"
        points = tuple((x, y) for x, y in shapely.get_coordinates(part).tolist())
    return Exclusion(id_, thing.kind, shape, points, thing.buffer_m, thing.source)
