"""`leyfold plan` on folders: the file it writes is the plan it shows, at the start and in mid-season."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from leyfold.cli import main
from leyfold.cli.plan import _grass, _sets
from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.log.lines import write
from leyfold.nouns.errors import BadInput
from leyfold.nouns.planned import Planned
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm
from leyfold.services.plan import plan_for, save_plan
from leyfold.services.round import opening
from random_farms import random_farm


def folder(tmp_path: Path, seed: int) -> Path:
    made = random_farm(seed, "tiny")
    (tmp_path / "farm.toml").write_text(made.farm_toml, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(made.plan_toml, encoding="utf-8")
    return tmp_path


def test_written_over_the_farms_own_plan_and_planned_on_in_mid_season(tmp_path: Path) -> None:
    where = folder(tmp_path, 1)
    made = random_farm(1, "tiny")
    at = made.at(made.plan(made.farm))
    first = plan_for(where, at, seconds=60)
    assert isinstance(first.outcome, Planned)
    save_plan(first, where / "plan.toml")
    opened = open_farm(where, at)
    margin = reckon(opened.farm, expect(opened.farm, opened.plan)).total()
    assert margin == pytest.approx(first.outcome.objective, abs=0.01)

    later = at + timedelta(days=75)
    (where / "records.jsonl").write_text(write(opening(where, later)), encoding="utf-8")
    second = plan_for(where, later, seconds=60)
    assert isinstance(second.outcome, Planned)
    save_plan(second, where / "plan.toml")
    again = open_farm(where, later)
    assert {b.id for b in opened.plan.batches} <= {b.id for b in again.plan.batches}
    margin = reckon(again.farm, expect(again.farm, again.ahead)).total()
    assert margin == pytest.approx(second.outcome.objective, abs=0.01)


def test_nothing_is_searched_for_that_cannot_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def searched(*_: object, **__: object) -> None:
        raise AssertionError("searched first")

    monkeypatch.setattr("leyfold.services.plan.plan_for", searched)
    for out in (tmp_path / "nowhere" / "made.toml", tmp_path):
        assert main(["plan", str(folder(tmp_path, 4)), "--out", str(out)]) == 2
        assert "cannot be written" in capsys.readouterr().err


def test_the_command_answers_writes_and_ends_as_it_should(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = folder(tmp_path, 4)
    made = random_farm(4, "tiny")
    at = made.at(made.plan(made.farm)).isoformat()
    out = tmp_path / "made.toml"
    assert main(["plan", str(where), "--at", at, "--json", "--out", str(out)]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "plan"
    assert answer["data"]["plan"] == out.read_text(encoding="utf-8")
    assert -0.02 < answer["data"]["gap"] < 1e-4  # by the day it earns a little more than by the week
    assert main(["plan", str(where), "--at", at, "--why", "nosuch"]) == 2
    assert "nosuch" in capsys.readouterr().err

    many = made.farm_toml + '\n[[wishes]]\nid = "feast"\nwhat = "table birds"\nnumber = 900\n'
    many += f"on = {made.plan(made.farm).last}\nchance = 0.9\n"
    (where / "farm.toml").write_text(many, encoding="utf-8")
    assert main(["plan", str(where), "--at", at]) == 3
    said = capsys.readouterr().out
    assert "feast" in said
    assert "INFEASIBLE" not in said.upper()


def test_a_terminal_is_told_how_long_it_may_take_and_a_pipe_is_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    where, made = folder(tmp_path, 4), random_farm(4, "tiny")
    typed = ["plan", str(where), "--at", made.at(made.plan(made.farm)).isoformat(), "--seconds", "30"]
    assert main(typed) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    assert main(typed) == 0
    assert "30 s at the most" in capsys.readouterr().err


def test_it_is_said_where_far_more_comes_than_is_asked_for(tmp_path: Path) -> None:
    where, made = folder(tmp_path, 4), random_farm(4, "tiny")
    at = made.at(made.plan(made.farm))
    free = plan_for(where, at, seconds=60)
    assert isinstance(free.outcome, Planned)
    few = {row.wish: max(int(row.mean / 3), 1) for row in free.outcome.chances}
    text = made.farm_toml
    for wish in made.farm.wishes:
        text = text.replace(f"number = {wish.number}\n", f"number = {few[wish.id]}\n")
    (where / "farm.toml").write_text(text, encoding="utf-8")
    answer = plan_for(where, at, seconds=60)
    assert isinstance(answer.outcome, Planned)
    means = {row.wish: row.mean for row in answer.outcome.chances}
    far = {name for name, number in few.items() if means[name] > 2 * number}
    assert far
    assert {name for name in few for note in answer.notes if note.startswith(f"{name}: ")} == far


@pytest.mark.parametrize("how", [{"chance": 1.5}, {"chance": 0.0}, {"seconds": 0.0}, {"seconds": -1.0}])
def test_what_cannot_be_asked_is_refused(tmp_path: Path, how: dict[str, float]) -> None:
    made = random_farm(4, "tiny")
    with pytest.raises(BadInput):
        plan_for(folder(tmp_path, 4), made.at(made.plan(made.farm)), **how)


@pytest.mark.parametrize(("lines", "shown"), [(1, False), (2, True)])
def test_sets_of_several_lines_say_which(lines: int, shown: bool) -> None:
    texts = Texts(Path(__file__).resolve().parents[2] / "examples" / "demo")
    farm = read_farm(texts)
    plan = complete(farm, read_plan(texts, farm))
    rowan = farm.lines["rowan"]
    several = replace(farm, lines={"rowan": rowan, "wren": rowan} if lines == 2 else {"rowan": rowan})
    answer: Any = SimpleNamespace(farm=several)
    page = _sets(answer, cast(Any, SimpleNamespace(completed=plan)))
    assert ("Line" in [column.header for column in page.columns]) == shown
    assert page.row_count == sum(batch.origin == "set" for batch in plan.batches)
    assert all(len(column._cells) == page.row_count for column in page.columns)


@pytest.mark.parametrize(("lengths", "told"), [("metric", "1,000 m²"), ("imperial", "10,764 sq ft")])
def test_grass_is_told_in_the_farms_own_units(lengths: str, told: str) -> None:
    holding: Any = SimpleNamespace(lengths=lengths, language="en")
    grass: Any = SimpleNamespace(takes_m2=1000.0, known="farm", there_m2=1000.0, nets_m2=1000.0)
    assert [line.count(told) for line in _grass(grass, holding)] == [1, 1]
