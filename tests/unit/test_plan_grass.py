"""Shelters stand on grass that there is: by the farm's word, or by what its land holds."""

from __future__ import annotations

import json
from datetime import date, timedelta
from functools import cache
from math import cos, radians
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ground_fields import box, land, parcel
from leyfold.cli import main
from leyfold.ground.geojson import write_geojson
from leyfold.ground.read import read_land
from leyfold.ground.stands import lay_out
from leyfold.ground.there import grass_laid, grass_seen
from leyfold.log.lines import write
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import Footprint, Span
from leyfold.nouns.planned import Planned
from leyfold.nouns.planning import Grass
from leyfold.plan.checker import check
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.check import check_farm
from leyfold.services.grass import grass_for, inputs_sha256, own_grass
from leyfold.services.opened import open_farm
from leyfold.services.plan import plan_for
from leyfold.services.round import opening
from planned_farms import TABLE, clash, planned, small_farm
from random_farms import random_farm

FIRST, UNTIL = date(2027, 3, 1), date(2027, 12, 27)
M_PER_DEG = 111_320.0


# What the land holds --------------------------------------------------------------------------------------


def test_the_grass_of_a_plain_field_is_what_anyone_would_count() -> None:
    """42.1 x 22.1 m with a metre kept off: some 40 x 20 m, ten lanes of 2 m by thirteen stands of 3 m."""
    (grass,) = grass_seen(land(box(42.1, 22.1)), [(3.0, 2.0)], FIRST, UNTIL)
    assert grass == Grass(10 * 13 * 6.0, FIRST, UNTIL, nets=True)
    # Of two sizes the one that covers less counts: 12 m2 in five lanes of 4 m by thirteen stands.
    (both,) = grass_seen(land(box(42.1, 22.1)), [(3.0, 2.0), (3.0, 3.9)], FIRST, UNTIL)
    assert both.m2 == pytest.approx(5 * 13 * 3.0 * 3.9)
    assert grass_seen(land(), [(3.0, 2.0)], FIRST, UNTIL)[0].m2 == 0.0


def test_hay_shuts_fields_for_its_days_alone() -> None:
    june, july = date(2027, 6, 1), date(2027, 7, 1)
    one = box(42.1, 22.1, "one", hay_shut=(Span(june, july + timedelta(days=14)),))
    two = box(42.1, 22.1, "two", hay_shut=(Span(date(2027, 6, 15), date(2027, 8, 1)),))
    three = box(22.1, 12.1, "three")
    found = grass_seen(land(one, two, three), [(3.0, 2.0)], FIRST, UNTIL)
    whole, little = 780.0, 5 * 6 * 6.0
    assert set(found) == {
        Grass(2 * whole + little, FIRST, UNTIL, nets=True),
        Grass(whole + little, june, july + timedelta(days=14)),
        Grass(whole + little, date(2027, 6, 15), date(2027, 8, 1)),
        Grass(little, date(2027, 6, 15), july + timedelta(days=14)),
    }
    laid = grass_laid(land(one, two, three), [(3.0, 2.0)], FIRST, UNTIL, lay_out)
    assert {(g.first, g.until) for g in laid} == {(g.first, g.until) for g in found}


def test_hay_is_read_from_the_land_and_written_again() -> None:
    def drawn(hay: object) -> str:
        x, y = 12.0, 56.0
        ring = [[x, y], [x + 0.003, y], [x + 0.003, y + 0.001], [x, y + 0.001], [x, y]]
        field: dict[str, object] = {"type": "Feature", "id": "ley", "properties": {"hay": hay}}
        field["geometry"] = {"type": "Polygon", "coordinates": [ring]}
        return json.dumps({"type": "FeatureCollection", "features": [field]})

    mown = (
        Span(date(2027, 5, 20), date(2027, 7, 6)),
        Span(date(2027, 8, 1), date(2027, 8, 2)),
    )
    found, _ = read_land(drawn("2027-05-20/2027-07-05 2027-08-01/2027-08-01"), name="land.geojson")
    assert found.fields[0].hay_shut == mown
    assert read_land(write_geojson(found), name="again")[0].fields[0].hay_shut == mown
    assert read_land(drawn(None), name="land.geojson")[0].fields[0].hay_shut == ()
    assert {g.m2 for g in grass_seen(found, [(3.0, 2.0)], FIRST, UNTIL)} >= {0.0}
    for wrong in ("June", "2027-07-05/2027-05-20", "2027-05-20", "2027-02-30/2027-03-01", 5, ["a"]):
        with pytest.raises(BadInput) as refused:
            read_land(drawn(wrong), name="land.geojson")
        assert refused.value.faults[0].field == "hay"


