"""GeoJSON (RFC 7946) read, strictly, and written."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import Any

import numpy as np

from leyfold.ground.drawn import (
    MOST_CORNERS,
    MOST_FEATURES,
    MOST_RING_CORNERS,
    Drawn,
    Floats,
    Remark,
    Source,
    called,
    refuse,
    remark,
)
from leyfold.ground.flat import to_degrees
from leyfold.nouns.land import Exclusion, Field, Land, Point

__all__ = ["collection", "feature_out", "lon_lat", "parse_geojson", "ring_out", "tidy", "write_geojson"]

DEGREES = "OGC:CRS84"
PLACES = 8
"""Decimals of a degree written: 1 mm of ground."""

_CRS = re.compile(
    r"urn:ogc:def:crs:(OGC:[0-9.]*:CRS84)|(?:urn:ogc:def:crs:EPSG:[0-9.]*:|EPSG:)([0-9]{4,6})", re.IGNORECASE
)
_SHAPES = {"Point": "point", "LineString": "line", "Polygon": "polygon"}
_MOST_NAME = 60


def tidy(raw: object) -> str | None:
    """A name or id fit to be shown: printable, one line, at most 60 characters. None if nothing is left."""
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        return None
    text = " ".join("".join(c if c.isprintable() else " " for c in str(raw)[:1000]).split())
    return text[:_MOST_NAME].strip() or None


def parse_geojson(text: str, file: str) -> Source:
    """Shapes of a GeoJSON text, in degrees, longitude first, or in the coordinates its old `crs` names.

    Raises BadInput for anything the standard does not allow, naming the feature and the corner.
    """
    if text.count("[") > 2 * MOST_CORNERS:
        refuse(file, "too_many_corners", most=MOST_CORNERS)
    whole = _load(text, file)
    if not isinstance(whole, dict) or not isinstance(whole.get("type"), str):
        refuse(file, "not_geojson")
    crs, remarks = _crs(whole, file)
    drawn: list[Drawn] = []
    for number, feature in enumerate(_features(whole, file), 1):
        drawn += _feature(feature, number, file, remarks)
    if sum(len(ring) for d in drawn for ring in d.rings) > MOST_CORNERS:
        refuse(file, "too_many_corners", most=MOST_CORNERS)
    return Source(file, tuple(drawn), crs, tuple(remarks))


def _load(text: str, file: str) -> Any:
    def constant(word: str) -> None:
        line = text[: max(text.find(word), 0)].count("\n") + 1
        refuse(file, "not_a_number", line=line, word=word)

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            keys = [k for k, _ in pairs]
            refuse(file, "key_twice", key=tidy(next(k for k in keys if keys.count(k) > 1)))
        return found

    try:
        return json.loads(text, parse_constant=constant, object_pairs_hook=once)
    except json.JSONDecodeError as error:
        refuse(file, "not_json", line=error.lineno, column=error.colno)
    except RecursionError:
        refuse(file, "nested")
    except ValueError:  # an integer of thousands of digits
        refuse(file, "not_a_number", word="…")


def _crs(whole: dict[str, Any], file: str) -> tuple[str, list[Remark]]:
    """GeoJSON before 2016 could name its coordinates; since then they are WGS 84 degrees."""
    crs = whole.get("crs")
    if crs is None:
        return DEGREES, []
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    named = _CRS.fullmatch(name.strip() if isinstance(name, str) else "")
    if named is None:
        refuse(file, "crs", at="crs")
    if named[1] or named[2] == "4326":
        return DEGREES, []
    return f"EPSG:{named[2]}", [remark("old_crs", crs=f"EPSG:{named[2]}")]


def _features(whole: dict[str, Any], file: str) -> list[dict[str, Any]]:
    kind = whole["type"]
    if kind == "FeatureCollection":
        features = whole.get("features")
        if not isinstance(features, list):
            refuse(file, "no_list", at="features")
        if len(features) > MOST_FEATURES:
            refuse(file, "too_many_features", most=MOST_FEATURES)
        for number, feature in enumerate(features, 1):
            if not isinstance(feature, dict) or feature.get("type") != "Feature":
                refuse(file, "not_a_feature", called(number, None))
        return features
    if kind == "Feature":
        return [whole]
    return [{"type": "Feature", "properties": None, "geometry": whole}]


def _feature(feature: dict[str, Any], number: int, file: str, remarks: list[Remark]) -> Iterator[Drawn]:
    properties = feature.get("properties")
    if properties is None:
        properties = {}
    if not isinstance(properties, dict):
        refuse(file, "properties", called(number, None), at="properties")
    lower = {k.lower(): v for k, v in properties.items()}
    name = tidy(lower.get("name"))
    id_ = tidy(feature.get("id")) or tidy(lower.get("id"))
    label = called(number, name or id_)
    geometry = feature.get("geometry")
    if geometry is None:
        remarks.append(remark("no_shape", label))
        return
    for shape, rings in _shapes(geometry, label, file, depth=0):
        yield Drawn(label, shape, rings, id_, name, lower)  # type: ignore[arg-type]


def _shapes(geometry: Any, label: str, file: str, depth: int) -> Iterator[tuple[str, tuple[Floats, ...]]]:
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if kind == "GeometryCollection" and depth < 4:
        for part in _list(geometry.get("geometries"), label, file, "geometries"):
            yield from _shapes(part, label, file, depth + 1)
        return
    single = kind.removeprefix("Multi") if isinstance(kind, str) else ""
    if single not in _SHAPES:
        refuse(file, "shape", label, at="geometry", kind=tidy(kind) or "?")
    parts = geometry.get("coordinates")
    for part in _list(parts, label, file, "coordinates") if kind != single else [parts]:
        if single == "Point":
            yield "point", (_positions([part], label, file, 1),)
        elif single == "LineString":
            yield "line", (_positions(part, label, file, 1),)
        else:
            rings = _list(part, label, file, "coordinates")
            if not rings:
                refuse(file, "empty", label, at="coordinates")
            yield "polygon", tuple(_positions(ring, label, file, n) for n, ring in enumerate(rings, 1))


def _list(raw: Any, label: str, file: str, at: str) -> list[Any]:
    if not isinstance(raw, list):
        refuse(file, "no_list", label, at=at)
    return raw


def _positions(raw: Any, label: str, file: str, ring: int) -> Floats:
    corners = _list(raw, label, file, "coordinates")
    if not corners:
        refuse(file, "empty", label, at="coordinates")
    if len(corners) > MOST_RING_CORNERS:
        refuse(file, "ring_too_long", label, at="coordinates", n=len(corners), most=MOST_RING_CORNERS)
    found = np.empty((len(corners), 2))
    for i, corner in enumerate(corners):
        if (
            not isinstance(corner, list)
            or len(corner) < 2
            or any(type(number) not in (int, float) for number in corner[:2])
        ):
            refuse(file, "corner", label, at="coordinates", ring=ring, corner=i + 1)
        try:
            found[i] = corner[:2]
        except OverflowError:
            found[i] = np.inf
    bad = np.flatnonzero(~np.isfinite(found).all(axis=1))
    if bad.size:
        refuse(file, "not_finite", label, at="coordinates", ring=ring, corner=int(bad[0]) + 1)
    return found


def write_geojson(land: Land) -> str:
    """The land as GeoJSON: fields, then exclusions, gates and water points. Outer rings counter-clockwise.

    Degrees with eight decimals, so that reading it again gives the same ground to a millimetre.
    """
    features: list[dict[str, Any]] = []
    exclusions: dict[str, Exclusion] = {}
    for field in land.fields:
        about: dict[str, Any] = {"kind": "field", "name": field.name, "margin": field.margin_m}
        if field.hay_shut:
            spans = ((span.first, span.until - timedelta(days=1)) for span in field.hay_shut)
            about["hay"] = " ".join(f"{first}/{last}" for first, last in spans)
        features.append(feature_out(field.id, about, "Polygon", _polygon_out(field, land)))
        exclusions |= {e.id: e for e in field.exclusions}
    for e in exclusions.values():
        properties: dict[str, Any] = {"kind": e.kind, "buffer": e.buffer_m}
        points = lon_lat(e.points, land)
        if e.shape == "ring":
            features.append(feature_out(e.id, properties, "Polygon", [ring_out(points, ccw=True)]))
        elif e.shape == "line":
            features.append(feature_out(e.id, properties, "LineString", points))
        else:
            features.append(feature_out(e.id, properties, "Point", points[0]))
    for field in land.fields:
        for kind, places in (("gate", field.gates), ("water_point", field.water)):
            for place in lon_lat(places, land):
                features.append(feature_out(None, {"kind": kind, "field": field.id}, "Point", place))
    return collection(features)


def collection(features: Iterable[dict[str, Any]]) -> str:
    """Features as one text, a line each."""
    body = ",\n".join(json.dumps(f, ensure_ascii=False, separators=(",", ":")) for f in features)
    return f'{{"type":"FeatureCollection","features":[\n{body}\n]}}\n'


def feature_out(id_: str | None, properties: dict[str, Any], kind: str, places: object) -> dict[str, Any]:
    """One feature; without an id where there is none."""
    feature: dict[str, Any] = {"type": "Feature"} if id_ is None else {"type": "Feature", "id": id_}
    return feature | {"properties": properties, "geometry": {"type": kind, "coordinates": places}}


def lon_lat(points: tuple[Point, ...], land: Land) -> list[list[float]]:
    """Points of the farm's map in degrees, rounded to what is written."""
    if not points:
        return []
    origin = (land.origin_lon_deg, land.origin_lat_deg)
    rounded: list[list[float]] = np.round(to_degrees(np.asarray(points), origin), PLACES).tolist()
    return rounded


def _polygon_out(field: Field, land: Land) -> list[list[list[float]]]:
    outer = ring_out(lon_lat(field.outer, land), ccw=True)
    return [outer, *(ring_out(lon_lat(hole, land), ccw=False) for hole in field.holes)]


def ring_out(points: list[list[float]], *, ccw: bool) -> list[list[float]]:
    """A closed ring, run round the way asked for."""
    # Turned after rounding: rounding itself can turn a sliver round.
    p = np.asarray(points)
    p = p - p[0]
    turned = float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1])) > 0
    ring = points if turned == ccw else points[::-1]
    return [*ring, ring[0]]
