"""ASCII grids of heights against a second reader (GDAL, through rasterio), and what cannot be read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rasterio
from pyproj import CRS, Transformer

from leyfold.ground.terrain import height_at, read_terrain
from leyfold.nouns.errors import BadInput
from leyfold.nouns.land import Field, Land

LAND = Land(
    (Field("f", "Home field", ((-60.0, -60.0), (60.0, -60.0), (60.0, 60.0), (-60.0, 60.0))),), 14.4, 57.8
)


def grid(path: Path, *, cell: float = 2e-5, west: float = 14.397, south: float = 57.7985, **head: str) -> str:
    """Heights rising with the longitude and waving with the latitude, one cell unknown."""
    rows, columns = 150, 300
    x = west + (np.arange(columns) + 0.5) * cell
    y = south + (np.arange(rows) + 0.5)[::-1] * cell
    heights = 30 + 4000 * (x[None, :] - 14.4) + np.sin(9e3 * (y[:, None] - 57.8))
    heights[0, 0] = -9999
    named = {
        "ncols": f"{columns}", "nrows": f"{rows}", "xllcorner": f"{west}", "yllcorner": f"{south}",
        "cellsize": f"{cell}", "NODATA_value": "-9999",
    } | head  # fmt: skip
    text = "".join(f"{key} {value}\n" for key, value in named.items() if value)
    text += "".join(" ".join(f"{h:.3f}" for h in row) + "\n" for row in heights)
    path.write_text(text, encoding="ascii")
    return text


def test_the_same_heights_as_another_reader_finds(tmp_path: Path) -> None:
    grid(tmp_path / "heights.asc")
    terrain = read_terrain(tmp_path / "heights.asc", LAND, name="heights.asc")
    assert terrain.cell_m == pytest.approx(2e-5 * 59_400, rel=0.01)  # a degree east at 57.8 N
    rng = np.random.default_rng(1)
    x, y = rng.uniform(-55, 55, 300), rng.uniform(-55, 55, 300)
    crs = "+proj=aeqd +lon_0=14.4 +lat_0=57.8 +datum=WGS84 +units=m"
    lon, lat = Transformer.from_crs(crs, 4326, always_xy=True).transform(x, y)
    with rasterio.open(tmp_path / "heights.asc", driver="AAIGrid") as other:
        there = np.array([v[0] for v in other.sample(zip(lon, lat, strict=True))])
    ours = height_at(terrain, x, y)
    # The other takes the nearest cell: half a cell of either slope apart at the most.
    assert np.abs(ours - there).max() < 0.5 * 2e-5 * (4000 + 9e3) + 0.01
    assert np.abs(ours - (30 + 4000 * (lon - 14.4) + np.sin(9e3 * (lat - 57.8)))).max() < 0.01


def test_a_prj_beside_it_says_what_the_numbers_are(tmp_path: Path) -> None:
    east, north = Transformer.from_crs(4326, 32633, always_xy=True).transform(14.4, 57.8)
    grid(tmp_path / "h.asc", cell=1.0, west=round(east) - 150.0, south=round(north) - 75.0)
    with pytest.raises(BadInput, match=r"\.prj"):
        read_terrain(tmp_path / "h.asc", LAND, name="h.asc")
    (tmp_path / "h.prj").write_text(CRS.from_epsg(32633).to_wkt("WKT1_ESRI"), encoding="utf-8")
    terrain = read_terrain(tmp_path / "h.asc", LAND, name="h.asc")
    assert terrain.cell_m == pytest.approx(1.0, rel=1e-3)
    with rasterio.open(tmp_path / "h.asc") as other:
        (here,) = next(iter(other.sample([(east, north)])))
    assert float(height_at(terrain, np.array(0.0), np.array(0.0))) == pytest.approx(float(here), rel=1e-3)
    (tmp_path / "h.prj").write_text("no such thing", encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        read_terrain(tmp_path / "h.asc", LAND, name="h.asc")
    assert wrong.value.faults[0].file == "h.prj"


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ({"ncols": "many"}, "many"),
        ({"ncols": "-3"}, "ncols"),
        ({"cellsize": "nan"}, "cellsize"),
        ({"xllcorner": ""}, "xllcorner"),
        ({"ncols": "299"}, "row 1"),
        ({"nrows": "151"}, "row 151"),
        ({"xllcorner": "15.397"}, "no heights where the land lies"),
        ({"xllcorner": "14.4004"}, "Home field"),
        ({"nrows": "9" * 12}, "row 151"),
    ],
)
def test_what_cannot_be_read_is_refused_by_its_line(tmp_path: Path, head: dict[str, str], words: str) -> None:
    grid(tmp_path / "heights.asc", **head)
    with pytest.raises(BadInput) as wrong:
        read_terrain(tmp_path / "heights.asc", LAND, name="heights.asc")
    (fault,) = wrong.value.faults
    assert fault.file == "heights.asc"
    assert words in fault.wrong
    assert fault.mend


def test_a_torn_grid_is_refused(tmp_path: Path) -> None:
    text = grid(tmp_path / "heights.asc")
    for part in (text[:40], text[: len(text) // 2], text.replace("30.", "3o.", 1), "ncols"):
        (tmp_path / "heights.asc").write_text(part, encoding="ascii")
        with pytest.raises(BadInput):
            read_terrain(tmp_path / "heights.asc", LAND, name="heights.asc")
    with pytest.raises(BadInput, match="no such file"):
        read_terrain(tmp_path / "none.asc", LAND, name="none.asc")
