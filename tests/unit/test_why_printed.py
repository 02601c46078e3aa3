"""The sum of `leyfold why` as it is printed: every source once, and numbers that give the printed result."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.cli.why import FIGURES, _Page
from leyfold.nouns.figure import Figure
from leyfold.nouns.why import Given, Step, Term
from leyfold.season.expect import expect
from leyfold.season.reasons.asked import WHATS
from leyfold.season.reasons.scope import Ask, Scope
from leyfold.season.reasons.sums import of_day
from leyfold.season.why import why
from why_sums import DEMO, EXACT, LONG_AGO, ask, by_hand, demo, steps

# --- where numbers come from ----------------------------------------------------------------------------


def test_a_figure_of_the_farms_own_records_says_how_many_were_counted() -> None:
    there, season, _, _ = demo()
    counted = Figure(0.913, "share", "candled", "records", 412)
    own = replace(there, lines={"rowan": replace(there.lines["rowan"], fertility=counted)})
    plan = replace(season.plan, completed=True)
    reason = why(own, expect(own, plan), "hatched:march", today=LONG_AGO)
    page = _Page(own)
    page.tree(reason.step)
    notes = [note.plain for note in page.notes()]
    assert any("your own records" in note and "412" in note for note in notes)


def test_what_the_records_tell_is_not_laid_to_the_plan() -> None:
    there, season, _, _ = demo()
    reason = why(there, season, "hatched:march", today=LONG_AGO, recorded=("march",))
    eggs = next(t for t in reason.step.walk() if t.key == "eggs_set")
    assert isinstance(eggs, Given)
    assert eggs.figure.evidence == "records"


def test_a_guess_is_said_loudly_once() -> None:
    page = _Page(demo()[0])
    page.tree(ask("feed").step)
    notes = [note.plain for note in page.notes()]
    assert len(set(notes)) == len(notes)
    wasted = [note for note in notes if "share wasted" in note]
    assert len(wasted) == 1
    assert re.search(r"\[\d+!\].*GUESS", wasted[0])


# --- as printed ------------------------------------------------------------------------------------------


def printed(text: str) -> float:
    """What a printed sum comes to."""
    plain = re.sub(r"\[\d+!?\]", "", text).replace(",", "")
    for sign, arithmetic in (("×", "*"), ("÷", "/"), ("−", "-"), ("^", "**")):
        plain = plain.replace(sign, arithmetic)
    return by_hand(plain, {})


def slack(step: Step, page: _Page) -> float:
    """How far rounding what is printed can move the result, and rounding the result itself."""
    assert step.formula is not None
    values = {t.key: t.value for t in step.terms}
    figures = page._figures(step)
    moved = 0.0
    for key, value in values.items():
        half = rounding(value, figures)
        up, down = (by_hand(step.formula, {**values, key: value + d}) for d in (half, -half))
        moved += max(abs(up - step.value), abs(down - step.value))
    return 1.01 * moved + rounding(step.value, FIGURES) + 1e-12


def rounding(value: float, figures: int) -> float:
    decimals = min(max(figures - 1 - math.floor(math.log10(abs(value))), 0), 12) if value else 12
    return 0.5 * 10.0**-decimals


def numbers(text: str) -> tuple[str, float] | None:
    """The sum in numbers and its printed result; None where a line has no sum."""
    *parts, result = text.split(" = ")
    found = re.match(r"[−\d.,]+", result)
    assert found, text
    if len(parts) < 2 or not re.match(r"[\d(−]|exp\(|normal\(", parts[-1].strip()):
        return None
    return parts[-1], float(found[0].replace(",", "").replace("−", "-"))


@pytest.mark.parametrize("what", WHATS)
def test_printed_numbers_give_the_printed_result(what: str) -> None:
    page = _Page(demo()[0])
    tried = 0
    for step in steps(ask(what).step):
        if step.formula is None or not step.terms:
            continue
        found = numbers(page.line(step).plain.split(" (point of lay")[0])
        if found is not None:
            sum_, result = found
            assert printed(sum_) == pytest.approx(result, abs=slack(step, page)), page.line(step).plain
            tried += 1
    assert tried or what in ("eggs_set", "shelters", "bought")


def test_a_small_difference_is_printed_to_its_last_figures() -> None:
    page = _Page(demo()[0])
    gains = [s for s in steps(ask("feed").step) if s.key == "gain"]
    assert gains
    for gain in gains:
        found = numbers(page.line(gain).plain)
        assert found is not None
        assert printed(found[0]) == pytest.approx(found[1], rel=1e-3)


def test_names_in_a_formula_hold_no_sign_of_arithmetic() -> None:
    from leyfold.words import sentences

    for key, words in sentences("why").items():
        if key.startswith("name_"):
            assert not re.search(r"[=×÷^+*/]| - | − ", words), key


@pytest.mark.parametrize(
    "figure", ["feed:march.pullets.s2", "kg_n_per_ha:s1", "pullets", "weight:march.cockerels"]
)
def test_the_page_reads_whole(figure: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why", str(DEMO), figure]) == 0
    page = capsys.readouterr().out
    assert "Where the numbers come from" in page
    for mark in re.findall(r"\[\d+!?\]", page):
        assert len(re.findall(rf"^ *{re.escape(mark)} ", page, re.MULTILINE)) == 1, mark
    assert not re.search(r"[{}]|\bNone\b|  share$", page)


def test_pounds_stand_beside_kilograms(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for name in ("farm.toml", "plan.toml"):
        text = (DEMO / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace('"metric"', '"imperial"'), encoding="utf-8")
    assert main(["why", str(tmp_path), "feed", "--at", "2027-06-10"]) == 0
    first = capsys.readouterr().out.splitlines()[0]
    kg, lb = re.search(r"([\d.]+) kg \(([\d.]+) lb\)", first).groups()  # type: ignore[union-attr]
    assert float(lb) == pytest.approx(float(kg) / 0.45359237, rel=1e-4)


def test_json_holds_the_whole_sum(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why", str(DEMO), "feed", "--at", "2027-06-10", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["schema"], answer["kind"]) == ("leyfold/1", "why")
    top = answer["data"]["step"]
    assert answer["data"]["first"] == answer["data"]["last"] == "2027-06-10"
    assert top["value"] == pytest.approx(math.fsum(t["value"] for t in top["terms"]))
    assert top["formula"] is None
    assert top["terms"][0]["terms"]


def test_one_day_of_all_is_the_sum_of_the_lots() -> None:
    there, season, _, _ = demo()
    scope = Scope(there, season)
    day = date(2027, 6, 10)
    parts: list[Term] = [of_day(scope, Ask("feed", "day", {"batch": b.id}), day) for b in season.plan.batches]
    assert math.fsum(p.value for p in parts) == pytest.approx(ask("feed", day).step.value, rel=EXACT)


# --- the page on asking ----------------------------------------------------------------------------------

PAGE = (DEMO.parents[1] / "docs" / "how-to" / "ask-why.md").read_text(encoding="utf-8")


def test_the_page_on_asking_names_every_figure() -> None:
    rows = " ".join(re.findall(r"^\| (`.*?) \|", PAGE, re.MULTILINE))
    assert set(re.findall(r"`(\w+)`", rows)) == set(WHATS)


def test_what_the_page_on_asking_asks_is_answered(capsys: pytest.CaptureFixture[str]) -> None:
    asked = re.findall(r"^    leyfold why examples/demo (.+)$", PAGE, re.MULTILINE)
    assert len(asked) > 4
    for words in asked:
        assert main(["why", str(DEMO), *words.split()]) == 0
        assert capsys.readouterr().out
    assert "feed given a bird = feed eaten a bird ÷ (1 − share wasted)" in PAGE
