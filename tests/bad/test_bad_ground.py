"""Broken land files: each refused with one clear message, or mended with a remark that names the mend."""

from __future__ import annotations

import json
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pyogrio.raw import write
from shapely.geometry import Polygon

from ground_huge import HUGE
from leyfold.ground.read import read_land
from leyfold.nouns.errors import BadInput
from leyfold.words import sentences

FOLDER = Path(__file__).parent / "ground"
CASES: list[dict[str, Any]] = tomllib.loads((FOLDER / "cases.toml").read_text(encoding="utf-8"))["case"]


def says(what: str) -> re.Pattern[str]:
    """A sentence with anything in its holes."""
    parts = re.split(r"\{[^{}]*\}", sentences("ground")[what])
    return re.compile(".+?".join(map(re.escape, parts)))


def place(case: dict[str, Any]) -> tuple[float, float] | None:
    return (56.0, 14.0) if case.get("place") else None


def test_every_file_has_its_case() -> None:
    assert {c["file"] for c in CASES} == {p.name for p in FOLDER.iterdir()} - {"cases.toml"}
    assert len(CASES) >= 60


@pytest.mark.parametrize("case", [c for c in CASES if c["outcome"] == "refused"], ids=lambda c: c["file"])
def test_refused(case: dict[str, Any]) -> None:
    with pytest.raises(BadInput) as caught:
        read_land(FOLDER / case["file"], name=case["file"], place=place(case))
    (fault,) = caught.value.faults
    assert says(f"refused_{case['what']}").fullmatch(fault.wrong), fault
    assert says(f"refused_{case['what']}_mend").fullmatch(fault.mend), fault
    assert fault.file == case["file"]
    assert fault.feature == case.get("feature"), fault


@pytest.mark.parametrize("case", [c for c in CASES if c["outcome"] == "mended"], ids=lambda c: c["file"])
def test_mended(case: dict[str, Any]) -> None:
    land, remarks = read_land(FOLDER / case["file"], name=case["file"], place=place(case))
    named = [r for r in remarks if r.what == case["what"]]
    assert [r.feature for r in named] == [case.get("feature", "")], list(map(str, remarks))
    assert says(f"mended_{case['what']}").fullmatch(named[0].text)
    assert str(named[0]) in land.notes
    assert len(land.fields) == case["fields"]
    shapes = [Polygon(f.outer, f.holes) for f in land.fields]
    assert all(s.is_valid for s in shapes)
    if "m2" in case:
        assert sum(s.area for s in shapes) == pytest.approx(case["m2"], rel=5e-3)


# Too large to keep: made here. That each is refused within two seconds is watched in benchmarks/.


@pytest.mark.parametrize("what", sorted(HUGE))
def test_huge(what: str) -> None:
    make, sentence = HUGE[what]
    with pytest.raises(BadInput) as caught:
        read_land(make(), name=what)
    (fault,) = caught.value.faults
    assert says(f"refused_{sentence}").fullmatch(fault.wrong), fault


def test_a_field_a_billion_metres_across(tmp_path: Path) -> None:
    # In metres of the web's own projection, where such numbers are allowed.
    wide = shapely.box(0, 0, 1e9, 1e9)
    write(
        tmp_path / "wide.gpkg",
        shapely.to_wkb(np.array([wide])),
        [],
        [],
        driver="GPKG",
        crs="EPSG:3857",
        geometry_type="Polygon",
    )
    with pytest.raises(BadInput, match=r"feature 1: .*ring 1 is 9,963 km across, more than 20 km; corner"):
        read_land(tmp_path / "wide.gpkg", name="wide.gpkg")


def test_no_such_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.geojson"):
        with pytest.raises(BadInput, match="no such file"):
            read_land(path, name="x")


def test_without_the_extra_the_message_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyogrio", None)
    with pytest.raises(BadInput, match=r"pip install 'leyfold\[gis\]'"):
        read_land(FOLDER / "open.kml", name="open.kml")
    assert read_land(FOLDER / "open.geojson", name="open.geojson")[0].fields


def test_all_faults_are_told_at_once() -> None:
    ring = [[14, 56], [14.001, 56.001], [14.001, 56], [14, 56.001], [14, 56]]
    tie = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    with pytest.raises(BadInput) as caught:
        read_land(json.dumps({"type": "FeatureCollection", "features": [tie, tie]}), name="x")
    assert [f.feature for f in caught.value.faults] == ["feature 1", "feature 2"]