@settings(max_examples=4, deadline=None)
@given(st.data())
def test_at_a_glance_there_is_never_more_than_could_ever_be_laid(data: st.DataObject) -> None:
    size = data.draw(st.tuples(st.floats(2.0, 4.0), st.floats(2.0, 4.5)))
    field = parcel(data.draw(st.sampled_from(parcels())))
    layout = lay_out(land(field), Footprint("s", *size))
    (seen,) = grass_seen(land(field), [size], FIRST, UNTIL)
    assert 0 < seen.m2 <= layout.bound * size[0] * size[1] + 1e-6
    assert seen.m2 <= len(layout.stands) * size[0] * size[1] + 1e-6


def parcels() -> list[str]:
    from ground_fields import features

    return sorted(features())[:4]


# Planner and checker --------------------------------------------------------------------------------------


def used_m2(farm: Farm, answer: Planned, first: date | None = None, until: date | None = None) -> float:
    season = expect(farm, answer.completed)
    days = slice(first and season.index(first), until and season.index(until))
    return sum(
        float((season.places[name].heads[days] > 0).sum()) * kit.floor_m2 * kit.moves_per_day
        for name, kit in farm.shelters.items()
    )


@cache
def free() -> Planned:
    return planned(small_farm(TABLE))


def busiest() -> tuple[date, date]:
    """Three weeks in which shelters are on grass."""
    outs = [b.turnout_on for b in free().completed.batches if b.turnout_on is not None]
    return min(outs) + timedelta(days=14), min(outs) + timedelta(days=35)


def test_on_days_of_hay_a_plan_takes_no_more_than_the_other_fields_have() -> None:
    first, until = busiest()
    before = used_m2(small_farm(TABLE), free(), first, until)
    assert before > 0
    hay = (Grass(1e6, FIRST, UNTIL), Grass(0.5 * before, first, until))
    farm = small_farm(TABLE, asked={"grass": hay})
    answer = planned(farm)
    assert used_m2(farm, answer, FIRST, UNTIL) > 0
    assert used_m2(farm, answer, first, until) <= 0.5 * before
    assert check(farm, answer.completed) == ()
    assert answer.objective <= free().objective + 0.01


def test_the_checker_names_a_plan_that_takes_more() -> None:
    first, until = busiest()
    before = used_m2(small_farm(TABLE), free(), first, until)
    short = small_farm(TABLE, asked={"grass": (Grass(1e6), Grass(0.8 * before, first, until))})
    (finding,) = check(short, free().completed)
    assert finding.what == "ground"
    assert finding.worst == pytest.approx(before)
    assert first <= finding.day_first
    assert finding.day_last < until
    just = small_farm(TABLE, asked={"grass": (Grass(before, first, until),)})
    assert check(just, free().completed) == ()


def test_no_grass_at_all_is_a_clash_with_the_wish() -> None:
    assert clash(small_farm(TABLE, asked={"grass": (Grass(0.0),)})) == {"ground", "wish:table"}


# Folders --------------------------------------------------------------------------------------------------


