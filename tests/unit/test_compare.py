"""Two plans side by side: what is alike, what differs, and by how much."""

from __future__ import annotations

import json
import re
import shutil
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.nouns.errors import BadInput
from leyfold.services.compare import compare_plans

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo"
AT = datetime(2027, 1, 2, tzinfo=UTC)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The demo farm with a second plan: fewer eggs in March, the set of April a week later."""
    for name in ("farm.toml", "plan.toml"):
        shutil.copy(DEMO / name, tmp_path)
    text = (DEMO / "plan.toml").read_text("utf-8")
    other = text.replace("eggs = 110", "eggs = 90").replace("on = 2027-04-14", "on = 2027-04-21")
    (tmp_path / "later.toml").write_text(other, "utf-8")
    return tmp_path


def test_a_plan_is_like_itself() -> None:
    answer = compare_plans(DEMO, DEMO / "farm.toml", AT)
    assert not answer.differences
    assert {row.group for row in answer.rows} == {"dates", "shelters", "feed", "chances", "money"}


def test_two_plans_of_one_farm(home: Path) -> None:
    answer = compare_plans(home, home / "later.toml", AT)
    found = {(row.of, row.what): row for row in answer.differences}
    assert found["march", "eggs"].change == -20
    assert (found["april", "set"].a, found["april", "set"].change) == (date(2027, 4, 14), 7)
    assert found["april", "turnout"].change == 7
    assert ("may", "set") not in found
    feed = found["", "all_feed"]
    assert feed.change is not None
    assert feed.change < 0
    margin = found["farm", "margin"]
    assert margin.change == pytest.approx(
        answer.b.reckoning.total() - answer.a.reckoning.total()
    )  # the same sums as `leyfold reckon`
    back = compare_plans(home / "later.toml", home, AT)
    assert [row.change for row in back.differences] == pytest.approx(
        [-row.change for row in answer.differences if row.change is not None]
    )


def test_two_farms(home: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    dear = tmp_path_factory.mktemp("dear")
    shutil.copy(DEMO / "plan.toml", dear)
    text = (DEMO / "farm.toml").read_text("utf-8").replace('"540 EUR/t"', '"640 EUR/t"')
    (dear / "farm.toml").write_text(text, "utf-8")
    found = {(row.of, row.what): row for row in compare_plans(home, dear, AT).differences}
    assert set(found) == {(of, "margin") for of in ("farm", "table", "pullets", "eggs")} | {
        (of, "unit_cost") for of in ("table", "pullets", "eggs")
    }
    change = found["farm", "margin"].change
    assert change is not None
    assert change < -200  # some 2.9 t of it are eaten


def test_a_plan_file_takes_the_farm_of_the_other(
    home: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    away = tmp_path_factory.mktemp("away")
    shutil.copy(home / "later.toml", away / "april.toml")
    assert compare_plans(home, away / "april.toml", AT).differences
    with pytest.raises(BadInput, match=r"no farm\.toml"):
        compare_plans(away / "april.toml", away, AT)


def test_the_command(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(home), str(home / "later.toml")]) == 0
    page = capsys.readouterr().out
    assert "april: eggs set: 14 Apr 2027 against 21 Apr 2027 (7 days later)" in page
    assert page.index("Where they differ") < page.index("Wishes")
    assert main(["compare", str(home), str(home / "later.toml"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["kind"] == "compare"
    assert {"group": "dates", "what": "eggs", "of": "march", "unit": "eggs", "a": 110.0, "b": 90.0,
            "change": -20.0} in data["data"]["differences"]  # fmt: skip
    assert main(["compare", str(home), str(home / "nothing.toml")]) == 2


def test_what_is_printed_can_be_checked_by_hand(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A change is that of the two numbers beside it, and a batch that one plan lacks takes one line."""
    text = (home / "later.toml").read_text("utf-8")
    start = text.index('[[set]]\nid = "may"')
    less = text[:start] + text[text.index("[[out]]") :]
    (home / "later.toml").write_text(less.replace("on = 2027-04-21", "on = 2027-04-15"), "utf-8")
    assert main(["compare", str(home), str(home / "later.toml")]) == 0
    page = capsys.readouterr().out
    assert [line for line in page.splitlines() if line.startswith("  may:")] == ["  may: only in Sedge Rise"]
    assert "april: eggs set: 14 Apr 2027 against 15 Apr 2027 (a day later)" in page
    pairs = re.findall(r": ([−-]?[\d,.]+) against ([−-]?[\d,.]+) \(([+−][\d,.]+)\)", page)
    assert len(pairs) > 15
    for one, other, change in pairs:
        a, b, c = (Decimal(text.replace("−", "-").replace(",", "")) for text in (one, other, change))
        assert b - a == c


def test_an_imperial_farm_is_told_pounds(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same numbers, over by hand: 0.45359237 kg to the pound, 0.09290304 m2 to the square foot,
    4046.8564224 m2 to the acre of the international foot."""
    farm = home / "farm.toml"
    metric = compare_plans(home, home / "later.toml", AT)
    farm.write_text(farm.read_text("utf-8").replace('lengths = "metric"', 'lengths = "imperial"'), "utf-8")
    assert [row.a for row in compare_plans(home, home / "later.toml", AT).rows] == [r.a for r in metric.rows]
    assert main(["compare", str(home), str(home / "later.toml")]) == 0
    page = capsys.readouterr().out
    assert "kg" not in page
    lb = 0.45359237
    for (of, what), label, to_one, digits in (
        (("", "all_feed"), "all feed, lb", 1 / lb, 1),
        (("", "kg_per_m2"), "most live weight in a shelter, lb/sq ft", 0.09290304 / lb, 1),
        (("", "kg_n_per_ha_pass"), "most nitrogen on a stand in a pass, lb/acre", 0.40468564224 / lb, 1),
        (("table", "unit_cost"), "table: cost of a lb of carcass", lb, 2),
    ):
        (row,) = (r for r in metric.rows if (r.of, r.what) == (of, what))
        assert isinstance(row.a, float)
        assert isinstance(row.b, float)
        shown = re.search(rf"^ {label} +([\d,.]+) +([\d,.]+) ", page, re.MULTILINE)
        assert shown, label
        told = [float(number.replace(",", "")) for number in shown.groups()]
        assert told == [round(row.a * to_one, digits), round(row.b * to_one, digits)]
