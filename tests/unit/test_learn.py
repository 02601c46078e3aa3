"""Learning from records: nothing breaks it, what it says lies between start value and records, and the
command shows it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm
from leyfold.cli import main
from leyfold.log import fold, write
from leyfold.nouns.figure import Figure
from leyfold.season.learn import COUNTED, learn, learned, years
from leyfold.season.learning.due import due
from leyfold.services.learn import learn_from
from leyfold.services.opened import open_farm
from logs import Diary, batch_of_fifty, kept, made_up, utc

FARM = farm()
FARM_TOML = """
[holding]
name = "Alder Bank"
latitude = 57.0
longitude = 13.0
zone = "Europe/Stockholm"

[lines.tawny]
name = "Tawny"

[incubators.big]
eggs = 300

[brooders.east]
floor = "12 m2"

[houses.coop]
floor = "40 m2"
light = "16 h"

"""
SHELTER = """[shelters.s{n}]
sides = "3 x 3.4 m"
height = "0.8 m"

"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two winters' hatches, of a farm that hatches less and lays less than the start values."""
    where = tmp_path_factory.mktemp("kept")
    diary, _ = kept(FARM.lines["tawny"].hen, batches=18, first="2024-11-01 07:00", until_d=560)
    (where / "farm.toml").write_text(FARM_TOML + "".join(SHELTER.format(n=n) for n in range(1, 5)))
    (where / "plan.toml").write_text("first = 2026-06-01\nlast = 2027-05-31\n")
    (where / "records.jsonl").write_text(write(sorted(diary, key=lambda r: (r.at, r.id))))
    return where


def figures(noun: Any) -> Iterator[Figure]:
    for field in fields(noun):
        value = getattr(noun, field.name)
        if isinstance(value, Figure):
            yield value
        elif is_dataclass(value):
            yield from figures(value)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_no_records_break_it(seed: int) -> None:
    diary, _ = made_up(seed)
    state = fold(FARM, diary, utc("2027-12-31 12:00"))
    after = learn(FARM, state)
    for figure in figures(after.lines["tawny"]):
        assert figure.value >= 0
        if figure.unit == "share" and figure.evidence == "records" and "cold" not in figure.source:
            assert figure.value <= 1 or "kg of feed" in figure.source
    for row in learned(FARM, after):
        assert row.n > 0
        assert row.after.evidence == "records"
        assert row.before.source in row.after.source
        assert row.figure in COUNTED


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6), st.randoms(use_true_random=False))
def test_the_order_of_records_changes_nothing(seed: int, rng) -> None:  # type: ignore[no-untyped-def]
    records = list(made_up(seed, 60)[0])
    expected = learn(FARM, fold(FARM, records, utc("2027-12-31 12:00")))
    rng.shuffle(records)
    assert learn(FARM, fold(FARM, records, utc("2027-12-31 12:00"))) == expected


def test_a_gathering_on_the_day_itself_waits_for_the_day_to_end() -> None:
    diary = Diary()
    hens = {"batch": "old", "line": "tawny", "place": "coop", "sex": "pullet", "hatched_on": "2026-04-01"}
    diary.write("2027-05-01 06:00", "present", heads=50, **hens)
    for day in (2, 4, 6):
        diary.write(f"2027-05-{day:02} 17:00", "eggs", place="coop", eggs=60)
    day, after = (due(FARM, fold(FARM, diary, utc(f"2027-05-{on} 20:00")))["old"] for on in ("06", "07"))
    assert (day.eggs, after.eggs) == (60, 120)
    assert after.eggs_due == pytest.approx(2 * day.eggs_due, rel=0.01)


def test_fertility_lies_between_the_start_value_and_the_records() -> None:
    diary = batch_of_fifty()
    after = learn(FARM, fold(FARM, diary, utc("2027-02-01 12:00"))).lines["tawny"]
    assert 50 / 54 > after.hatch_of_fertile.value > FARM.lines["tawny"].hatch_of_fertile.value
    assert after.hatch_of_fertile.n_records == 54


def test_a_weighing_of_birds_not_sorted_moves_both_sexes() -> None:
    diary = batch_of_fifty()
    diary.write("2027-03-10 12:00", "weighed", batch="a", weights_kg=[0.9, 1.0, 1.1])
    rows = {row.name: row for row in learned(FARM, learn(FARM, fold(FARM, diary, utc("2027-03-11 12:00"))))}
    for sex in ("pullet", "cockerel"):
        row = rows[f"{sex}.growth.mature_kg"]
        assert row.after.value > row.before.value
        assert f"{sex}.weight_cv" not in rows  # the spread of both together says nothing of one


def test_a_year_learns_from_its_own_batches() -> None:
    diary = Diary()
    for year, fertile in ((2025, 50), (2026, 90)):
        diary.write(f"{year}-01-05 09:00", "set", batch=f"b{year}", line="tawny", eggs=100)
        diary.write(f"{year}-01-12 09:00", "candled", batch=f"b{year}", fertile=fertile)
        diary.write(f"{year}-01-26 09:00", "hatched", batch=f"b{year}", chicks=fertile // 2, place="east")
        diary.write(f"{year}-02-26 09:00", "sold", batch=f"b{year}", heads=fertile // 2)
    state = fold(FARM, diary, utc("2026-12-01 12:00"))
    assert years(FARM, state) == (2026, 2025)
    low, high, both = (
        learn(FARM, state, year=year).lines["tawny"].fertility.value for year in (2025, 2026, None)
    )
    assert low < both < high


def test_the_season_goes_by_what_was_learned(folder: Path) -> None:
    opened = open_farm(folder, utc("2026-11-01 12:00"))
    assert opened.described.lines["tawny"].fertility.evidence != "records"
    assert opened.farm.lines["tawny"].fertility.evidence == "records"
    assert opened.farm.lines["tawny"].fertility.value < opened.described.lines["tawny"].fertility.value


def test_the_command_sets_years_beside_each_other(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["learn", str(folder)]) == 0
    page = capsys.readouterr().out
    assert "Alder Bank, Tawny: by its own records" in page
    assert "2025 alone" in page
    assert "2026 alone" in page
    (fertility,) = (row.split() for row in page.splitlines() if row.strip().startswith("fertility"))
    assert fertility[:7] == ["fertility", "share", "0.900", "0.748", "1,800", "eggs", "candled"]


def test_the_command_as_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["learn", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "learn"
    assert len(answer["inputs_sha256"]) == 64
    rows = {row["figure"]: row for row in answer["data"]["figures"]}
    assert rows["hen.lay_a"]["counted"] == "eggs_laid"
    assert rows["hen.lay_a"]["after"] < rows["hen.lay_a"]["before"]
    assert [year["year"] for year in answer["data"]["by_year"]] == [2026, 2025]
    mine = learn_from(folder, utc("2026-11-01 12:00"))
    assert {row.name for row in mine.rows} == set(rows)


def test_without_records_it_says_so(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("farm.toml", "plan.toml"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    assert main(["learn", str(tmp_path)]) == 0
    assert "do not bear on any figure yet" in capsys.readouterr().out


def test_records_that_contradict_teach_nothing(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("farm.toml", "plan.toml"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    diary = Diary()
    diary.write("2026-01-01 12:00", "found dead", place="east")
    (tmp_path / "records.jsonl").write_text(write(diary))
    assert main(["learn", str(tmp_path)]) == 0
    assert "do not bear on any figure" in capsys.readouterr().out
    assert main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert "by the book no birds stood there: east" in said.out + said.err
