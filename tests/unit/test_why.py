"""Every sum that `leyfold why` prints: equal to the season, each number with its source, to be followed by
hand. The formulas are worked out here by Python's own arithmetic: a second way to every value."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, line, mine
from leyfold.log import fold
from leyfold.nouns.farm import Farm, Holding, MobileHouse
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Growth
from leyfold.season.begin import begin
from leyfold.season.chance import number_by
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.learn import learn
from leyfold.season.reasons.asked import ALIASES, EVENTS, WHATS
from leyfold.season.reasons.places import PLACES
from leyfold.season.reasons.scope import Ask, Pick, Scope
from leyfold.season.reasons.sums import FEW, UNITS, of_lot
from leyfold.season.sums import sums
from leyfold.season.weeks import weeks
from leyfold.season.why import why
from leyfold.season.wished import wish_chances
from logs import made_up, utc
from why_sums import EXACT, LONG_AGO, ask, check, demo, steps

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


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 110))
def test_so_it_is_from_the_middle_of_a_season(seed: int, days: int) -> None:
    """The past from the records, figures moved by them, stays that begin in the middle."""
    described = farm()
    diary, _ = made_up(seed)
    at = utc("2027-02-20 12:00") + timedelta(days=days)
    state = fold(described, diary, at)
    there = learn(described, state)
    season = season_of_plan(there, begin(there, Plan(()), state))
    scope = Scope(there, season, state.batches)
    for what in UNITS:
        values = scope.values(Ask(what))
        for lot in np.flatnonzero(values.any(axis=1)).tolist()[:4]:
            day = int(np.flatnonzero(values[lot])[0])
            step = of_lot(what, scope.bird(season.lots[lot], season.day(day)))
            assert step.value == pytest.approx(values[lot, day], rel=EXACT), (what, season.lots[lot].id)
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


def test_birds_that_leave_on_the_day_they_come_have_come() -> None:
    day = date(2027, 5, 3)
    heads = {"pullet": 30.0, "cockerel": 20.0}
    bought = Batch("b", "tawny", "bought", date(2027, 2, 1), day, heads=heads, drafts=(Draft(day, 0.5),))  # type: ignore[arg-type]
    there = farm()
    season = season_of_plan(there, Plan((bought,)))
    reason = why(there, season, "bought", today=LONG_AGO)
    check(reason.step)
    assert reason.step.value == pytest.approx(sums(there, season).bought, rel=EXACT)
    assert reason.step.value == pytest.approx(50.0, rel=EXACT)


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