def folder(tmp_path: Path, long_m: float, wide_m: float, seed: int = 4) -> Path:
    made = random_farm(seed, "tiny")
    (tmp_path / "farm.toml").write_text(made.farm_toml, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(made.plan_toml, encoding="utf-8")
    here = made.farm.holding
    east = long_m / (M_PER_DEG * cos(radians(here.latitude_deg)))
    north = wide_m / M_PER_DEG
    x, y = here.longitude_deg, here.latitude_deg
    ring = [[x, y], [x + east, y], [x + east, y + north], [x, y + north], [x, y]]
    field = {
        "type": "Feature", "id": "ley", "properties": {"kind": "field", "name": "Ley"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }  # fmt: skip
    text = json.dumps({"type": "FeatureCollection", "features": [field]})
    (tmp_path / "land.geojson").write_text(text, encoding="utf-8")
    return tmp_path


def test_a_plan_fits_on_the_land_or_is_planned_again(tmp_path: Path) -> None:
    made = random_farm(4, "tiny")
    at = made.at(made.plan(made.farm))
    wide = folder(tmp_path, 250.0, 120.0)
    roomy = plan_for(wide, at, seconds=60)
    assert isinstance(roomy.outcome, Planned)
    assert roomy.grass is not None
    assert roomy.grass.known == "seen"
    assert roomy.grass.fits
    assert not list(wide.glob(".leyfold/stands-*"))  # nothing was laid out for it
    takes = roomy.grass.takes_m2
    assert takes == pytest.approx(used_m2(roomy.farm, roomy.outcome))

    # A field that holds some four fifths of that.
    narrow = folder(tmp_path, 0.8 * takes / 28.0 + 2.0, 30.0)
    tight = plan_for(narrow, at, seconds=60)
    assert isinstance(tight.outcome, Planned)
    assert tight.grass is not None
    assert tight.grass.known in ("seen", "laid")
    assert tight.grass.fits
    assert tight.grass.there_m2 is not None
    assert tight.grass.takes_m2 <= tight.grass.there_m2 < takes
    assert tight.outcome.objective < roomy.outcome.objective
    assert list(narrow.glob(".leyfold/stands-*"))
    farm, _ = grass_for(open_farm(narrow, at), made.farm, tight.outcome.completed)
    assert check(farm, tight.outcome.completed) == ()
    assert {f.what for f in check(farm, roomy.outcome.completed)} == {"ground"}


def test_the_command_says_how_much_it_takes_of_how_much_there_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = random_farm(4, "tiny")
    at = made.at(made.plan(made.farm))
    where = folder(tmp_path, 250.0, 120.0)
    out = where / "plan.toml"
    inputs = inputs_sha256(open_farm(where, at))
    assert inputs != open_farm(where, at).sha256  # the land is one of them
    assert main(["plan", str(where), "--at", at.isoformat(), "--json", "--out", str(out)]) == 0
    answer = json.loads(capsys.readouterr().out)
    grass, plan = answer["data"]["grass"], answer["data"]["plan"]
    assert answer["inputs_sha256"] == inputs
    assert grass["known"] == "seen"
    assert 0 < grass["takes_m2"] < grass["there_m2"] < 250.0 * 120.0
    assert main(["plan", str(where), "--at", at.isoformat()]) == 0
    assert "fresh grass" in capsys.readouterr().out
    assert not any(f.what == "ground" for f in check_farm(where, at).findings)
    # The same plan, written down, on a field the size of a garden.
    folder(tmp_path, 30.0, 20.0)
    out.write_text(plan, encoding="utf-8")
    assert [f.what for f in check_farm(where, at).findings] == ["ground"]
    (where / "land.geojson").unlink()
    assert not check_farm(where, at).findings
    assert main(["plan", str(where), "--at", at.isoformat()]) == 0
    assert "nobody has said" in capsys.readouterr().out


def test_what_was_used_before_the_records_day_is_gone(tmp_path: Path) -> None:
    where = folder(tmp_path, 250.0, 120.0)
    made = random_farm(4, "tiny")
    at = made.at(made.plan(made.farm))
    answer = plan_for(where, at, seconds=60)
    assert answer.text is not None
    (where / "plan.toml").write_text(answer.text, encoding="utf-8")
    later = at + timedelta(days=150)
    (where / "records.jsonl").write_text(write(opening(where, later)), encoding="utf-8")
    opened, whole = open_farm(where, later), open_farm(where, at)
    assert opened.ahead.first == later.date()
    plan, all_of_it = complete(opened.farm, opened.ahead), complete(whole.farm, whole.ahead)
    _, ahead = grass_for(opened, own_grass(opened), plan)
    _, full = grass_for(whole, own_grass(whole), all_of_it)
    assert 0 < ahead.takes_m2 < full.takes_m2
    assert ahead.there_m2 is not None
    assert full.there_m2 is not None
    assert full.there_m2 - ahead.there_m2 == pytest.approx(full.takes_m2 - ahead.takes_m2, rel=0.05)
