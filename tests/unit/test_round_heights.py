"""A farm that names its heights: gaps under skirts, and files that are none. When cattle graze."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from functools import cache
from pathlib import Path
from shutil import copytree, ignore_patterns
from zoneinfo import ZoneInfo

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.ground.told import gap_told
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Cattle
from leyfold.nouns.land import SkirtGap, Stand
from leyfold.nouns.round import Round
from leyfold.round.fences import moved
from leyfold.season.grazing import grazes
from leyfold.services.round import rounds_of

DEMO = Path(__file__).parents[2] / "examples" / "demo"
AT = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))
HOLLOW = date(2027, 5, 13)
"""The day on which l2 stands over a hollow of the demo farm's invented heights."""


@cache
def mornings() -> dict[date, Round]:
    return {r.day: r for r in rounds_of(DEMO, AT, days=8).rounds if r.part == "morning"}


def test_the_gap_of_the_day_stands_with_the_shelter_and_is_warned_of_the_day_before() -> None:
    rounds = mornings()
    line, rocks = (x for c in rounds[HOLLOW].calls if c.move for x in c.move.boards)
    (call,) = [c for c in rounds[HOLLOW].calls if c.move and line in c.move.boards]
    assert call.id == "l2"
    assert not [x for x in call.cautions if "gap of" in x], "told where it is set down, and once"
    assert moved(call) == f"{call.move.said} {line} {rocks}"
    assert " on its south side; board " in line
    (warning,) = [w for w in rounds[date(2027, 5, 12)].warnings if w.kind == "gap"]
    assert line in warning.said
    assert not [w for w in rounds[AT.date()].warnings if w.kind == "gap"]
    evenings = {r.day: r for r in rounds_of(DEMO, AT, days=8).rounds if r.part == "evening"}
    assert [line in w.said for w in evenings[date(2027, 5, 12)].warnings if w.kind == "gap"] == [True]


def test_the_side_is_the_way_it_looks() -> None:
    """A shelter pulled due north-east: its head looks north-east, its left flank north-west."""
    stand = Stand("f/1.1", "f", "f/1", 0, 10.0, 10.0, 45.0)
    for at, side in (((11, 11), "north-east"), ((9, 11), "north-west"), ((9, 9), "south-west"),
                     ((11.0, 9.0), "south-east"), ((12, 10.5), "north-east")):  # fmt: skip
        gap = SkirtGap("f/1.1", 0.04, at, (1.2,), False, 0.04)
        assert f"on its {side} side" in gap_told("s1", gap, stand)[0], at


def test_without_heights_nothing_is_said_of_gaps(tmp_path: Path) -> None:
    folder = farm(tmp_path, None)
    told = rounds_of(folder, AT, days=8).rounds
    assert not [x for r in told for c in r.calls if c.move for x in c.move.boards]
    assert not [w for r in told for w in r.warnings if w.kind == "gap"]
    # The ground is nearly level: the strips are the same with and without.
    assert [c.move for c in told[0].calls] == [c.move for c in mornings()[AT.date()].calls]


def farm(tmp_path: Path, heights: str | None) -> Path:
    folder = tmp_path / "farm"
    copytree(DEMO, folder, ignore=ignore_patterns("records.*", ".leyfold"))
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    start = text.index("[land]")
    end = text.index("\n[", start)
    text = text[:start] + ("" if heights is None else f'[land]\nheights = "{heights}"\n') + text[end:]
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_file_that_is_not_there_or_lies_elsewhere_is_named(tmp_path: Path) -> None:
    folder = farm(tmp_path, "none.asc")
    with pytest.raises(BadInput) as wrong:
        rounds_of(folder, AT)
    assert (wrong.value.faults[0].file, wrong.value.faults[0].wrong) == ("none.asc", "there is no such file.")
    grid = (DEMO / "heights.asc").read_text(encoding="ascii")
    (folder / "none.asc").write_text(grid.replace("xllcorner 14.", "xllcorner 24."), encoding="ascii")
    with pytest.raises(BadInput, match="no heights where the land lies"):
        rounds_of(folder, AT)
    (folder / "none.asc").write_text(grid, encoding="ascii")
    assert rounds_of(folder, AT).rounds, "mended, it answers"


@pytest.mark.parametrize("name", ["../heights.asc", "/tmp/heights.asc", ".heights.asc"])
def test_only_a_file_beside_the_farm_is_opened(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInput) as wrong:
        read_farm(Texts(farm(tmp_path, name)))
    (fault,) = wrong.value.faults
    assert fault.field == "land.heights"
    assert fault.line is not None


# Cattle


def test_cattle_graze_between_the_farms_own_days() -> None:
    base = read_farm(Texts(DEMO))
    herd = Cattle("herd", 9, grazing=((5, 20), (10, 1)))
    days = [date(2027, 5, 19), date(2027, 5, 20), date(2028, 9, 30), date(2028, 10, 1), date(2027, 1, 3)]
    assert [grazes(base, herd, d) for d in days] == [False, True, True, False, False]
    south = replace(herd, grazing=((10, 20), (4, 1)))
    assert [grazes(base, south, d) for d in (date(2027, 1, 3), date(2027, 4, 1), date(2027, 10, 20))] == [
        True, False, True,
    ]  # fmt: skip
    assert not grazes(base, replace(herd, until=date(2027, 6, 1)), date(2027, 6, 2))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('{ from = "06-05", until = "13-01" }', "month and day"),
        ('{ from = "02-30", until = "10-01" }', "month and day"),
        ('{ from = "5 May", until = "10-01" }', "month and day"),
        ("{ from = 2027-05-06, until = 2027-10-20 }", "month and day"),
        ('{ from = "05-06" }', "until"),
    ],
)
def test_days_of_the_year_that_are_none_are_refused(tmp_path: Path, said: str, words: str) -> None:
    folder = farm(tmp_path, None)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("[cattle.herd]\n", f"[cattle.herd]\ngrazing = {said}\n")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        read_farm(Texts(folder))
    assert words in str(wrong.value)
    assert all(f.line is not None and f.mend for f in wrong.value.faults)


def test_the_farms_own_days_are_read(tmp_path: Path) -> None:
    folder = farm(tmp_path, "heights.asc")
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace("[cattle.herd]\n", '[cattle.herd]\ngrazing = { from = "05-20", until = "10-01" }\n')
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    read = read_farm(Texts(folder))
    assert read.cattle["herd"].grazing == ((5, 20), (10, 1))
    assert read.heights == "heights.asc"
    assert not [c for c in rounds_of(folder, AT).rounds[0].calls if c.kind == "cattle"], "still in the yard"
