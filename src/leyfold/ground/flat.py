"""Degrees to the farm's own flat map in metres and back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from pyproj import Proj

__all__ = ["flat_crs", "to_degrees", "to_metres"]

Floats = NDArray[np.float64]


def flat_crs(origin: tuple[float, float]) -> str:
    """The farm's map as a PROJ string: azimuthal equidistant about (longitude, latitude) on WGS 84.

    Distances from the origin are true; at 10 km an area is too large by 4 in ten million.
    """
    return f"+proj=aeqd +lon_0={origin[0]!r} +lat_0={origin[1]!r} +datum=WGS84 +units=m +no_defs"


def to_metres(degrees: Floats, origin: tuple[float, float]) -> Floats:
    """(n, 2) longitude, latitude in degrees to (n, 2) metres east and north of `origin`."""
    x, y = Proj(flat_crs(origin))(degrees[:, 0], degrees[:, 1])
    return np.column_stack((x, y))


def to_degrees(metres: Floats, origin: tuple[float, float]) -> Floats:
    """(n, 2) metres east and north of `origin` to (n, 2) longitude, latitude in degrees."""
    lon, lat = Proj(flat_crs(origin))(metres[:, 0], metres[:, 1], inverse=True)
    return np.column_stack((lon, lat))
