"""`leyfold eggs`: the smallest sets that are sure enough, and what the usual sum is worth."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.season.chance import Counting
from leyfold.season.complete import complete
from leyfold.services.eggs import EggsAnswer, eggs_for
from leyfold.services.opened import open_farm

DEMO = Path(__file__).parents[2] / "examples" / "demo"
AT = datetime(2026, 12, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def answer() -> EggsAnswer:
    return eggs_for(DEMO, AT)


def test_every_wish_for_birds_is_answered(answer: EggsAnswer) -> None:
    assert [a.question.wish for a in answer.answers] == ["laying-flock", "summer-table"]


def test_the_smallest_sets_are_the_smallest(answer: EggsAnswer) -> None:
    opened = open_farm(DEMO, AT)
    plan = complete(opened.farm, opened.ahead)
    for one in answer.answers:
        q = one.question
        for setting in one.needed:
            assert setting is not None
            counting = Counting(opened.farm, plan, q.what, q.on, setting.spread, q.line)
            with_ = counting.number(dict.fromkeys(one.sets, setting.eggs))
            without = counting.number(dict.fromkeys(one.sets, setting.eggs - 1))
            assert without.at_least(q.number) < q.chance <= with_.at_least(q.number)
            assert setting.chance == with_.at_least(q.number)
            assert setting.safe == with_.safe()


def test_the_usual_sum_is_little_better_than_an_even_chance(answer: EggsAnswer) -> None:
    """And nine in ten takes some 8 % more where only chance varies, more where batches vary, most where they
    share a fault."""
    flock = answer.answers[0]
    assert flock.question.chance == 0.9
    assert 0.48 < flock.usual.chance < 0.62
    assert flock.usual.mean == pytest.approx(flock.question.number, abs=2)
    alone, vary, shared = (s.eggs for s in flock.needed if s is not None)
    assert 1.04 * flock.usual.eggs < alone < 1.14 * flock.usual.eggs
    assert alone < vary < shared


def test_the_safe_promise_is_below_the_mean(answer: EggsAnswer) -> None:
    for one in answer.answers:
        assert one.as_planned.safe < one.as_planned.mean
        assert one.as_planned.low <= one.as_planned.safe + 1


def test_twenty_of_24_fertile_is_67_to_92_in_a_hundred(answer: EggsAnswer) -> None:
    """The 90 % interval of a beta with an even prior; tables of the incomplete beta give 0.671 and 0.918."""
    test = next(t for t in answer.tests if (t.eggs, t.fertile) == (24, 20))
    assert (round(100 * test.low), round(100 * test.high)) == (67, 92)
    assert test.missed < 0.001  # a fault is caught: half the eggs clear never look like this
    wide = next(t for t in answer.tests if (t.eggs, t.fertile) == (20, 16))
    assert wide.high - wide.low > test.high - test.low


def test_pens_take_days_to_lay_a_set(answer: EggsAnswer) -> None:
    needed = answer.answers[0].needed[1]
    assert needed is not None
    assert answer.answers[0].gathering_d == pytest.approx(needed.eggs / (58 * 0.48 * 0.82))


def test_asked_for_more_it_takes_more() -> None:
    one, two = (eggs_for(DEMO, AT, pullets=n, by=date(2027, 8, 1), chance=0.8).answers[0] for n in (60, 80))
    for a, b in zip(one.needed, two.needed, strict=True):
        assert a is not None
        assert b is not None
        assert a.eggs < b.eggs
    surer = eggs_for(DEMO, AT, pullets=60, by=date(2027, 8, 1), chance=0.95).answers[0]
    assert surer.needed[1] is not None
    assert one.needed[1] is not None
    assert surer.needed[1].eggs > one.needed[1].eggs


def test_the_command_prints_one_object(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["eggs", str(DEMO), "--pullets", "50", "--by", "2027-08-01", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["kind"], told["seed"]) == ("eggs", None)
    question = told["data"]["answers"][0]["question"]
    assert (question["number"], question["on"], question["what"]) == (50, "2027-08-01", "pullets")
    assert [s["spread"] for s in told["data"]["answers"][0]["needed"]] == [
        "chance alone",
        "batches",
        "shared",
    ]
    assert {t["eggs"] for t in told["data"]["test_sets"]} == {20, 24}


def test_the_command_says_it_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["eggs", str(DEMO), "--table-birds", "30"]) == 0
    said = capsys.readouterr().out
    for words in (
        "30 table birds killed by 12 Jun 2027",
        "batches vary",
        "Promise ",
        "yule, january",
        "67-92 %",
    ):
        assert words in said
