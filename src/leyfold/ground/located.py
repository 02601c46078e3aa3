"""File coordinates to degrees at the right place on earth: coordinate system, and exchanged numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from leyfold.ground.drawn import Drawn, Floats, Remark, Source, refuse, remark
from leyfold.ground.geojson import DEGREES

__all__ = ["FAR_KM", "distance_km", "located"]

FAR_KM = 100.0
"""No farm's fields lie further than this from its place or from one another."""

_EARTH_KM = 6371.0


def distance_km(a: Floats, b: Floats) -> Floats:
    """Great-circle distance between (n, 2) longitude, latitude in degrees."""
    (lon_a, lat_a), (lon_b, lat_b) = np.radians(a).T, np.radians(b).T
    h = np.sin((lat_b - lat_a) / 2) ** 2 + np.cos(lat_a) * np.cos(lat_b) * np.sin((lon_b - lon_a) / 2) ** 2
    return np.asarray(2 * _EARTH_KM * np.arcsin(np.sqrt(np.clip(h, 0, 1))))


def located(source: Source, place: tuple[float, float] | None) -> tuple[tuple[Drawn, ...], list[Remark]]:
    """Shapes in degrees, longitude first. `place`: the farm's (latitude, longitude), which settles doubts.

    Raises BadInput where the numbers cannot be degrees or lie too far from the place or from the rest.
    """
    drawn, remarks = _in_degrees(source, place)
    if not drawn:
        return (), remarks
    home = None if place is None else np.array([[place[1], place[0]]])
    if home is None:
        for d in drawn:
            _check_range(source.file, d)
        middles = np.vstack([_middle(d) for d in drawn])
        home = middles[[int(np.argmin([np.median(distance_km(middles, m[None])) for m in middles]))]]
        far = distance_km(middles, np.broadcast_to(home, middles.shape)) > FAR_KM
        if far.any():
            refuse(source.file, "far_apart", drawn[int(np.argmax(far))].label, far_km=FAR_KM)
        return _unwrapped(drawn, home), remarks
    kept: list[Drawn] = []
    turned: list[str] = []
    for d in drawn:
        if _near(d, home):
            kept.append(d)
        elif _near(swapped := replace(d, rings=tuple(ring[:, ::-1].copy() for ring in d.rings)), home):
            kept.append(swapped)
            turned.append(d.label)
        else:
            _check_range(source.file, d)
            km = float(distance_km(_middle(d), home)[0])
            refuse(source.file, "far_from_place", d.label, km=km, far_km=FAR_KM)
    if len(turned) == len(drawn):
        remarks.append(remark("swapped_all"))
    else:
        remarks += [remark("swapped", label) for label in dict.fromkeys(turned)]
    return _unwrapped(tuple(kept), home), remarks


def _in_degrees(source: Source, place: tuple[float, float] | None) -> tuple[tuple[Drawn, ...], list[Remark]]:
    remarks = list(source.remarks)
    if source.crs == DEGREES or not source.drawn:
        return source.drawn, remarks
    if source.crs is None:
        home = None if place is None else np.array([[place[1], place[0]]])
        if home is None or not all(_near(d, home) for d in source.drawn):
            refuse(source.file, "no_crs")
        return source.drawn, [*remarks, remark("no_crs")]
    try:
        crs = CRS.from_user_input(source.crs)
        if not (crs.is_geographic or crs.is_projected):
            refuse(source.file, "crs", at="crs")
        turn = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
        rings = [tuple(np.column_stack(turn.transform(*ring.T)) for ring in d.rings) for d in source.drawn]
    except (CRSError, ProjError):
        refuse(source.file, "crs", at="crs")
    for d, new in zip(source.drawn, rings, strict=True):
        for n, ring in enumerate(new, 1):
            bad = np.flatnonzero(~np.isfinite(ring).all(axis=1))
            if bad.size:
                refuse(source.file, "off_the_map", d.label, ring=n, corner=int(bad[0]) + 1)
    return tuple(replace(d, rings=r) for d, r in zip(source.drawn, rings, strict=True)), remarks


def _middle(d: Drawn) -> Floats:
    """One point in the midst of a shape: medians, so that one stray corner does not move it."""
    return np.median(d.rings[0], axis=0)[None]


def _near(d: Drawn, home: Floats) -> bool:
    return _outside(d) is None and bool(distance_km(_middle(d), home)[0] <= FAR_KM)


def _outside(d: Drawn) -> tuple[int, int] | None:
    """Ring and corner, from 1, of the first point that is no longitude and latitude."""
    for n, ring in enumerate(d.rings, 1):
        bad = np.flatnonzero((np.abs(ring) > (180.0, 90.0)).any(axis=1))
        if bad.size:
            return n, int(bad[0]) + 1
    return None


def _check_range(file: str, d: Drawn) -> None:
    bad = _outside(d)
    if bad:
        ring, corner = bad
        x, y = d.rings[ring - 1][corner - 1].tolist()
        refuse(file, "not_degrees", d.label, at="coordinates", ring=ring, corner=corner, x=x, y=y)


def _unwrapped(drawn: tuple[Drawn, ...], home: Floats) -> tuple[Drawn, ...]:
    """Longitudes made continuous about the land, so that a field may lie across the 180th meridian."""
    west = home[0, 0] - 180.0

    def turn(ring: Floats) -> Floats:
        lon = ring[:, 0]
        return (
            ring
            if np.all((lon >= west) & (lon < west + 360))
            else np.column_stack(((lon - west) % 360.0 + west, ring[:, 1]))
        )

    return tuple(replace(d, rings=tuple(turn(r) for r in d.rings)) for d in drawn)
