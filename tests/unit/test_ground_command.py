"""`leyfold ground` and `leyfold fields` on the made-up farm: what they print, write and refuse."""

from __future__ import annotations

import json
import shutil
from collections import defaultdict
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from ground_checker import faults_of_ground, faults_of_layout
from leyfold.cli import main
from leyfold.ground.laid import read_used
from leyfold.ground.told import gap_told
from leyfold.services.ground import GroundAnswer, gaps_on, ground_of

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo"


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("farm")
    for name in ("farm.toml", "plan.toml", "heights.asc"):
        shutil.copy(DEMO / name, folder)
    land = json.loads((DEMO / "land.geojson").read_text("utf-8"))
    land["features"] = [  # one field is quicker
        f
        for f in land["features"]
        if f.get("id") not in ("alder-piece", "brook") and f["properties"].get("field") != "alder-piece"
    ]
    (folder / "land.geojson").write_text(json.dumps(land), "utf-8")
    return folder


@pytest.fixture(scope="module")
def answer(farm: Path) -> GroundAnswer:
    return ground_of(farm, datetime.now(UTC), paddock_m2=800.0)


def test_every_size_of_shelter_is_sound_on_one_land(answer: GroundAnswer) -> None:
    assert len(answer.ground.laid) == 2
    for layout, ground in answer.ground.laid:
        assert faults_of_layout(answer.land, layout) == []
        assert faults_of_ground(ground) == []
        assert ground.runs_out is None
    assert len({s.id for layout, _ in answer.ground.laid for s in layout.stands}) == sum(
        len(layout.stands) for layout, _ in answer.ground.laid
    )


def test_nothing_dropped_on_grass_is_lost(answer: GroundAnswer) -> None:
    assert not any(hens.short for hens in answer.ground.hens)
    season, fields = answer.season, {f.id for f in answer.land.fields}
    grass = {*answer.farm.shelters, *(n.house for n in answer.farm.nets.values())}
    lots = [i for i, lot in enumerate(season.lots) if lot.place in grass]
    for nutrient in ("n", "p", "k"):
        dropped = float(getattr(season, f"{nutrient}_kg")[lots].sum())
        for loads in (answer.ground.passes, answer.ground.years):
            fell = sum(getattr(e, f"{nutrient}_kg_per_ha") * e.area_m2 / 1e4 for e in loads)
            assert fell == pytest.approx(dropped, rel=1e-9)
    assert {e.where for e in answer.ground.years} <= fields


