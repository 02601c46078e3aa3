"""The map is true to scale, well formed and legible without colour; the GeoJSON is the same ground."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from xml.etree import ElementTree

import pyproj
import pytest
from shapely.geometry import shape

from ground_fields import SHELTER, box, land, own_fields
from leyfold.ground.allot import allot
from leyfold.ground.laid import write_ground
from leyfold.ground.nets import fence
from leyfold.ground.stands import lay_out
from leyfold.nouns.land import Field, Occupation
from leyfold.paper.map import SCALES, ground_map
from leyfold.paper.map_ink import LINES, STYLE

FIRST = date(2027, 4, 20)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(field: Field, shelters: int = 2, days: int = 30, **other: object) -> ElementTree.Element:
    layout = lay_out(land(field), SHELTER)
    uses = [Occupation(f"Shelter <{k}>", FIRST, FIRST + timedelta(days=days)) for k in range(shelters)]
    ground = allot(layout, uses, fields=(field,))
    return ElementTree.fromstring(ground_map(land(field), [(layout, ground)], **other))  # type: ignore[arg-type]


def corners(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]


@pytest.mark.parametrize("scale", [None, 500, 1000])
def test_true_to_scale_with_north_up(scale: int | None) -> None:
    root = drawn(box(100.0, 40.0), scale=scale)
    said = scale or next(s for s in SCALES if 100 * 10_000 / s <= 2770 - 120)
    a, b, c, _ = corners(next(p.get("d") or "" for p in root.iter(f"{SVG}path") if p.get("class") == "field"))
    assert b[0] - a[0] == pytest.approx(100 * 10_000 / said, abs=0.2)  # tenths of a millimetre
    assert b[1] - c[1] == pytest.approx(40 * 10_000 / said, abs=0.2)  # north is up, y runs down
    wide, across = root.get("width") or "", (root.get("viewBox") or "").split()[2]
    assert wide.endswith("mm")
    assert float(wide[:-2]) == pytest.approx(float(across) / 10)
    words = " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))
    assert f"1 : {said:,}" in words
    black = [r for r in root.iter(f"{SVG}rect") if r.get("class") in ("ink", "blank")]
    per_m = float(black[0].get("width") or 0) * said / 10_000
    assert per_m in (1, 2, 5, 10, 20, 50, 100)
    assert f"{4 * per_m:,.0f} m" in words


def test_pegs_carry_dates_and_today_is_marked() -> None:
    root = drawn(own_fields()[0], today=FIRST + timedelta(days=3))
    words = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    assert words.count("20 Apr") == 2
    assert "26 Apr" in words  # a Monday
    assert sum(p.get("class") == "here" for p in root.iter(f"{SVG}path")) == 2
    assert {"Shelter <0>", "Shelter <1>"} <= set(words)


def test_shelters_differ_without_colour() -> None:
    rules = dict(re.findall(r"\.leyfold-ground \.(l\d|way)\{([^}]*)\}", STYLE))
    assert len({rules.get(name, "") for name in LINES}) == len(LINES)
    assert not any("color" in rules.get(name, "") or "stroke:" in rules.get(name, "") for name in LINES)


def test_the_same_ground_is_the_same_drawing() -> None:
    field = own_fields()[2]
    layout, paddocks = lay_out(land(field), SHELTER), fence(land(field), 1250.0, 200.0)
    first = ground_map(land(field), [(layout, None)], paddocks=paddocks)
    assert first == ground_map(land(field), [(layout, None)], paddocks=paddocks)
    assert ElementTree.fromstring(first).tag == f"{SVG}svg"


def test_geojson_holds_the_same_rectangles() -> None:
    field = own_fields()[0]
    place = land(field)
    layout = lay_out(place, SHELTER)
    ground = allot(layout, [Occupation("a", FIRST, FIRST + timedelta(days=5))])
    found = json.loads(write_ground(place, [(layout, ground)]))["features"]
    assert [f["id"] for f in found] == [s.id for s in layout.stands]
    assert sum(len(f["properties"]["used"]) for f in found) == 5
    geod = pyproj.Geod(ellps="WGS84")
    for f in found[::10]:
        area, _ = geod.geometry_area_perimeter(shape(f["geometry"]))
        assert area == pytest.approx(SHELTER.area_m2, rel=2e-3)  # positive: counter-clockwise, RFC 7946
        assert 0 <= f["properties"]["heading"] < 360
