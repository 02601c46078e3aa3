"""What stands in the way of any plan: what is named, what is printed of it, and what when nobody knows."""

from __future__ import annotations

import json
from math import inf
from pathlib import Path
from typing import Any

import pytest

from leyfold.cli import main
from leyfold.cli.ways_page import ways_lines
from leyfold.nouns.planned import Clash, Reason
from leyfold.nouns.record import State
from leyfold.plan import make, settled
from leyfold.plan.build import build
from leyfold.plan.clash import core
from leyfold.plan.freed import DAYS, lifted, unbound
from leyfold.plan.levels import least_guess
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.solver import solve_cpsat
from random_farms import Size, random_farm


def three_that_clash() -> Linear:
    """x of at least 3 and of at most 2, and a limit that stands in nobody's way."""
    linear = Linear()
    x, y = linear.number(9), linear.number(9)
    linear.row({x: 1}, most=2, group="few")
    linear.row({y: 1}, most=5, group="idle")
    linear.row({x: 1, y: 1}, least=1, group="wish:any")
    linear.row({x: 1}, least=3, group="wish:three")
    return linear


def folder(tmp_path: Path, size: Size, seed: int) -> tuple[str, str]:
    made = random_farm(seed, size)
    (tmp_path / "farm.toml").write_text(made.farm_toml, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(made.plan_toml, encoding="utf-8")
    return str(tmp_path), made.at(made.plan(made.farm)).isoformat()


def test_only_what_clashes_is_named() -> None:
    assert core(three_that_clash(), seconds=10.0, seed=0) == (("few", "wish:three"), True, False)


def test_where_time_is_over_nobody_says_that_each_is_needed() -> None:
    groups, irreducible, hit = core(three_that_clash(), seconds=0.0, seed=0)
    assert set(groups) >= {"few", "wish:three"}
    assert not irreducible
    assert hit


def test_where_there_is_an_answer_nothing_is_named() -> None:
    linear = three_that_clash()
    linear.rows = [row for row in linear.rows if row.group != "few"]
    assert core(linear, seconds=10.0, seed=0)[:2] == ((), False)


@pytest.mark.parametrize("seed", [16, 102, 138])
def test_every_way_of_the_farmer_is_among_those_a_clash_is_sought_over(seed: int) -> None:
    """What the planner can do with some days let go, the wider model can with their groups left out."""
    made = random_farm(seed, "tiny")
    farm = made.farm
    plan = made.plan(farm)
    own = make.posed(farm, State(), plan, made.at(plan))
    wide = unbound(own, least_guess(own))
    for groups in ((), ("set_days",), ("grass",), ("killing_days",), tuple(DAYS)):
        problem = make.posed(lifted(farm, *groups), State(), plan, made.at(plan))
        narrow = build(problem, least_guess(problem)).linear
        kept = [group for group in wide.groups() if group not in groups]
        if solve_cpsat(narrow, effort=3.0, seconds=20.0, any_answer=True).values is not None:
            found = solve_cpsat(wide, effort=3.0, seconds=20.0, groups=kept, any_answer=True)
            assert found.values is not None, groups


def test_a_clash_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where, at = folder(tmp_path, "tiny", 19)
    assert main(["plan", where, "--at", at]) == 3
    said = capsys.readouterr().out
    assert said.startswith("No plan fits. These cannot all be kept")
    assert "the days and on the weekdays that [planning] names." in said
    assert "table wants 4 birds killed by 8 Nov 2027" in said
    assert "Ways out, each with a plan that was found" in said
    assert "the margin is then" in said


def test_where_none_was_found_and_nobody_knows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The search finds nothing and proves nothing: no limit is blamed, and what to do is said."""

    def nothing(*_: Any, **__: Any) -> Solved:
        return Solved(None, 0, inf, False, True, 0.0)

    for module in (make, settled):
        monkeypatch.setattr(module, "search", nothing)
    where, at = folder(tmp_path, "tiny", 4)
    assert main(["plan", where, "--at", at]) == 3
    said = capsys.readouterr().out
    assert said.startswith(
        "No plan was found in the time there was, and nobody knows yet whether there is one."
    )
    assert "--seconds" in said
    assert "No plan fits" not in said
    assert "Ways out" not in said
    assert main(["plan", where, "--at", at, "--json"]) == 3
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["plan"] is None
    assert data["clash"]["reasons"] == data["clash"]["ways"] == []
    assert data["clash"]["irreducible"] is False
    assert data["clash"]["said"].startswith("No plan was found")


def test_a_wish_that_nothing_can_keep_is_said_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where, at = folder(tmp_path, "tiny", 9)
    assert main(["plan", where, "--at", at]) == 3
    assert capsys.readouterr().out.startswith("No plan fits, whatever limits are let go:")


def test_where_no_way_out_is_known_that_is_said() -> None:
    farm = random_farm(4, "tiny").farm
    (line,) = ways_lines(Clash((Reason("few", "There are few."),), irreducible=True), farm)
    assert line.startswith("No one change was found")
    assert list(ways_lines(Clash((), irreducible=False), farm)) == []
