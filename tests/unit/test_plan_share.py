"""Sorted birds of two batches in one shelter: who may, who does where a shelter lacks, and what the farmer
reads of it; and the checker's own word on birds that should not be together."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pypdf import PdfReader

from farms import line, mine
from leyfold.farm.plan_file import read_plan
from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm, Incubator, Shelter
from leyfold.nouns.figure import Figure
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned, Reason
from leyfold.nouns.record import State
from leyfold.nouns.stock import FeedPhase, Line
from leyfold.plan import make
from leyfold.plan.answer import Answer
from leyfold.plan.checker import check
from leyfold.plan.finer import finer, widened
from leyfold.plan.linear import Solved
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.offers import offers
from leyfold.plan.problem import Problem, pose
from leyfold.plan.share import join_needs, sharing, taken_joins
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm
from leyfold.services.paper import paper_of
from leyfold.services.plan import plan_for, save_plan
from leyfold.services.round import rounds_of
from planned_farms import AT, SPAN, small_farm

MONDAY = date(2027, 3, 8)


def tight(**changes: Any) -> Farm:
    """Three shelters for two small sets a week apart: one too few, did each sex of each have its own."""
    made = small_farm(
        asked={"set_until": date(2027, 3, 15), "set_weekdays": ("monday",)},
        shelters={f"s{i}": Shelter(f"s{i}", 1.3, 1.0, 0.6) for i in range(1, 4)},
        incubators={name: Incubator(name, 12) for name in ("box", "chest")},
        prices={
            "carcass": 25.0, "pullet": 40.0, "old_hen": 5.0, "egg": 0.4, "hatching_egg": 0.8,
            "day_old": 4.0, "killing": 3.5, "labour": 0.5,
        },
    )  # fmt: skip
    return replace(made, **changes)


def offered(farm: Farm, *after_d: int) -> Problem:
    """Sets so many days after the first Monday."""
    problem = posed(farm, State(), SPAN, AT)
    days = [MONDAY + timedelta(days=d) for d in after_d]
    return sharing(pose(farm, problem.plan, problem.today, offers(farm, problem.span, days)))


def together(p: Problem, sex: str) -> set[tuple[tuple[str, date], tuple[str, date]]]:
    """Sets whose birds of a sex may share."""

    def named(o: int) -> tuple[str, date]:
        return p.offers[o].line, p.offers[o].set_on

    return {tuple(sorted((named(a[0]), named(b[0])))) for a, b in (j.parties for j in p.joins) if a[1] == sex}  # type: ignore[misc]


def lenient(name: str, **how: Any) -> Figure:
    """The figures, with any weights together."""
    return mine(9.0) if name == "space.mixed_weight_share" else figure(name, **how)


def test_hatches_three_weeks_apart_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("leyfold.plan.share.figure", lenient)
    assert together(offered(tight(), 0, 21), "pullet")
    assert not together(offered(tight(), 0, 22), "pullet")
    asked = replace(tight().planning, mixed_ages_d=22)
    assert together(offered(tight(planning=asked), 0, 22), "cockerel")
    assert not together(offered(tight(planning=asked), 0, 23), "cockerel")


def heavier(by: float) -> Line:
    """A line that is at every age so many times as heavy."""
    made = line("tall", turnout_d=35, kill_d=98, house_d=140)

    def grown(sex: str) -> Any:
        traits = getattr(made, sex)
        mature = mine(traits.growth.mature_kg.value * by, "kg")
        return replace(traits, growth=replace(traits.growth, mature_kg=mature))

    return replace(made, pullet=grown("pullet"), cockerel=grown("cockerel"))


@pytest.mark.parametrize(("by", "may"), [(1.249, True), (1.26, False), (1 / 1.249, True), (1 / 1.26, False)])
def test_weights_within_a_quarter_and_no_more(by: float, may: bool) -> None:
    farm = tight(lines={**tight().lines, "tall": heavier(by)})
    for sex in ("pullet", "cockerel"):
        assert bool(together(offered(farm, 0), sex)) == may


def test_nobody_too_young_for_lime_beside_those_who_eat_it() -> None:
    farm = tight()
    layers = replace(farm.feeds["layers"], calcium=mine(0.035))
    phases = (FeedPhase("starter", 0), FeedPhase("grower", 42), FeedPhase("layers", 100, "pullet"))
    early = replace(farm.lines["tawny"], feeding=phases)
    limed = replace(farm, feeds={**farm.feeds, "layers": layers})
    assert together(offered(limed, 0, 7), "pullet")
    assert not together(offered(replace(limed, lines={"tawny": early}), 0, 7), "pullet")
    assert together(offered(replace(limed, lines={"tawny": early}), 0, 7), "cockerel")


def test_on_a_night_cold_for_the_younger_the_older_count_too() -> None:
    """All nights are cold for all, by a wide watch: heads together are then held to the group."""
    farm = tight(planning=replace(tight().planning, cold_group=9))
    mild, cold = (
        offered(replace(farm, tonight={"cold_watch": mine(kelvin, "K")}), 0, 7) for kelvin in (-90.0, 90.0)
    )
    for join in cold.joins:
        heads = [cold.load(next(s for s in cold.subs if s.party == party))[0].max() for party in join.parties]
        assert max(x / y for (x, _), y in zip(join_needs(cold, join), [heads[0] / 9], strict=False)) > 0.0
        assert max(x + y for x, y in join_needs(cold, join)) >= 0.95 * sum(heads) / 9 - 0.05
    assert len(mild.joins) >= len(cold.joins) > 0


def test_what_two_need_together_is_the_sum_on_every_day() -> None:
    """Against each limit reckoned by hand on each day, pairs left out of the rows are no worse."""
    p = offered(tight(), 0, 7)
    for join in p.joins[:12]:
        kind, needs = p.classes[join.kind], join_needs(p, join)
        loads = []
        for o, sex, way in join.parties:
            curve = p.curves[o]
            load = curve.hens.load if sex == "pullet" else curve.cocks[way].load
            loads.append(load[:, join.first : join.until])
        limits = dict(kind.limits)
        by_kg = [load[1] / kind.floor_m2 / limits["kg_per_m2"] for load in loads]
        by_n = [
            load[2] / kind.floor_m2 * 1e4 / kind.moves_per_day / limits["kg_n_per_ha_pass"] for load in loads
        ]
        for trays in ((1, 1), (2, 1), (1, 3)):
            worst = max(np.dot(trays, np.array(by)).max() for by in (by_kg, by_n))
            assert max(trays[0] * x + trays[1] * y for x, y in needs) == pytest.approx(worst)


@cache
def shared() -> Answer:
    """The tight farm planned with sharing."""
    return solve_problem(sharing(posed(tight(), State(), SPAN, AT)), seconds=60)


def test_without_joins_the_model_is_as_it_was() -> None:
    problem = posed(tight(), State(), SPAN, AT)
    assert problem.joins == ()
    assert sharing(problem, lambda *_: False).joins == ()


def test_both_have_one_shelter_for_all_their_days_together() -> None:
    answer = shared()
    planned = answer.outcome
    assert isinstance(planned, Planned)
    (join,) = taken_joins(answer.model, answer.solved.values or ())
    first, until = (answer.problem.span.day(d) for d in (join.first, join.until))
    sex = join.parties[0][1]
    at = {
        b.id: {
            (s.place, day)
            for s in planned.plan.stays
            if s.batch == b.id and s.sex == sex
            for day in (s.first + timedelta(days=i) for i in range((s.until - s.first).days))
            if first <= day < until
        }
        for b in planned.plan.batches
    }
    one, other = at.values()
    assert one == other
    assert len(one) == (until - first).days


def test_by_the_day_birds_share_where_it_pays_and_the_same_plan_stands_in_all_that_was_offered() -> None:
    weekly = solve_problem(posed(tight(), State(), SPAN, AT), seconds=60)
    daily = finer(weekly, seconds=60, seed=0)
    before, after = weekly.outcome, daily.outcome
    assert isinstance(before, Planned)
    assert isinstance(after, Planned)
    assert not weekly.problem.joins
    assert taken_joins(daily.model, daily.solved.values or ())
    assert after.objective > before.objective + 100
    assert after.bound == before.bound < after.objective
    assert after.gap < 0.0
    assert not daily.solved.proven
    assert not check(tight(), after.completed)
    assert reckon(tight(), expect(tight(), after.completed)).total() == pytest.approx(
        after.objective, abs=0.01
    )
    wide = widened(daily, seconds=30, seed=0)
    assert wide.model.linear.worth(wide.solved.values or ()) == daily.solved.gain
    again = finer(daily, seconds=60, seed=0)
    assert isinstance(again.outcome, Planned)
    assert again.outcome.objective >= after.objective


def test_a_plan_in_which_birds_share_already_is_moved_by_the_day_too() -> None:
    daily = finer(shared(), seconds=60, seed=0)
    before, after = shared().outcome, daily.outcome
    assert isinstance(before, Planned)
    assert isinstance(after, Planned)
    assert after.objective > before.objective + 1
    turned_out = [
        {answer.problem.offers[o].turnout_on for o, _, _ in join.parties}
        for answer in (shared(), daily)
        for join in taken_joins(answer.model, answer.solved.values or ())
    ]
    assert len(turned_out) == 2
    assert turned_out[0] != turned_out[1]
    assert not check(tight(), after.completed)
    assert reckon(tight(), expect(tight(), after.completed)).total() == pytest.approx(
        after.objective, abs=0.01
    )


def found(plan: Plan, farm: Farm) -> set[str]:
    return {finding.what for finding in check(farm, plan)}


def test_the_checker_names_birds_that_should_not_be_together(monkeypatch: pytest.MonkeyPatch) -> None:
    planned = shared().outcome
    assert isinstance(planned, Planned)
    farm, plan = tight(), planned.completed
    assert not found(plan, farm)
    strict = replace(farm, planning=replace(farm.planning, mixed_ages_d=6))
    findings = [f for f in check(strict, plan) if f.where in farm.shelters]
    assert {(f.what, f.worst, f.at_most) for f in findings} == {("mixed_ages", 7.0, 6.0)}
    # Half of the room: what both need together passes a limit.
    small = {name: replace(kit, length_m=kit.length_m * 0.6) for name, kit in farm.shelters.items()}
    assert found(plan, replace(farm, shelters=small)) & {"kg_per_m2", "kg_n_per_ha_pass"}
    monkeypatch.setattr(
        import_module("leyfold.plan.checker.together"),
        "figure",
        lambda name: mine(0.05) if name == "space.mixed_weight_share" else figure(name),
    )
    assert found(plan, farm) == {"mixed_weights"}


def test_the_checker_names_sorted_cockerels_among_pullets_of_another_batch() -> None:
    planned = shared().outcome
    assert isinstance(planned, Planned)
    plan = planned.completed
    sheltered = [s for s in plan.stays if s.sex == "pullet" and s.place in tight().shelters]
    pullets = max(sheltered, key=lambda s: s.until)
    moved = [
        replace(s, place=pullets.place)
        if s.sex == "cockerel" and s.batch != pullets.batch and s.first < pullets.until
        else s
        for s in plan.stays
    ]
    assert "mixed_sexes" in found(replace(plan, stays=tuple(moved)), tight())


FARM = """
[holding]
name = "Made Up"
latitude = 57.0
longitude = 13.0
zone = "Europe/Stockholm"
currency = "EUR"
[temperatures]
mean = ["-3 C", "-2 C", "1 C", "6 C", "12 C", "16 C", "17 C", "16.5 C", "12 C", "7.5 C", "2.5 C", "-1 C"]
[prices]
carcass = "25 EUR/kg"
pullet = "40 EUR"
old_hen = "5 EUR"
egg = "0.4 EUR"
hatching_egg = "0.8 EUR"
day_old = "4 EUR"
killing = "3.5 EUR"
labour = "0.5 EUR/h"
[feeds.starter]
price = "550 EUR/t"
[feeds.grower]
price = "550 EUR/t"
[feeds.layers]
price = "550 EUR/t"
[lines.tawny]
turnout = "35 days"
kill = "98 days"
house = "140 days"
[incubators.box]
eggs = 12
[incubators.chest]
eggs = 12
[brooders.shed]
floor = "4 m2"
[shelters.s1]
sides = "1.3 x 1.0 m"
height = "0.6 m"
[shelters.s2]
sides = "1.3 x 1.0 m"
height = "0.6 m"
[shelters.s3]
sides = "1.3 x 1.0 m"
height = "0.6 m"
[houses.coop]
floor = "20 m2"
[[limits]]
id = "room"
quantity = "kg_per_m2"
scope = "shelter"
at_most = 21
source = "Own rule"
[[wishes]]
id = "flock"
what = "pullets"
number = 6
on = 2027-09-01
chance = "60 %"
[planning]
tray = 12
stored = "6 days"
set_from = 2027-03-08
set_until = 2027-03-15
set_weekdays = ["monday"]
"""


def test_the_farmer_reads_of_both_in_one_shelter(tmp_path: Path) -> None:
    """In the round and on the day sheet; the plan as written is read back as it was."""
    (tmp_path / "farm.toml").write_text(FARM, "utf-8")
    (tmp_path / "plan.toml").write_text("first = 2027-03-01\nlast = 2027-12-26\n", "utf-8")
    zone = ZoneInfo("Europe/Stockholm")
    answer = plan_for(tmp_path, datetime(2027, 3, 1, 6, tzinfo=zone))
    assert isinstance(answer.outcome, Planned)
    save_plan(answer, tmp_path / "plan.toml")
    on = datetime(2027, 7, 1, 6, 10, tzinfo=zone)
    opened = open_farm(tmp_path, on)
    assert not check(opened.farm, complete(opened.farm, read_plan(opened.texts, opened.farm)))
    morning, _ = rounds_of(tmp_path, on).rounds
    both = [call for call in morning.calls if len({party.batch for party in call.parties}) == 2]
    assert both
    for call in both:
        assert {party.sex for party in call.parties} <= {"pullet"} or {p.sex for p in call.parties} <= {
            "cockerel"
        }
        assert call.heads == sum(party.heads for party in call.parties)
    (page,) = PdfReader(BytesIO(paper_of(tmp_path, "day", on).content)).pages
    text = " ".join(page.extract_text().split())
    for call in both:
        assert f"{call.name} {call.who}" in text


def test_a_clash_that_sharing_may_lift_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody knows whether sharing would do, own shelters for each batch stand among the reasons."""
    told = [Clash((Reason("shelters", "Full."),), True), Clash((), False)]
    monkeypatch.setattr(make, "search", lambda *_, **__: Solved(None, 0, 0.0, False, True, 0.0))
    monkeypatch.setattr(make, "settle", lambda *_, **__: (None, None, True))
    monkeypatch.setattr(make, "clash", lambda *_, **__: told.pop(0))
    outcome = solve_problem(posed(tight(), State(), SPAN, AT), seconds=60).outcome
    assert isinstance(outcome, Clash)
    assert [one.group for one in outcome.reasons] == ["shelters", "apart"]
    assert not outcome.irreducible
    assert not told
