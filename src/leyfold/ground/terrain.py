"""Heights of the ground: read, sampled, and what they say of slope, contour and ground too steep.

A grid tells of nothing smaller than its cell: ruts, tussocks and burrows do not show on 1 m cells.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Polygon

from leyfold.farm.tables import table
from leyfold.ground.ascii_grid import is_ascii_grid, read_ascii_grid
from leyfold.ground.drawn import Floats, refuse
from leyfold.ground.flat import flat_crs
from leyfold.ground.geojson import tidy
from leyfold.ground.inset import outline, polygons
from leyfold.nouns.land import Exclusion, Field, Land, Terrain

__all__ = ["height_at", "lie_of", "on_terrain", "read_terrain", "slope_at", "steep_ground"]

MOST_CELLS = 16_000_000
AROUND_M = 20.0
COVERED = 0.5
"""A field of which less than this share has heights is not covered."""
FLAT = 0.01
"""Below a rise of 1 in 100 a field has no contour worth following."""


def read_terrain(path: Path, land: Land, *, name: str) -> Terrain:
    """Heights under the land from a GeoTIFF or ASCII grid, in the land's metres at the grid's own cell size.

    Heights must be metres. A GeoTIFF needs the extra `gis`. Raises BadInput where the file cannot be read,
    says no coordinate system, has other units, or does not reach every field of the land.
    """
    if not path.is_file():
        refuse(name, "missing")
    with path.open("rb") as start:
        head = start.read(64)
    corners = np.vstack([f.outer for f in land.fields])
    west, south = corners.min(axis=0) - AROUND_M
    east, north = corners.max(axis=0) + AROUND_M
    box = (float(west), float(south), float(east), float(north))
    read = _from_ascii if is_ascii_grid(head) else _from_geotiff
    terrain = read(path, (land.origin_lon_deg, land.origin_lat_deg), box, name)
    if not np.isfinite(terrain.height_m).any():
        refuse(name, "grid_elsewhere")
    bare = [f.name for f in land.fields if not _known(f, terrain)]
    if bare:
        refuse(name, "grid_short", fields=", ".join(bare))
    return terrain


def _known(field: Field, terrain: Terrain) -> bool:
    """Whether heights are known in most of a field."""
    x, y, rows, columns = _cells_within(field, terrain)
    inside = shapely.contains_xy(outline(field), x, y)
    here = np.isfinite(terrain.height_m[rows[inside], columns[inside]])
    return bool(here.size and here.mean() >= COVERED)


def _from_ascii(
    path: Path, origin: tuple[float, float], box: tuple[float, float, float, float], name: str
) -> Terrain:
    grid = read_ascii_grid(path, name)
    cell = grid.cell_m(origin)
    west, _, _, north = box
    columns, rows = _cells(box, cell, name)
    x = west + (np.arange(columns) + 0.5) * cell
    y = north - (np.arange(rows) + 0.5) * cell
    own = Terrain(grid.west, grid.north, grid.cell, grid.heights, name)
    across, down = np.meshgrid(x, y)
    heights = height_at(own, *grid.place(across, down, origin))
    return Terrain(west, north, cell, heights, name)


def _cells(box: tuple[float, float, float, float], cell: float, name: str) -> tuple[int, int]:
    west, south, east, north = box
    columns, rows = (int(np.ceil(span / cell)) for span in (east - west, north - south))
    if columns * rows > MOST_CELLS:
        refuse(name, "grid_too_fine", most=MOST_CELLS)
    return columns, rows


def _from_geotiff(
    path: Path, origin: tuple[float, float], box: tuple[float, float, float, float], name: str
) -> Terrain:
    try:
        import rasterio
        from rasterio.enums import Resampling
        from rasterio.errors import CRSError, RasterioError
        from rasterio.vrt import WarpedVRT
        from rasterio.warp import calculate_default_transform
    except ImportError:
        refuse(name, "extra")
    flat = flat_crs(origin)
    west, _, _, north = box
    try:
        # Named outright: any other driver might follow the file to further ones.
        with rasterio.open(path, driver="GTiff") as grid:
            if grid.crs is None:
                refuse(name, "no_crs")
            unit = (grid.units[0] or "m").lower()
            if unit not in ("m", "metre", "meter", "metres", "meters"):
                refuse(name, "height_unit", unit=tidy(unit) or "?")
            near, _, _ = calculate_default_transform(grid.crs, flat, grid.width, grid.height, *grid.bounds)
            cell = float(abs(near.a))
            columns, rows = _cells(box, cell, name)
            to_map = rasterio.Affine(cell, 0.0, west, 0.0, -cell, north)
            with WarpedVRT(
                grid, crs=flat, transform=to_map, width=columns, height=rows, resampling=Resampling.bilinear
            ) as turned:
                heights = turned.read(1, masked=True).astype(float).filled(np.nan)
    except (RasterioError, CRSError, ValueError) as error:
        refuse(name, "not_opened", why=tidy(str(error)) or "?")
    return Terrain(west, north, cell, heights, name)


def height_at(terrain: Terrain, x_m: Floats, y_m: Floats) -> Floats:
    """Heights in metres at points of any shape, bilinear between cell middles; NaN where unknown."""
    return _sample(terrain, terrain.height_m, x_m, y_m)


def slope_at(terrain: Terrain, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
    """Slope as rise over run, and direction of the contour in degrees from 0 up to 180, at points."""
    east, north = _gradient(terrain)
    gx, gy = _sample(terrain, east, x_m, y_m), _sample(terrain, north, x_m, y_m)
    return np.hypot(gx, gy), np.degrees(np.arctan2(gx, -gy)) % 180.0


def lie_of(field: Field, terrain: Terrain) -> tuple[float, float | None]:
    """Slope of the plane that fits a field's ground best, and the direction of its contour.

    None on ground flatter than 1 in 100, or where fewer than three heights are known inside.
    """
    x, y, rows, columns = _cells_within(field, terrain)
    inside = shapely.contains_xy(outline(field), x, y)
    x, y, z = x[inside], y[inside], terrain.height_m[rows[inside], columns[inside]]
    known = np.isfinite(z)
    if known.sum() < 3:
        return 0.0, None
    x, y, z = x[known], y[known], z[known]
    against = np.column_stack((x - x.mean(), y - y.mean()))
    (gx, gy), *_ = np.linalg.lstsq(against, z - z.mean(), rcond=None)
    slope = float(np.hypot(gx, gy))
    return slope, float(np.degrees(np.arctan2(gx, -gy)) % 180.0) if slope >= FLAT else None


def steep_ground(field: Field, terrain: Terrain, *, steepest: float) -> tuple[Exclusion, ...]:
    """Ground of a field steeper than `steepest` (rise over run), as rings that leave none of it out.

    Flat ground with steep ground all round it is out of reach, and kept off as well.
    """
    if not steepest > 0:
        raise ValueError(f"steepest must be above 0, not {steepest}")
    _, _, rows, columns = _cells_within(field, terrain)
    if not rows.size:
        return ()
    r0, r1, c0, c1 = rows.min(), rows.max() + 1, columns.min(), columns.max() + 1
    east, north = _gradient(terrain)
    steep = np.hypot(east, north)[r0:r1, c0:c1] > steepest
    # Runs of steep cells along each row: one box each.
    edge = np.diff(np.pad(steep, ((0, 0), (1, 1))).astype(int), axis=1)
    (row, start), (_, stop) = np.nonzero(edge == 1), np.nonzero(edge == -1)
    cell = terrain.cell_m
    left, right = (terrain.west_m + (c0 + c) * cell for c in (start, stop))
    top = terrain.north_m - (r0 + row) * cell
    ground = shapely.union_all(shapely.box(left, top - cell, right, top))
    ground = ground.buffer(cell / 2, join_style="mitre").simplify(cell / 2)
    rule = table("keep_off")["slope"]
    return tuple(
        Exclusion(
            f"{field.id}-steep-{n}",
            "slope",
            "ring",
            tuple(Polygon(p.exterior).exterior.coords)[:-1],
            rule["value"],
            terrain.source,
        )
        for n, p in enumerate(polygons(ground), 1)
        if p.intersects(outline(field))
    )


def on_terrain(land: Land, terrain: Terrain, *, steepest: float) -> Land:
    """The land with each field's slope and contour, and its ground steeper than `steepest` kept off."""
    fields = []
    for f in land.fields:
        slope, contour = lie_of(f, terrain)
        steep = steep_ground(f, terrain, steepest=steepest)
        fields.append(replace(f, slope=slope, contour_deg=contour, exclusions=(*f.exclusions, *steep)))
    return replace(land, fields=tuple(fields))