def test_the_command_answers_and_writes(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawn, written = farm / "map.svg", farm / "stands.geojson"
    code = main(["ground", str(farm), "--map", str(drawn), "--geojson", str(written), "--on", "2027-06-01"])
    said = capsys.readouterr().out
    assert code == 0
    assert "every day has its stand" in said
    assert "straight ahead, 2.6 m (3 paces)" in said
    assert drawn.read_text("utf-8").startswith("<svg")
    assert main(["ground", str(farm), "--json", "--before", str(written)]) == 0
    got = json.loads(capsys.readouterr().out)
    assert (got["schema"], got["kind"]) == ("leyfold/1", "ground")
    days = got["data"]["days"]
    assert {d["shelter"] for d in days} <= {"s1", "s2", "s3", "s4", "l1", "l2", "l3"}
    by_day = defaultdict(list)
    for d in days:
        by_day[d["on"]].append(d["stand"])
    assert all(len(set(stands)) == len(stands) for stands in by_day.values())


def test_last_years_ground_is_rested(farm: Path, answer: GroundAnswer) -> None:
    from leyfold.ground.laid import write_ground

    used = farm / "used.geojson"
    used.write_text(write_ground(answer.land, answer.ground.laid), "utf-8")
    treads = read_used(used, answer.land)
    assert len(treads) == sum(len({a.stand for a in g.days}) for _, g in answer.ground.laid)
    again = ground_of(farm, datetime.now(UTC), rest_days=100_000, before=used)
    for _, ground in again.ground.laid:
        assert faults_of_ground(ground, treads) == []


def test_fields_are_brought_in_and_the_version_before_is_kept(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    farm = Path(shutil.copytree(farm, tmp_path / "farm"))
    before = (farm / "land.geojson").read_bytes()
    assert main(["fields", str(farm), str(DEMO / "land.geojson"), "--json"]) == 0
    got = json.loads(capsys.readouterr().out)["data"]["fields"]
    assert [f["id"] for f in got] == ["long-ley", "alder-piece"]
    assert got[0]["area_m2"] == pytest.approx(25575, rel=1e-3)
    assert got[0]["usable_m2"] < got[0]["area_m2"]
    kept = {path.read_bytes() for path in (farm / ".leyfold" / "land.geojson").iterdir()}
    assert before in kept


# rasterio 1.4 multiplies affines in a way affine 3.1 means to retire.
@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
def test_heights_keep_shelters_off_steep_ground_and_tell_gaps(farm: Path, answer: GroundAnswer) -> None:
    rasterio = pytest.importorskip("rasterio")
    lon, lat = answer.land.origin_lon_deg, answer.land.origin_lat_deg
    cell = 5e-5, 2.8e-5  # about 3 m
    west, north = lon - 0.0025, lat + 0.0015
    east_m = (np.arange(100) * cell[0] - 0.0025) * 111_320 * np.cos(np.radians(lat))
    # Level with furrows of 0.4 m along the north, and a bank of one in two beyond 60 m east.
    heights = 50 + 0.2 * np.sin(east_m / 2) + 0.5 * np.maximum(east_m - 60, 0)
    lie = {"crs": "EPSG:4326", "transform": rasterio.Affine(cell[0], 0, west, 0, -cell[1], north)}
    shape = {"height": 110, "width": 100, "count": 1, "dtype": "float32"}
    with rasterio.open(farm / "heights.tif", "w", driver="GTiff", **shape, **lie) as file:
        file.write(np.tile(heights, (110, 1)).astype("float32"), 1)
    lying = ground_of(farm, datetime.now(UTC), paddock_m2=800.0, heights=farm / "heights.tif", steepest=0.4)
    gaps = gaps_on(lying, date(2027, 6, 1))
    told = [sentence for name, gap in gaps.items() for sentence in gap_told(name, gap)]
    assert gaps.keys() == {"l1", "l2", "s2", "s3"}
    assert any("cm or more under the skirt; board" in sentence for sentence in told)
    stands = [s for layout, _ in lying.ground.laid for s in layout.stands]
    assert len(stands) > 1000
    assert 50 < max(s.x_m for s in stands) < 63
    for layout, _ in lying.ground.laid:
        assert faults_of_layout(lying.land, layout) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["ground", "FARM", "--map", "FARM/map.pdf"], "map.pdf"),
        (["ground", "FARM", "--before", "FARM/none.geojson"], "none.geojson"),
        (["fields", "FARM", "FARM/farm.toml"], "farm.toml"),
        (["ground", "FARM/nowhere"], "farm.toml"),
    ],
)
def test_bad_input_is_refused_by_name(
    farm: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    assert main([a.replace("FARM", str(farm)) for a in arguments]) == 2
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said


def test_a_farm_without_land_says_so(farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("farm.toml", "plan.toml"):
        shutil.copy(farm / name, tmp_path)
    assert main(["ground", str(tmp_path)]) == 2
    assert "land.geojson" in capsys.readouterr().err


def test_laid_again_from_where_a_shelter_really_stands(farm: Path, answer: GroundAnswer) -> None:
    on = date(2027, 6, 1)
    ((name, planned),) = [
        (a.shelter, a.stand)
        for _, ground in answer.ground.laid
        for a in ground.days
        if a.on == date(2027, 5, 29) and a.shelter == "s2" and a.stand is not None
    ]
    again = ground_of(farm, datetime.now(UTC), paddock_m2=800.0, on=on, standing={name: planned.id})
    for (layout, before), (_, after) in zip(answer.ground.laid, again.ground.laid, strict=True):
        for a in before.days:
            if a.on < on and (a.shelter != name or a.on <= date(2027, 5, 29)):
                assert a in after.days
        if name in layout.footprint.id.split("+"):
            days = [a for a in after.days if a.shelter == name and a.on >= on]
            assert days[0].on == on
            assert days[0].stand is not None
            assert days[0].stand.strip == planned.strip
            assert abs(days[0].stand.index - planned.index) == 1
            assert days != [a for a in before.days if a.shelter == name and a.on >= on]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["--on", "2027-06-01", "--stands", "s2=long-ley/999.1"], "999.1"),
        (["--on", "2027-06-01", "--stands", "s99=long-ley/114.1"], "s99"),
        (["--on", "2027-06-01", "--stands", "s2"], "--stands"),
        (["--stands", "s2=long-ley/114.1"], "--on"),
    ],
)
def test_where_no_shelter_can_stand(
    farm: Path, arguments: list[str], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ground", str(farm), *arguments]) == 2
    assert named in capsys.readouterr().err
