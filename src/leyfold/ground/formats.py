"""Any land file to its shapes: GeoJSON at once; KML, GPX, GeoPackage and Shapefile through pyogrio.

The kind of file is told from its first bytes, never from its name, and only these kinds are handed on:
the library behind pyogrio would open others that fetch further files.
"""

from __future__ import annotations

import io
import re
import struct
import tempfile
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np
import shapely

from leyfold.ground.drawn import (
    MOST_BYTES,
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
from leyfold.ground.geojson import DEGREES, parse_geojson, tidy

__all__ = ["open_source"]

_SHAPEFILE = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_UNNAMED = {
    "fid",
    "description",
    "timestamp",
    "begin",
    "end",
    "altitudemode",
    "tessellate",
    "extrude",
    "visibility",
    "draworder",
    "icon",
    "snippet",
}


def open_source(source: str | bytes | Path, file: str) -> Source:
    """Shapes of a file, or of its contents. Raises BadInput for what cannot be read."""
    if isinstance(source, Path):
        return _open_path(source, file)
    data = source.encode("utf-8", "surrogatepass") if isinstance(source, str) else source
    if len(data) > MOST_BYTES:
        refuse(file, "too_big", most_mb=MOST_BYTES // 1_000_000)
    if not data.strip():
        refuse(file, "nothing")
    if data.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return _open_zip(data, file)
    if data.startswith(b"SQLite format 3\0"):
        return _through_gdal({".gpkg": data}, file)
    if data.startswith(b"\x00\x00\x27\x0a"):
        refuse(file, "lone_shp")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        refuse(file, "not_utf8")
    if text.lstrip().startswith("<"):
        return _open_xml(text, file)
    return parse_geojson(text, file)


def _open_path(path: Path, file: str) -> Source:
    try:
        if not path.is_file():
            refuse(file, "missing")
        if path.stat().st_size > MOST_BYTES:
            refuse(file, "too_big", most_mb=MOST_BYTES // 1_000_000)
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        refuse(file, "unreadable", why=tidy(getattr(error, "strerror", None)) or type(error).__name__)
    if not data.startswith(b"\x00\x00\x27\x0a"):
        return open_source(data, file)
    beside = {p.suffix.lower(): p for p in path.parent.iterdir() if p.stem == path.stem and p.is_file()}
    parts = {end: beside[end] for end in _SHAPEFILE if end in beside}
    if sum(p.stat().st_size for p in parts.values()) > MOST_BYTES:
        refuse(file, "too_big", most_mb=MOST_BYTES // 1_000_000)
    return _open_shapefile({end: p.read_bytes() for end, p in parts.items()}, file)


def _open_zip(data: bytes, file: str) -> Source:
    """A zipped Shapefile or a KMZ: exactly one of them inside."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as bundle:
            entries = {
                e.filename: e for e in bundle.infolist() if not e.is_dir() and "__MACOSX" not in e.filename
            }
            kinds = {name: PurePosixPath(name.lower()).suffix for name in entries}
            main = [name for name, kind in kinds.items() if kind in (".shp", ".kml")]
            if len(main) != 1:
                refuse(file, "zip", n=len(main))
            stem = main[0][: -len(kinds[main[0]])]
            wanted = {
                kind: entries[name]
                for name, kind in kinds.items()
                if name == main[0] or (name[: -len(kind)] == stem and kind in _SHAPEFILE)
            }
            if sum(e.file_size for e in wanted.values()) > MOST_BYTES:
                refuse(file, "too_big", most_mb=MOST_BYTES // 1_000_000)
            contents: dict[str, bytes] = {}
            for kind, entry in wanted.items():
                with bundle.open(entry) as stream:  # a header may lie about the size
                    contents[kind] = stream.read(MOST_BYTES + 1)
                if len(contents[kind]) > MOST_BYTES:
                    refuse(file, "too_big", most_mb=MOST_BYTES // 1_000_000)
    except (
        zipfile.BadZipFile,
        zlib.error,
        struct.error,
        RuntimeError,
        EOFError,
        OSError,
        ValueError,
        LookupError,
    ):  # all that the library lets through from a damaged one
        refuse(file, "zip_broken")
    return open_source(contents[".kml"], file) if ".kml" in contents else _open_shapefile(contents, file)


def _open_shapefile(parts: dict[str, bytes], file: str) -> Source:
    lacking = [end for end in (".shp", ".shx") if end not in parts]
    if lacking:
        refuse(file, "shapefile_parts", lacking=" ".join(lacking))
    return _through_gdal(parts, file)


def _open_xml(text: str, file: str) -> Source:
    if re.search(r"<!(DOCTYPE|ENTITY)", text) or "OGRVRT" in text:
        refuse(file, "xml_entities")
    root = re.search(r"<(?:\w+:)?(\w+)[\s>]", re.sub(r"<\?.*?\?>|<!--.*?-->", "", text, flags=re.DOTALL))
    if root is None or root[1] not in ("kml", "gpx"):
        refuse(file, "other_xml", root=tidy(root[1]) if root else "?")
    return _through_gdal({f".{root[1]}": text.encode()}, file)


def _through_gdal(parts: dict[str, bytes], file: str) -> Source:
    """Read one data set, given as its files by their ends, the main one first.

    From a folder rather than from memory: layers without a name are called after the file.
    """
    try:
        import pyogrio  # noqa: F401
    except ImportError:
        refuse(file, "extra")
    main = next(end for end in (".shp", *parts) if end in parts)
    with tempfile.TemporaryDirectory() as folder:
        for end, data in parts.items():
            Path(folder, f"land{end}").write_bytes(data)
        return _read_layers(Path(folder, f"land{main}"), file, gpx=main == ".gpx")


def _read_layers(source: Path, file: str, *, gpx: bool) -> Source:
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError, FeatureError, GeometryError

    drawn: list[Drawn] = []
    remarks: list[Remark] = []
    systems: set[str | None] = set()
    try:
        # Its warnings are about what is found and judged here again (rings, fields, dates).
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            layers = [str(name) for name, kind in pyogrio.list_layers(source) if kind is not None]
            if gpx:
                layers = [name for name in layers if name in ("tracks", "routes", "waypoints")]
            for layer in layers:
                info = pyogrio.read_info(source, layer=layer, force_feature_count=True)
                if info["features"] > MOST_FEATURES:
                    refuse(file, "too_many_features", most=MOST_FEATURES)
                meta, _, shapes, columns = pyogrio.raw.read(source, layer=layer, force_2d=True)
                if shapes is None or not len(shapes):
                    continue
                systems.add(meta["crs"])
                names = [str(n).lower() for n in meta["fields"]]
                for row, wkb in enumerate(shapes):
                    values = dict(zip(names, (c[row] for c in columns), strict=True))
                    drawn += _drawn(wkb, values, len(drawn) + 1, file, remarks, gpx=gpx)
    except (
        DataLayerError,
        DataSourceError,
        FeatureError,
        GeometryError,
        ValueError,
        OverflowError,
        RuntimeError,
    ) as error:
        refuse(file, "not_opened", why=tidy(str(error).replace(f"{source.parent}/", "")) or "?")
    if len(systems) > 1:
        refuse(file, "crs_many")
    if sum(len(ring) for d in drawn for ring in d.rings) > MOST_CORNERS:
        refuse(file, "too_many_corners", most=MOST_CORNERS)
    crs = systems.pop() if systems else DEGREES
    return Source(file, tuple(drawn), None if _undefined(crs) else crs, tuple(remarks))


def _undefined(crs: str | None) -> bool:
    return not crs or "Undefined" in crs or "Unknown" in crs[:60]


def _drawn(
    wkb: bytes | None, values: dict[str, Any], number: int, file: str, remarks: list[Remark], *, gpx: bool
) -> Iterator[Drawn]:
    properties = {k: v for k, v in values.items() if k not in _UNNAMED and not _absent(v)}
    if gpx and "type" in properties:
        properties = {"kind": properties["type"], **properties}
    name, id_ = tidy(properties.get("name")), tidy(properties.get("id"))
    label = called(number, name or id_)
    if wkb is None:
        remarks.append(remark("no_shape", label))
        return
    try:
        geometry = shapely.from_wkb(wkb)
    except shapely.errors.GEOSException:
        try:
            geometry = shapely.from_wkb(wkb, on_invalid="fix")
        except shapely.errors.GEOSException:
            geometry = None
        if geometry is None:
            refuse(file, "shape", label, at="geometry", kind="?")
        remarks.append(remark("some_ring_open", label))
    if gpx and geometry.geom_type == "MultiLineString" and len(geometry.geoms) > 1:
        remarks.append(remark("track_joined", label, n=len(geometry.geoms)))
        geometry = shapely.LineString(np.concatenate([_xy(g) for g in geometry.geoms]))
    for shape, rings in _shapes(geometry, label, file):
        for ring, points in enumerate(rings, 1):
            if len(points) > MOST_RING_CORNERS:
                refuse(file, "ring_too_long", label, at="coordinates", n=len(points), most=MOST_RING_CORNERS)
            bad = np.flatnonzero(~np.isfinite(points).all(axis=1))
            if bad.size:
                refuse(file, "not_finite", label, at="coordinates", ring=ring, corner=int(bad[0]) + 1)
        yield Drawn(label, shape, rings, id_, name, properties)  # type: ignore[arg-type]


def _shapes(geometry: Any, label: str, file: str) -> Iterator[tuple[str, tuple[Floats, ...]]]:
    kind = geometry.geom_type
    if geometry.is_empty:
        refuse(file, "empty", label, at="geometry")
    if kind.startswith("Multi") or kind == "GeometryCollection":
        for part in geometry.geoms:
            yield from _shapes(part, label, file)
    elif kind == "Polygon":
        yield "polygon", tuple(_xy(r) for r in (geometry.exterior, *geometry.interiors))
    elif kind in ("LineString", "LinearRing", "Point"):
        yield "point" if kind == "Point" else "line", (_xy(geometry),)
    else:
        refuse(file, "shape", label, at="geometry", kind=kind)


def _xy(geometry: Any) -> Floats:
    return np.array(geometry.coords, dtype=float)[:, :2]


def _absent(value: object) -> bool:
    return value is None or (isinstance(value, float) and value != value)
