"""`leyfold replan`: the answer as a page, as JSON, and a mend written down to be compared."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from leyfold.cli import main
from leyfold.cli.answer import when
from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.log.lines import write
from leyfold.plan.replan.suppose import suppose
from leyfold.plan.replan.told import promise
from leyfold.services.round import opening

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo"
AT = ("--at", "2027-05-28T18:00")
Places = list[tuple[str, str | None]]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    for name in ("farm.toml", "plan.toml"):
        shutil.copy(DEMO / name, tmp_path)
    return tmp_path


def test_a_mend_is_written_down_and_compared(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = home / "june.toml"
    asked = ["replan", str(home), *AT, "--if", "cockerels 70 % of march"]
    assert main([*asked, "--out", str(out)]) == 0
    page = capsys.readouterr().out
    assert (
        page.index("Breaks first, on 16 Jun 2027") < page.index("Before dark") < page.index("Alive tonight")
    )
    assert "yes, it holds" in page
    assert main([*asked, "--out", str(out)]) == 2  # never written over
    capsys.readouterr()
    assert main(["compare", str(home), str(out)]) == 0


def test_the_page_tells_the_numbers_and_the_sunset(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["replan", str(home), "--if", "grass from 2027-05-25"]
    assert main([*asked, "--at", "2027-04-20T18:00"]) == 0
    page = capsys.readouterr().out
    assert page.index("Before dark (the sun sets at 20:2") < page.index("What it comes to")
    assert "4 May 2027, barn: 79 birds, 7.9 of 11 m²; lamps 165 for 51" in page
    assert "Still free: may, 80 eggs on 10 May 2027" in page
    assert main([*asked, "--at", "2027-04-20T22:00"]) == 0
    assert "Still tonight (the sun set at 20:2" in capsys.readouterr().out
    assert main([*asked, "--at", "2027-04-20T18:00", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["dark_at"].startswith("2027-04-20T18:2")
    barn = [n for n in data["numbers"] if n["name"] == "barn_lamps_m2" and n["of"] == "barn"]
    assert [n["on"] for n in barn] == ["2027-04-20", "2027-04-27", "2027-05-04", "2027-05-11", "2027-05-18"]


def test_what_leaves_nothing_broken_comes_first(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two rooms pass their floor: a mend of the first alone stands below one of both, if cheaper."""
    data = asked(capsys, home, "2027-03-10T18:00", "grass from 2027-05-25")
    new = {b["id"] for b in data["broken"] if not b["before"]}
    assert len(new) == 2
    left = [len(new & set(m["leaves"])) for m in data["mends"] if m["verified"]]
    assert left[0] == 0
    assert left == sorted(left)
    costs = [m["cost"] for m in data["mends"] if m["verified"]]
    assert costs[0] > min(costs)
    # Nobody hardens off in March whoever hatches in May.
    assert any("out_sooner" in m["kind"] for m in data["mends"])
    assert not any("Lamps off" in said for m in data["mends"] for said in m["before_dark"])


def test_every_promise_is_said_in_words() -> None:
    """Promises without a name of their own among them."""
    for one in ("ground", "cover", "hands", "wish:flock", "limit:heads:s2", "forbidden:march"):
        assert promise(one)


