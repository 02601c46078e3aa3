"""An ASCII grid of heights (`ncols`, `nrows`, corner, `cellsize`, then rows from north to south).

The format of the Arc/Info ASCII raster, as elevation services give it out. What its numbers mean stands in a
`.prj` beside it; without one they are degrees, where they can be.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError

from leyfold.ground.drawn import Floats, refuse
from leyfold.ground.flat import flat_crs
from leyfold.ground.geojson import tidy

__all__ = ["AsciiGrid", "is_ascii_grid", "read_ascii_grid"]

MOST_BYTES = 200_000_000
KEYS = ("ncols", "nrows", "xllcorner", "yllcorner", "xllcenter", "yllcenter", "cellsize", "nodata_value")


class AsciiGrid:
    """Heights [row from the north, column] at the middles of cells, and the map they lie on. NaN: unknown."""

    def __init__(self, crs: CRS, west: float, north: float, cell: float, heights: Floats) -> None:
        self.crs, self.west, self.north, self.cell, self.heights = crs, west, north, cell, heights

    def cell_m(self, origin: tuple[float, float]) -> float:
        """The shorter side of a cell in metres, at the grid's middle."""
        rows, columns = self.heights.shape
        x, y = self.west + columns / 2 * self.cell, self.north - rows / 2 * self.cell
        to = Transformer.from_crs(self.crs, flat_crs(origin), always_xy=True)
        east, north = to.transform([x, x + self.cell, x], [y, y, y + self.cell])
        across = np.hypot(east[1] - east[0], north[1] - north[0])
        return float(min(across, np.hypot(east[2] - east[0], north[2] - north[0])))

    def place(self, x_m: Floats, y_m: Floats, origin: tuple[float, float]) -> tuple[Floats, Floats]:
        """Points of the farm's map on the grid's own."""
        to = Transformer.from_crs(flat_crs(origin), self.crs, always_xy=True)
        x, y = to.transform(x_m, y_m)
        return np.asarray(x), np.asarray(y)


def is_ascii_grid(head: bytes) -> bool:
    """Whether a file that begins so is one."""
    return head.lstrip()[:5].lower() in (b"ncols", b"nrows")


def read_ascii_grid(path: Path, name: str) -> AsciiGrid:
    """The grid in `path`. BadInput where a line of the head or a row is not what it has to be, and where
    nothing says what the coordinates are."""
    if path.stat().st_size > MOST_BYTES:
        refuse(name, "grid_large", most=MOST_BYTES // 1_000_000)
    lines = path.read_text("ascii", errors="replace").splitlines()
    head: dict[str, float] = {}
    first = 0
    for first, line in enumerate(lines):
        parts = line.split()
        if len(parts) != 2 or parts[0].lower() not in KEYS:
            break
        try:
            head[parts[0].lower()] = float(parts[1])
        except ValueError:
            refuse(name, "grid_head", at=parts[0], line=first + 1, said=tidy(parts[1]) or "?")
    for key in ("ncols", "nrows", "cellsize"):
        if not (np.isfinite(head.get(key, np.nan)) and head[key] > 0):
            refuse(name, "grid_key", at=key, key=key)
    columns, rows, cell = int(head["ncols"]), int(head["nrows"]), head["cellsize"]
    corner = []
    for axis in "xy":
        middle = head.get(f"{axis}llcenter", np.nan) - cell / 2
        corner.append(head.get(f"{axis}llcorner", middle))
        if not np.isfinite(corner[-1]):
            refuse(name, "grid_key", at=f"{axis}llcorner", key=f"{axis}llcorner")
    read: list[Floats] = []
    for k in range(rows):
        line = lines[first + k] if first + k < len(lines) else ""
        try:
            row = np.array(line.split(), dtype=float)
        except ValueError:
            row = np.empty(0)
        if len(row) != columns:
            refuse(name, "grid_row", line=first + k + 1, row=k + 1, columns=columns)
        read.append(row)
    heights = np.vstack(read)
    heights[heights == head.get("nodata_value", -9999.0)] = np.nan
    crs = _crs(path, name, corner, cell * columns, cell * rows)
    return AsciiGrid(crs, corner[0], corner[1] + rows * cell, cell, heights)


def _crs(path: Path, name: str, corner: list[float], wide: float, high: float) -> CRS:
    beside = path.with_suffix(".prj")
    if beside.is_file():
        try:
            return CRS.from_user_input(beside.read_text("utf-8", errors="replace").strip())
        except CRSError:
            refuse(beside.name, "no_crs")
    x, y = corner
    if not (x >= -180 and x + wide <= 180 and y >= -90 and y + high <= 90):
        refuse(name, "no_crs")
    return CRS.from_epsg(4326)