def _gradient(terrain: Terrain) -> tuple[Floats, Floats]:
    """Rise towards east and towards north, central differences."""
    down, across = np.gradient(terrain.height_m, terrain.cell_m)
    return np.asarray(across), np.asarray(-down)


def _cells_within(field: Field, terrain: Terrain) -> tuple[Floats, Floats, np.ndarray, np.ndarray]:
    """Middles of the cells in the box around a field, and their rows and columns."""
    (x0, y0), (x1, y1) = np.min(field.outer, axis=0), np.max(field.outer, axis=0)
    height, width = terrain.height_m.shape
    c = np.arange(
        max(0, int((x0 - terrain.west_m) // terrain.cell_m)),
        min(width, int((x1 - terrain.west_m) // terrain.cell_m) + 1),
    )
    r = np.arange(
        max(0, int((terrain.north_m - y1) // terrain.cell_m)),
        min(height, int((terrain.north_m - y0) // terrain.cell_m) + 1),
    )
    rows, columns = (a.ravel() for a in np.meshgrid(r, c, indexing="ij"))
    x = terrain.west_m + (columns + 0.5) * terrain.cell_m
    y = terrain.north_m - (rows + 0.5) * terrain.cell_m
    return x, y, rows, columns


def _sample(terrain: Terrain, values: Floats, x_m: Floats, y_m: Floats) -> Floats:
    height, width = values.shape
    c = (np.asarray(x_m, float) - terrain.west_m) / terrain.cell_m - 0.5
    r = (terrain.north_m - np.asarray(y_m, float)) / terrain.cell_m - 0.5
    outside = ~((c >= 0) & (c <= width - 1) & (r >= 0) & (r <= height - 1))
    c, r = np.where(outside, 0.0, c), np.where(outside, 0.0, r)
    c0, r0 = np.minimum(c.astype(int), max(width - 2, 0)), np.minimum(r.astype(int), max(height - 2, 0))
    c1, r1 = np.minimum(c0 + 1, width - 1), np.minimum(r0 + 1, height - 1)
    u, v = c - c0, r - r0
    mixed = (1 - v) * ((1 - u) * values[r0, c0] + u * values[r0, c1]) + v * (
        (1 - u) * values[r1, c0] + u * values[r1, c1]
    )
    return np.where(outside, np.nan, mixed)