def test_birds_spread_for_a_while_are_counted_anew_afterwards(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Those killed meanwhile do not come back into the shelter with the others."""
    asked = ["replan", str(home), "--at", "2027-06-03T18:00", "--if", "cockerels 95 % of march", "--json"]
    assert main(asked) == 0
    mends = json.loads(capsys.readouterr().out)["data"]["mends"]
    assert any(m["kind"] != "kill" for m in mends)
    assert [m["found"] for m in mends] == [[]] * len(mends)
    assert all(m["verified"] for m in mends)


def test_what_is_left_broken_is_said_in_words(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["replan", str(home), "--at", "2027-04-20T18:00", "--if", "s2 lost", "--if", "s3 lost"]
    assert main([*asked, "--json"]) == 0
    mends = json.loads(capsys.readouterr().out)["data"]["mends"]
    left = {one for m in mends for one in m["leaves"]}
    assert "limit:l1.heads:l1" in left
    assert any(m["found"] for m in mends)
    assert main(asked) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "limit:" not in page
    assert "checker" not in page
    assert "the limit l1.heads in l1" in page


def test_signs_of_a_disease_stop_everything_first(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever the money says; nothing of any batch is killed, the sick place's or another's."""
    asked = ["replan", str(home), "--at", "2027-05-30T18:00", "--if", "signs in s2"]
    assert main(asked) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if line]
    assert lines[2].startswith("STOP. Nothing is killed, sold, moved")
    assert not [line for line in lines if "Every promise" in line or "still to come" in line]
    assert main([*asked, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["stop"] == lines[2]
    wishes = {odd["wish"]: odd for odd in data["odds"]}
    assert wishes["summer-table"]["now"] < wishes["summer-table"]["before"]
    assert main(["replan", str(home), "--at", "2027-05-30T18:00", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["data"]["stop"] is None


def test_under_withdrawal_the_new_day_of_killing_is_said(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["replan", str(home), "--at", "2027-05-30T18:00"]
    assert main([*asked, "--if", "withdrawal of january until 2027-06-20", "--json"]) == 0
    dark = json.loads(capsys.readouterr().out)["data"]["before_dark"]
    assert [one for one in dark if "not killed on 1 Jun 2027, but on 20 Jun 2027" in one]


def test_water_is_carried_to_those_who_stand_there_now(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the day of sorting, at noon: whoever is to come in the evening is not thirsty there yet."""
    asked = ["replan", str(home), "--at", "2027-06-30T18:00", "--json", "--if"]
    assert main([*asked, "no water in s3"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert "s3" not in {group["place"] for group in data["alive"]}
    assert data["first"] is None
    assert main([*asked, "no water in s4"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    there = sum(group["heads"] for group in data["alive"] if group["place"] == "s4")
    assert f"no water for {there} birds" in data["first"]["said"]


def test_json(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replan", str(home), *AT, "--if", "no water in s2", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "replan"
    data = answer["data"]
    assert data["first"]["id"] == "water:s2"
    assert data["mends"][0]["verified"]
    assert sum(group["heads"] for group in data["alive"]) == 354
    assert data["before_dark"][0].startswith("Water to them within the hour")


def test_where_nothing_happened_nothing_is_lost(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Over the same days from the same day on: whole birds for parts of birds are all that differs, though
    cockerels were killed the day before, in the same week."""
    assert main(["replan", str(home), "--at", "2027-06-02T18:00", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["money_now"] == pytest.approx(data["money_before"], abs=60)
    assert main(["replan", str(home), "--at", "2027-06-02T18:00"]) == 0
    page = capsys.readouterr().out
    assert "still to come than" not in page
    assert "Say what happened with --if" in page


def test_a_plan_that_names_no_days_is_looked_at_over_the_same_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["start", str(tmp_path / "new")]) == 0
    farm = tmp_path / "new"
    capsys.readouterr()
    assert main(["replan", str(farm), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["money_now"] == data["money_before"]


def asked(capsys: pytest.CaptureFixture[str], farm: Path, at: str, *what: str) -> dict[str, Any]:
    said = [word for one in what for word in ("--if", one)]
    assert main(["replan", str(farm), "--at", at, *said, "--json"]) == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)["data"]
    return data


def test_fewer_chicks_bring_less_whenever_it_is_told(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    on_the_day, a_month_on = (
        asked(capsys, home, f"{day}T12:00", "hatch of march is 40") for day in ("2027-04-08", "2027-05-08")
    )
    for data in (on_the_day, a_month_on):
        assert data["money_before"] - data["money_now"] > 500


def test_a_book_opened_in_mid_season_knows_what_was_killed_before(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The book of 8 May holds no cockerel of the batch that was killed on the 4th; they are killed all the
    same, and what was promised of them is kept."""
    at = "2027-05-08T06:10"
    records = opening(home, when(at, home))
    (home / "records.jsonl").write_text(write(records), encoding="utf-8")
    data = asked(capsys, home, at, "dead 2 in l1")
    assert not data["broken"]
    odds = {one["wish"]: one["now"] for one in data["odds"]}
    assert odds["summer-table"] > 0.9


@pytest.mark.parametrize(
    ("day", "batch", "morning", "next_day"),
    [
        ("2027-05-08", "march", [("barn", None)], [("s2", None)]),  # turned out
        ("2027-05-10", "february", [("l1", None)], [("l1", "pullet"), ("l2", "cockerel")]),  # sorted
        ("2027-06-01", "january", [("s3", "pullet"), ("s4", "cockerel")], [("s3", "pullet")]),  # killed
        ("2027-05-31", "may", [], [("barn", None)]),  # hatched
    ],
)
def test_without_records_a_step_of_the_plan_is_done_when_its_day_is_over(
    home: Path, capsys: pytest.CaptureFixture[str], day: str, batch: str, morning: Places, next_day: Places
) -> None:
    """And the answer is that of a farm that opens its book that morning."""

    def places(at: str) -> Places:
        there = [(g["place"], g["sex"]) for g in asked(capsys, home, at)["alive"] if g["batch"] == batch]
        return sorted(there, key=str)

    late = (date.fromisoformat(day) + timedelta(days=1)).isoformat()
    assert [places(f"{day}T06:10"), places(f"{day}T21:00"), places(f"{late}T00:10")] == [
        morning, morning, next_day,
    ]  # fmt: skip
    records = opening(home, when(f"{day}T06:10", home))
    (home / "records.jsonl").write_text(write(records), encoding="utf-8")
    assert places(f"{day}T06:10") == morning


def test_chicks_still_in_the_barn_on_the_morning_of_turnout_wait_for_grass(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = "2027-05-08T06:10"
    (home / "records.jsonl").write_text(write(opening(home, when(at, home))), encoding="utf-8")
    data = asked(capsys, home, at, "grass from 2027-05-20")
    assert [g["place"] for g in data["alive"] if g["batch"] == "march"] == ["barn"]
    assert data["money_now"] < data["money_before"] - 50  # lamps for twelve days more


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("fox 5 in s3", "dead 5 in s3"),
        ("power off 8 hours in cabinet", "power off 8 h cabinet"),
        ("hatch of march is 40 chicks", "hatch march 40"),
    ],
)
def test_plain_words_are_understood(said: str, meant: str) -> None:
    farm = read_farm(Texts(DEMO))
    plan, day = read_plan(Texts(DEMO), farm), date(2027, 5, 8)
    assert replace(suppose(farm, plan, said, day), text=meant) == suppose(farm, plan, meant, day)


def test_the_same_again(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["replan", str(home), *AT, "--if", "no killing from 2027-06-01 until 2027-06-20", "--json"]
    answers = []
    for _ in range(2):
        assert main(asked) == 0
        answers.append(capsys.readouterr().out)
    assert answers[0] == answers[1]


def test_every_fault_at_once(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replan", str(home), *AT, "--if", "the sky falls", "--if", "dead in s2"]) == 2
    wrong = capsys.readouterr().err
    assert "the sky falls" in wrong
    assert "dead in s2" in wrong
