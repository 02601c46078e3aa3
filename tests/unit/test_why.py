"""Every sum that `leyfold why` prints: equal to the season, each number with its source, to be followed by
hand. The formulas are worked out here by Python's own arithmetic: a second way to every value."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from random import Random
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, line, mine
from leyfold.cli import main
from leyfold.cli.why import FIGURES, _Page
from leyfold.nouns.farm import Farm, Holding, MobileHouse
from leyfold.nouns.figure import EVIDENCE, Figure
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Growth
from leyfold.nouns.why import Given, Reason, Step, Term
from leyfold.season.chance import number_by
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.reasons.asked import ALIASES, EVENTS, WHATS
from leyfold.season.reasons.places import PLACES
from leyfold.season.reasons.scope import Ask, Pick, Scope
from leyfold.season.reasons.sums import FEW, UNITS, of_day, of_lot
from leyfold.season.weeks import weeks
from leyfold.season.why import why
from leyfold.season.wished import wish_chances
from leyfold.services.season import season_of

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo"
EXACT = 1e-9
LONG_AGO = date(2000, 1, 1)

ARITHMETIC = {"exp": math.exp, "max": max, "normal": NormalDist().cdf, "__builtins__": {}}


def by_hand(formula: str, values: dict[str, float]) -> float:
    return float(eval(formula, dict(ARITHMETIC), values))


def steps(top: Step) -> list[Step]:
    return [term for term in top.walk() if isinstance(term, Step)]


def check(top: Step) -> None:
    """Every formula gives its value, every sum is that of its parts, every number has a source."""
    for term in top.walk():
        if isinstance(term, Given):
            assert term.figure.source, term.key
            assert term.figure.evidence in EVIDENCE
            assert term.words
            continue
        assert term.words
        if term.formula is None:
            whole = math.fsum(part.value for part in term.terms) if term.terms else term.value
            assert term.value == pytest.approx(whole, rel=EXACT, abs=EXACT), term.words
            assert term.terms or term.ask or term.value == 0.0 or term.key == "rest", term.words
            continue
        assert bool(term.source) == bool(term.evidence)
        keys = [part.key for part in term.terms]
        assert len(set(keys)) == len(keys), term.formula
        value = by_hand(term.formula, {part.key: part.value for part in term.terms})
        scale = max([abs(term.value), *(abs(p.value) * 1e-3 for p in term.terms)], default=0.0)
        assert value == pytest.approx(term.value, rel=EXACT, abs=EXACT * max(scale, 1e-6)), term.formula


# --- seasons of all kinds ------------------------------------------------------------------------------


def curved(model: str, shape: float | None = None) -> Growth:
    rate, at = (0.04, 70.0) if model == "logistic" else (0.025, 55.0)
    return Growth(
        model,  # type: ignore[arg-type]
        mine(3.1, "kg"),
        mine(rate, "1/d"),
        mine(at, "d"),
        None if shape is None else mine(shape),
    )


@st.composite
def farms(draw: st.DrawFn) -> Farm:
    kind = line()
    model = draw(st.sampled_from([None, ("logistic", None), ("richards", 1.0), ("richards", 1.6)]))
    if model is not None:
        kind = replace(kind, cockerel=replace(kind.cockerel, growth=curved(*model)))
    if draw(st.booleans()):
        # Eggs kept too long lose more than they have.
        kind = replace(kind, storage_late_loss_per_d=mine(0.3, "1/d"))
    light = draw(st.sampled_from([None, 10.0, 15.0]))
    latitude = draw(st.sampled_from([57.0, 30.0, -41.0]))
    return farm(
        lines={"tawny": kind},
        houses={"coop": MobileHouse("coop", 40.0, light_h=light)},
        holding=Holding("Test", latitude, 13.0, "Europe/Stockholm"),
        temperature_C=tuple(mine(draw(st.floats(-15, 30)), "C") for _ in range(12)),
    )


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    batches: list[Batch] = []
    stays: list[Stay] = []
    for n in range(draw(st.integers(1, 3))):
        name, day = f"b{n}", date(2027, 1, 4) + timedelta(days=draw(st.integers(0, 120)))
        hatched = day + timedelta(days=21)
        shares = draw(st.lists(st.floats(0.1, 0.9), max_size=2))
        drafts = tuple(Draft(hatched + timedelta(days=95 + 10 * i), s) for i, s in enumerate([*shares, 1.0]))
        eggs = draw(st.integers(20, 110))
        fertile = draw(st.none() | st.integers(10, eggs))
        batches.append(
            Batch(
                name, "tawny", "set", hatched, hatched, day, eggs,
                fertile=fertile, stored_d=draw(st.integers(0, 14)), drafts=drafts,
            )
        )  # fmt: skip
        if n == 0 and draw(st.booleans()):
            start, until = hatched + timedelta(days=60), hatched + timedelta(days=115)
            heads = draw(st.sampled_from([(None, None), (12.0, None), (12.0, 20.0)]))
            stays += [
                Stay(f"own{i}", name, "cockerel", place, start, until, heads=h)
                for i, (place, h) in enumerate(zip(("s5", "s6"), heads, strict=True))
            ]
    there = {"pullet": 61.0, "cockerel": 0.0}
    batches.append(
        Batch("old", "tawny", "present", date(2026, 3, 2), date(2027, 1, 4), heads=there)  # type: ignore[arg-type]
    )
    share = draw(st.sampled_from([0.4, 1.0]))
    outs = (Out("old", date(2027, 6, 1), 0.3), Out("old", date(2027, 9, 1), share))
    return Plan(tuple(batches), tuple(stays), outs)


def season_of_plan(there: Farm, plan: Plan) -> Season:
    return expect(there, complete(there, plan))


@settings(max_examples=25, deadline=None)
@given(farms(), plans(), st.integers(0, 10**6))
def test_a_lot_on_a_day_is_as_the_season_has_it(there: Farm, plan: Plan, seed: int) -> None:
    pick = Random(seed)
    season = season_of_plan(there, plan)
    scope = Scope(there, season)
    for what in UNITS:
        values = scope.values(Ask(what))
        for lot in pick.sample(busy := np.flatnonzero(values.any(axis=1)).tolist(), min(len(busy), 4)):
            # Any day of a lot, its first and its last: steps are taken on those.
            days = np.flatnonzero(values[lot]).tolist()
            day = pick.choice([days[0], days[-1], pick.choice(days)])
            step = of_lot(what, scope.bird(season.lots[lot], season.day(day)))
            assert step.value == pytest.approx(values[lot, day], rel=EXACT), (what, season.lots[lot].id)
            assert step.unit == UNITS[what]
            check(step)


PICKED: dict[str, dict[Pick, str]] = {
    "": {},
    ":b0": {"batch": "b0"},
    ":pullets": {"sex": "pullet"},
    ":grass": {"kind": "shelter"},
    ":b0.cockerels": {"batch": "b0", "sex": "cockerel"},
    ":s1": {"place": "s1"},
}


@settings(max_examples=15, deadline=None)
@given(farms(), plans(), st.data())
def test_whatever_is_asked_is_as_the_season_has_it(there: Farm, plan: Plan, data: st.DataObject) -> None:
    season = season_of_plan(there, plan)
    day = season.day(data.draw(st.integers(0, season.days - 1)))
    at = season.index(day)
    scope = Scope(there, season)
    for what in ("heads", "weight", "feed", "water", "n", "eggs", "dead"):
        name = data.draw(st.sampled_from(list(PICKED)))
        reason = why(there, season, f"{what}{name}", day)
        check(reason.step)
        rows = scope.lots(PICKED[name])
        if what == "weight":
            heads = season.heads[rows, at]
            value = float((heads * season.weight_kg[rows, at]).sum() / heads.sum()) if heads.any() else 0.0
        else:
            value = float(scope.values(Ask(what))[rows, at].sum())
        assert reason.step.value == pytest.approx(value, rel=EXACT, abs=EXACT), (what, name, day)
    for what, array in PLACES.items():
        place = "east" if what == "floor" else data.draw(st.sampled_from(["s1", "s2", "s3"]))
        reason = why(there, season, f"{what}:{place}", day)
        check(reason.step)
        held = float(getattr(season.places[place], array)[at])
        assert reason.step.value == pytest.approx(held, rel=EXACT, abs=EXACT), (what, place, day)


# --- the demo farm: all that `leyfold season` shows can be asked -----------------------------------------


@cache
def demo() -> tuple[Farm, Season, object, tuple[object, ...]]:
    answer = season_of(DEMO, datetime(2026, 11, 25, tzinfo=UTC))
    return answer.farm, answer.season, answer.totals, answer.weeks


def ask(figure: str, at: date | None = None) -> Reason:
    there, season, _, _ = demo()
    reason = why(there, season, figure, at, today=LONG_AGO)
    check(reason.step)
    return reason


WEEKLY = {
    "eggs_set": "eggs_set/week",
    "in_brooder": "in_brooder/week",
    "at_grass": "at_grass/week",
    "in_house": "in_house/week",
    "pullets": "heads/week:pullets",
    "cockerels": "cockerels/week",
    "dead": "dead/week",
    "killed": "killed/week",
    "killed_kg": "killed_kg/week",
    "kg": "kg/week",
    "water_l": "water/week",
    "n_kg": "n/week",
    "p_kg": "p/week",
    "k_kg": "k/week",
    "eggs": "eggs/week",
    "shelters": "shelters/week",
    "heaviest_heads": "heaviest_heads/week",
    "heaviest_kg_per_m2": "heaviest_kg_per_m2/week",
    "heaviest_kg_n_per_ha": "heaviest_kg_n_per_ha/week",
    "floor_share": "floor/week",
}


@pytest.mark.parametrize("name", WEEKLY)
def test_every_figure_of_a_week_can_be_asked(name: str) -> None:
    _, season, _, _ = demo()
    shown = weeks(season)
    for i in (0, 9, 28, 32):
        for off in (0, 3):
            reason = ask(WEEKLY[name], shown[i].monday + timedelta(days=off))
            assert reason.step.value == pytest.approx(getattr(shown[i], name), rel=EXACT, abs=EXACT)


def test_no_figure_of_a_week_is_left_out() -> None:
    from dataclasses import fields

    from leyfold.nouns.week import Week

    assert {f.name for f in fields(Week)} - {"monday", "feed_kg"} <= set(WEEKLY)


def test_feed_of_a_week_by_kind_can_be_asked() -> None:
    _, season, _, _ = demo()
    week = weeks(season)[20]
    for kind, kg in week.feed_kg.items():
        assert ask(f"feed/week:{kind}", week.monday).step.value == pytest.approx(kg, rel=EXACT)
    assert ask("feed/week", week.monday).step.value == pytest.approx(sum(week.feed_kg.values()), rel=EXACT)


TOTAL = {
    "eggs_set": "eggs_set/season",
    "hatched": "hatched",
    "bought": "bought",
    "dead": "dead",
    "killed": "killed",
    "killed_kg": "killed_kg",
    "carcass_kg": "carcass",
    "pullets_to_house": "pullets",
    "alive_at_end": "alive_at_end",
    "water_l": "water/season",
    "n_kg": "n/season",
    "p_kg": "p/season",
    "k_kg": "k/season",
    "eggs": "eggs/season",
}


@pytest.mark.parametrize("name", TOTAL)
def test_every_total_can_be_asked(name: str) -> None:
    assert ask(TOTAL[name]).step.value == pytest.approx(getattr(demo()[2], name), rel=EXACT)


def test_no_total_is_left_out() -> None:
    from dataclasses import fields

    names = {f.name for f in fields(demo()[2])}  # type: ignore[arg-type]
    assert names - {"feed_kg"} <= set(TOTAL)
    for kind, kg in demo()[2].feed_kg.items():  # type: ignore[attr-defined]
        assert ask(f"feed/season:{kind}").step.value == pytest.approx(kg, rel=EXACT)


@pytest.mark.parametrize("what", WHATS)
def test_every_figure_is_answered_and_opens_its_lines(what: str) -> None:
    """What a line says to ask for gives the value of that line."""
    reason = ask(what)
    shut = [s for s in steps(reason.step) if s.ask and not (s.terms and s is reason.step)]
    for one in shut[:4]:
        assert one.ask is not None
        figure, _, at = one.ask.partition(" --at ")
        again = ask(figure, date.fromisoformat(at) if at else None)
        if one.key not in ("shelter", "due", "variance"):
            assert again.step.value == pytest.approx(one.value, rel=EXACT), one.ask


@pytest.mark.parametrize("other", ALIASES)
def test_other_names_mean_the_same(other: str) -> None:
    meant = ALIASES[other]
    assert ask(other).step == ask(meant).step


def test_a_part_not_shown_is_in_the_rest() -> None:
    day = ask("feed")
    assert len(day.step.terms) == FEW + 1
    assert day.step.terms[-1].key == "rest"
    assert [t.value for t in day.step.terms[:-1]] == sorted(
        (t.value for t in day.step.terms[:-1]), reverse=True
    )


# --- the day -----------------------------------------------------------------------------------------


def test_the_day_is_today_within_the_season_and_the_highest_outside() -> None:
    there, season, _, _ = demo()
    within = season.first + timedelta(days=100)
    assert why(there, season, "feed", today=within).first == within
    peak = why(there, season, "feed", today=LONG_AGO)
    assert season.index(peak.first) == int(season.feed_kg.sum(axis=0).argmax())
    worst = why(there, season, "kg_n_per_ha:s1", today=LONG_AGO)
    assert season.index(worst.first) == int(season.places["s1"].kg_n_per_ha_pass.argmax())


def test_a_figure_of_places_without_one_is_of_the_fullest() -> None:
    _, season, _, _ = demo()
    reason = ask("kg_per_m2")
    most = max(p.kg_per_m2.max() for p in season.places.values() if p.kind == "shelter")
    assert reason.step.value == pytest.approx(most, rel=EXACT)
    assert [x.quantity for x in reason.limits] == ["kg_per_m2"]


def test_what_happens_on_some_days_only_is_of_the_season_without_a_date() -> None:
    _, season, _, _ = demo()
    for what in EVENTS:
        assert (ask(what).first, ask(what).last) == (season.first, season.day(season.days - 1))
    assert ask("killed", date(2027, 7, 15)).first == date(2027, 7, 15)


def test_nothing_that_day_is_said() -> None:
    assert ask("heads:march", date(2027, 1, 1)).step.value == 0.0
    assert ask("killed", date(2027, 7, 14)).step.value == 0.0
    cocks = ask("eggs:march.cockerels", date(2027, 7, 1)).step
    assert cocks.value == 0.0
    assert "cockerel" in " ".join(s.words for s in steps(cocks))


def test_floor_needed_follows_the_age_day_by_day() -> None:
    _, season, _, _ = demo()
    for at in np.flatnonzero(season.places["barn"].floor_share)[::2].tolist():
        held = float(season.places["barn"].floor_share[at])
        assert ask("floor:barn", season.day(at)).step.value == pytest.approx(held, rel=EXACT)


def test_birds_left_by_a_draft_are_told_from_those_drafted() -> None:
    keys = {term.key for term in ask("kg:march.cockerels", date(2027, 7, 15)).step.walk()}
    assert {"left", "lighter", "weight_cv", "draft_1"} <= keys
    gone = {term.key for term in ask("killed_kg:march", date(2027, 7, 29)).step.walk()}
    assert {"drafted", "heavier", "draft_1", "draft_2"} <= gone


def test_birds_in_two_shelters_are_shared_by_floor() -> None:
    """A party too many for one shelter stands in two: each part is that of its floor."""
    there = farm()
    many = Batch("b", "tawny", "set", date(2027, 3, 29), date(2027, 3, 29), date(2027, 3, 8), 300)
    season = season_of_plan(there, Plan((many,)))
    scope = Scope(there, season)
    last = next(i for i, lot in enumerate(season.lots) if lot.sex == "cockerel" and season.killed[i].any())
    day = int(np.flatnonzero(season.killed[last])[0])
    assert np.count_nonzero(season.killed[:, day]) > 1
    step = of_lot("killed", scope.bird(season.lots[last], season.day(day)))
    check(step)
    assert step.value == pytest.approx(season.killed[last, day], rel=EXACT)
    here = next(s for s in steps(step) if s.key == "here")
    assert all(t.key.startswith("floor_") for t in here.terms)


# --- the chance of a wish --------------------------------------------------------------------------------


def test_the_chance_of_a_wish_is_that_of_the_exact_sum() -> None:
    there, season, _, _ = demo()
    wishes = [w for w in there.wishes if w.what != "eggs a day"]
    rows = wish_chances(replace(there, wishes=tuple(wishes)), season.plan)
    for wish, row in zip(wishes, rows, strict=True):
        reason = ask(f"chance:{wish.id}")
        assert reason.step.value == pytest.approx(row.chance, abs=EXACT)
        due = next(s for s in steps(reason.step) if s.key == "due")
        spread = next(s for s in steps(reason.step) if s.key == "spread")
        assert due.value == pytest.approx(row.mean, rel=1e-6)
        assert wish.what != "eggs a day"
        exact = number_by(there, season.plan, wish.what, row.on, line=wish.line)
        assert spread.value == pytest.approx(exact.sd, rel=1e-6)
    assert ask("chance").step.value == min(row.chance for row in rows)


def test_what_a_batch_differs_by_leaves_little_to_losses() -> None:
    """The hatch and the toss of sexes make most of it: what is left over is never below nothing."""
    for one in steps(ask("chance:laying-flock").step):
        if one.key == "rest_of_it":
            assert one.value >= 0.0


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

PAGE = (DEMO.parents[1] / "docs" / "how-to-ask-why.md").read_text(encoding="utf-8")


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
