"""What must hold however a field is drawn: the same ground read from any telling of it."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LinearRing, Polygon

from leyfold.farm.tables import table
from leyfold.ground.geojson import write_geojson
from leyfold.ground.read import read_land
from leyfold.nouns.errors import BadInput
from leyfold.nouns.land import Field, Land

LON, LAT = 14.0, 56.0
PLACE = (LAT, LON)


def degrees(points: Any) -> list[list[float]]:
    """Metres east and north of the place to degrees, near enough to draw with."""
    return [[LON + x / 62_367, LAT + y / 111_343] for x, y in points]


def feature(shape: str, points: Any, **properties: Any) -> dict[str, Any]:
    coordinates: Any = degrees(points)
    coordinates = {"Polygon": [coordinates], "Point": coordinates[0]}.get(shape, coordinates)
    geometry = {"type": shape, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def read(*features: dict[str, Any], place: tuple[float, float] | None = None) -> Land:
    text = json.dumps({"type": "FeatureCollection", "features": features})
    return read_land(text, name="land.geojson", place=place)[0]


def area(land: Land) -> float:
    return sum(Polygon(f.outer, f.holes).area for f in land.fields)


SQUARE = [(0, 0), (100, 0), (100, 100), (0, 100), (0, 0)]


@st.composite
def stars(draw: st.DrawFn) -> list[tuple[float, float]]:
    """Simple rings about the place, closed, corners at least 4 m from the middle."""
    n = draw(st.integers(3, 24))
    radii = draw(st.lists(st.floats(4, 300), min_size=n, max_size=n))
    ring = [(r * np.cos(2 * np.pi * k / n), r * np.sin(2 * np.pi * k / n)) for k, r in enumerate(radii)]
    return [*ring, ring[0]]


@given(stars(), st.data())
@settings(max_examples=60, deadline=None)
def test_the_same_ground_from_any_telling(ring: list[tuple[float, float]], data: st.DataObject) -> None:
    ground = area(read(feature("Polygon", ring)))
    k = data.draw(st.integers(0, len(ring) - 2))
    other_start = [*ring[k:-1], *ring[: k + 1]]
    doubled = [*ring[: k + 1], *ring[k:]]
    for told in (ring[::-1], ring[:-1], other_start, doubled):
        assert area(read(feature("Polygon", told))) == pytest.approx(ground, rel=1e-6)
    swapped = feature("Polygon", ring)
    swapped["geometry"]["coordinates"] = [[pair[::-1] for pair in swapped["geometry"]["coordinates"][0]]]
    assert area(read(swapped, place=PLACE)) == pytest.approx(ground, rel=1e-6)


@given(stars())
@settings(max_examples=40, deadline=None)
def test_fields_are_valid_and_turned_the_standard_way(ring: list[tuple[float, float]]) -> None:
    (field,) = read(feature("Polygon", ring)).fields
    shape = Polygon(field.outer, field.holes)
    assert shape.is_valid
    assert shape.exterior.is_ccw
    assert field.outer[0] != field.outer[-1]


@given(st.binary(max_size=200) | st.text(max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_bytes_give_land_or_bad_input(source: bytes | str) -> None:
    with pytest.raises(BadInput):
        read_land(source, name="x")


KEYS = ["type", "features", "geometry", "coordinates", "properties", "kind", "crs", "id"]
JSONS = st.recursive(
    st.none()
    | st.booleans()
    | st.floats()
    | st.integers()
    | st.text(max_size=8)
    | st.sampled_from(["Feature", "FeatureCollection", "Polygon", "Point", "well", "field"]),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.sampled_from(KEYS), inner),
    max_leaves=30,
)


@given(JSONS, JSONS)
@settings(max_examples=200, deadline=None)
def test_any_json_gives_land_or_bad_input(geometry: Any, properties: Any) -> None:
    for whole in (geometry, {"type": "Feature", "properties": properties, "geometry": geometry}):
        with pytest.raises(BadInput):
            read_land(json.dumps(whole), name="x")


def test_what_is_kept_off_and_how_far() -> None:
    keep_off = table("keep_off")
    land = read(
        feature("Polygon", SQUARE, name="Long close", margin=2.5),
        feature("Polygon", [(300, 0), (400, 0), (400, 100), (300, 0)], name="Bull piece"),
        feature("Point", [(140, 50)], kind="well", name="Spring"),
        feature("LineString", [(50, -20), (50, 120)], kind="ditch", buffer=3),
        feature("Polygon", [(20, 20), (30, 20), (30, 30), (20, 20)], kind="Wet"),
        feature("Point", [(98, 0)], kind="gate"),
        feature("Point", [(200, 50)], kind="water-point"),
    )
    close, piece = land.fields
    assert (close.id, close.name, close.margin_m) == ("long-close", "Long close", 2.5)
    well, ditch, wet = close.exclusions
    assert (well.kind, well.shape, well.buffer_m) == ("well", "point", keep_off["well"]["value"])
    assert well.source == keep_off["well"]["source"]
    assert (ditch.kind, ditch.shape, ditch.buffer_m, ditch.source) == ("ditch", "line", 3.0, "")
    assert (wet.kind, wet.shape, len(wet.points)) == ("wet", "ring", 3)
    assert piece.exclusions == (), "40 m from one field, 160 m from the other"
    assert close.gates == (pytest.approx((98 - 200, 0 - 50), abs=1.0),)
    assert piece.gates == ()
    assert len(close.water) == 1, "the nearer of the two"
    assert piece.water == ()
    assert any("local law" in note for note in land.notes)


@pytest.mark.parametrize("kind", list(table("keep_off")))
def test_every_kind_comes_back_from_the_file_written(kind: str) -> None:
    land = read(
        feature("Polygon", SQUARE, name="Long close"),
        feature("Polygon", [(20, 20), (30, 20), (30, 30), (20, 20)], kind=kind),
        feature("LineString", [(50, -20), (50, 120)], kind=kind, buffer=3),
        feature("Point", [(98, 0)], kind="gate"),
        feature("Point", [(90, 10)], kind="water_point"),
    )
    again = read_land(write_geojson(land), name="again")[0]
    assert write_geojson(again) == write_geojson(land)
    one, two = land.fields[0], again.fields[0]
    assert [(e.id, e.kind, e.shape, e.buffer_m) for e in one.exclusions] == [
        (e.id, e.kind, e.shape, e.buffer_m) for e in two.exclusions
    ]
    assert (len(two.gates), len(two.water), two.margin_m) == (1, 1, one.margin_m)


def test_rings_drawn_the_other_way_are_written_the_standard_way() -> None:
    outer, hole = SQUARE[:-1], [(30.0, 30.0), (60.0, 30.0), (60.0, 60.0)]
    field = Field("f", "f", tuple(outer[::-1]), (tuple(hole),))
    (written,) = json.loads(write_geojson(Land((field,), LON, LAT)))["features"]
    one, two = (LinearRing(ring) for ring in written["geometry"]["coordinates"])
    assert one.is_ccw
    assert not two.is_ccw


def test_a_field_across_the_180th_meridian() -> None:
    east, west = 179.9995, -179.9995
    ring = [[east, -16.5], [west, -16.5], [west, -16.499], [east, -16.499], [east, -16.5]]
    text = json.dumps({"type": "Polygon", "coordinates": [ring]})
    land, remarks = read_land(text, name="x")
    assert area(land) == pytest.approx(106.8 * 110.66, rel=0.01)
    assert abs(land.origin_lon_deg) == pytest.approx(180.0)
    assert not remarks


def test_a_place_that_is_none_is_the_caller_s_mistake() -> None:
    with pytest.raises(ValueError, match="latitude, longitude"):
        read(feature("Polygon", SQUARE), place=(114.0, 56.0))
