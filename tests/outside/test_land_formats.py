"""The seventeen parcels through every format, written by the reference library (GDAL, by pyogrio), and back.

Areas hold to one in a million; against the registers' own planar areas to 0.1 %, what projections differ by.
"""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pyogrio.raw import write
from pyproj import Geod
from shapely.geometry import MultiPolygon, Polygon, shape

from ground_fields import features
from leyfold.ground.geojson import write_geojson
from leyfold.ground.read import read_land
from leyfold.nouns.land import Land

NAMES = sorted(features())


def area(land: Land) -> float:
    return sum(Polygon(f.outer, f.holes).area for f in land.fields)


def ground(name: str) -> Any:
    return shape(features()[name]["geometry"])


def as_geojson(name: str) -> Land:
    land, remarks = read_land(json.dumps(features()[name]), name="parcel.geojson")
    assert not remarks
    return land


def save(path: Path, geometry: Any, driver: str, crs: str | None = "EPSG:4326", **options: Any) -> Path:
    write(
        path,
        shapely.to_wkb(np.array([geometry])),
        [np.array(["long close"], dtype=object)],
        ["name"],
        driver=driver,
        crs=crs,
        geometry_type=geometry.geom_type,
        **options,
    )
    return path


def projected(geometry: Any, crs: str) -> Any:
    from pyproj import Transformer

    turn = Transformer.from_crs(4326, crs, always_xy=True)
    return shapely.transform(geometry, lambda a: np.column_stack(turn.transform(a[:, 0], a[:, 1])))


@pytest.mark.parametrize("name", NAMES)
def test_areas_as_the_register_and_the_geodesic_have_them(name: str) -> None:
    published = features()[name]["properties"]
    found = area(as_geojson(name))
    geodesic = abs(Geod(ellps="WGS84").geometry_area_perimeter(ground(name))[0])
    assert found == pytest.approx(geodesic, rel=1e-6)
    assert found == pytest.approx(published["planar_area_m2"], rel=1e-3)


@pytest.mark.parametrize("driver", ["KML", "GPKG", "ESRI Shapefile"])
@pytest.mark.parametrize("name", NAMES)
def test_through_a_format_and_back(name: str, driver: str, tmp_path: Path) -> None:
    end = {"KML": "kml", "GPKG": "gpkg", "ESRI Shapefile": "shp"}[driver]
    path = save(tmp_path / f"land.{end}", ground(name), driver)
    land, _ = read_land(path, name=path.name)
    assert area(land) == pytest.approx(area(as_geojson(name)), rel=1e-6)
    assert land.fields[0].name == "long close"
    assert sum(len(f.holes) for f in land.fields) == len(ground(name).interiors)


@pytest.mark.parametrize("layer", ["routes", "tracks", "tracks in two"])
@pytest.mark.parametrize("name", NAMES)
def test_walked_round_is_the_field(name: str, layer: str, tmp_path: Path) -> None:
    outer = Polygon(ground(name).exterior)
    walked = np.array(outer.exterior.coords)
    line: Any = shapely.LineString(walked)
    if layer == "tracks":
        line = shapely.MultiLineString([walked])
    if layer == "tracks in two":
        line = shapely.MultiLineString([walked[:4], walked[4:]])
    path = save(tmp_path / "land.gpx", line, "GPX", layer=layer.split()[0])
    land, remarks = read_land(path, name=path.name)
    alone, _ = read_land(json.dumps(shapely.geometry.mapping(outer)), name="outer")
    assert area(land) == pytest.approx(area(alone), rel=1e-6)
    assert [r.what for r in remarks] == ["track_joined"] * (layer == "tracks in two") + ["line_closed"]


@pytest.mark.parametrize("name", ["se-5", "dk-91", "nl-62", "at-45", "fi-97"])
def test_in_the_register_s_own_projection(name: str, tmp_path: Path) -> None:
    crs = features()[name]["properties"]["src_crs"]
    for driver, end in (("GPKG", "gpkg"), ("ESRI Shapefile", "shp")):
        path = save(tmp_path / f"land.{end}", projected(ground(name), crs), driver, crs)
        land, _ = read_land(path, name=path.name)
        # Rotterdam to WGS 84 goes through a datum shift of decimetres; area does not notice.
        assert area(land) == pytest.approx(area(as_geojson(name)), rel=1e-6)


def test_zipped_and_as_contents(tmp_path: Path) -> None:
    shp = save(tmp_path / "land.shp", ground("se-3"), "ESRI Shapefile")
    kml = save(tmp_path / "land.kml", ground("se-3"), "KML")
    expected = pytest.approx(area(as_geojson("se-3")), rel=1e-6)
    for parts in ([kml], sorted(tmp_path.glob("land.[sdp][hbr]*"))):
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as bundle:
            for part in parts:
                bundle.write(part, f"folder/{part.name}")
        assert area(read_land(packed.getvalue(), name="land.zip")[0]) == expected
    assert area(read_land(kml.read_text(), name="land.kml")[0]) == expected
    assert area(read_land(kml.read_bytes(), name="land.kml")[0]) == expected
    assert shp.exists()


@pytest.mark.parametrize("name", NAMES)
def test_written_geojson_is_the_standard_s(name: str) -> None:
    """RFC 7946, 3.1.6: rings closed, outer ones counter-clockwise, holes clockwise; and back whole."""
    land = as_geojson(name)
    text = write_geojson(land)
    for feature in json.loads(text)["features"]:
        outer, *holes = feature["geometry"]["coordinates"]
        assert all(ring[0] == ring[-1] for ring in (outer, *holes))
        assert shapely.LinearRing(outer).is_ccw
        assert not any(shapely.LinearRing(hole).is_ccw for hole in holes)
        assert shape(feature["geometry"]).is_valid
    again, remarks = read_land(text, name="again")
    assert not remarks
    assert write_geojson(again) == text
    assert area(again) == pytest.approx(area(land), rel=1e-9)
    one = MultiPolygon([Polygon(f.outer, f.holes) for f in land.fields])
    two = MultiPolygon([Polygon(f.outer, f.holes) for f in again.fields])
    assert one.hausdorff_distance(two) < 0.002
