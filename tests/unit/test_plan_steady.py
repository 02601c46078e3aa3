"""Birds are left in their shelters as far as can be, and all that was asked of the plan still holds."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan import make
from leyfold.plan.answer import Answer
from leyfold.plan.checker import check
from leyfold.plan.give_out import Run
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.problem import Join, Problem
from leyfold.plan.solver import solve_cpsat, solve_highs
from leyfold.plan.steady import changes, steady
from leyfold.plan.written import chosen_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from random_farms import random_farm

MANY_STRETCHES = 1


def answer(size: str, seed: int) -> Answer:
    made = random_farm(seed, size)  # type: ignore[arg-type]
    farm = made.farm
    plan = made.plan(farm)
    return solve_problem(posed(farm, State(), plan, made.at(plan)), seconds=60)


Given = tuple[Problem, dict[int, int], dict[int, int], list[Run], list[Run]]
"""A problem, how many shelters and trays each party has, shelters as given out, and as given out anew."""


def watched(monkeypatch: pytest.MonkeyPatch) -> list[Given]:
    """What shelters are given out anew from now on."""
    seen: list[Given] = []

    def watching(
        p: Problem, many: dict[int, int], trays: dict[int, int], given: list[Run], joins: list[Join]
    ) -> list[Run]:
        found = steady(p, many, trays, given, joins)
        seen.append((p, many, trays, given, found))
        return found

    monkeypatch.setattr("leyfold.plan.written.steady", watching)
    return seen


def moves(answer: Answer, *, calm: bool) -> int:
    """Into how many shelters birds come that were in another the day before, told from the plan alone."""
    plan = complete(answer.problem.farm, chosen_plan(answer.model, answer.solved.values or (), calm=calm))
    stays = [stay for stay in plan.stays if stay.place in answer.problem.farm.shelters]
    count = 0
    for stay in stays:
        before = [
            s.place
            for s in stays
            if s.batch == stay.batch and s.until == stay.first and s.sex in (None, stay.sex)
        ]
        count += bool(before) and stay.place not in before
    return count


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_birds_change_shelters_less_often_and_nothing_else_changes(seed: int) -> None:
    found = answer("small", seed)
    planned = found.outcome
    assert isinstance(planned, Planned)
    farm = found.problem.farm
    assert moves(found, calm=True) < moves(found, calm=False)
    assert not check(farm, planned.completed)
    assert not any(row.short for row in planned.chances)
    assert reckon(farm, expect(farm, planned.completed)).total() == pytest.approx(planned.objective, abs=0.01)


def every(p: Problem, trays: dict[int, int]) -> int:
    """The fewest changes of all ways to give shelters out, each tried: one shelter a party here."""
    names = [(name, k) for k, kind in enumerate(p.classes) for name in kind.names]
    free = {n: days for kind in p.classes for n, days in zip(kind.names, kind.free, strict=True)}
    subs = sorted(trays, key=lambda s: p.subs[s].first)
    may = [
        [
            n
            for n, k in names
            if free[n][p.subs[s].first : p.subs[s].until].all() and p.need(p.subs[s], k) * trays[s] <= 1.0
        ]
        for s in subs
    ]
    best = len(subs)
    for chosen in product(*may):
        runs = [Run(s, (n,), p.subs[s].first, p.subs[s].until) for s, n in zip(subs, chosen, strict=True)]
        taken = [(run.names[0], d) for run in runs for d in range(run.first, run.until)]
        if len(taken) == len(set(taken)):
            best = min(best, changes(p, runs))
    return best


def test_parties_that_stay_for_months_have_a_shelter_on_every_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """A party may be cut into several stretches of days, through which one shelter holds it."""
    seen = watched(monkeypatch)
    monkeypatch.setattr(make, "EFFORT", 0.0)
    answer("middle", MANY_STRETCHES)
    p, many, _, given, found = seen[-1]
    assert {run.sub for run in given} < set(many), "no shelter goes on through two stretches here"
    for runs in (given, found):
        for s, number in many.items():
            sub = p.subs[s]
            party = sub.offer, sub.sex, sub.way
            mine = [r for r in runs if (p.subs[r.sub].offer, p.subs[r.sub].sex, p.subs[r.sub].way) == party]
            for day in range(sub.first, sub.until):
                assert sum(len(r.names) for r in mine if r.first <= day < r.until) == number


@pytest.mark.parametrize("seed", [1, 4, 5])
def test_none_of_all_ways_has_fewer_changes(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every way to give shelters out is walked where one holds each party."""
    seen = watched(monkeypatch)
    answer("small", seed)
    p, _, trays, given, found = seen[-1]
    assert all(len(run.names) == 1 for run in given)
    assert changes(p, found) == every(p, trays)


@pytest.mark.parametrize("seed", [0, 3])
def test_another_solver_finds_no_fewer(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """HiGHS, which shares no code with CP-SAT, on the same rows; what the rows count is what is counted."""
    fewest: list[float] = []
    seen = watched(monkeypatch)

    def both(linear: Linear, **how: Any) -> Solved:
        peer = solve_highs(linear, seconds=60)
        assert peer.proven
        fewest.append(-peer.gain)
        return solve_cpsat(linear, **how)

    monkeypatch.setattr("leyfold.plan.steady.solve_cpsat", both)
    answer("small", seed)
    p, *_, found = seen[-1]
    assert changes(p, found) == fewest[-1]


def test_no_shelter_holds_two_parties_and_none_is_too_small(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = watched(monkeypatch)
    answer("small", 3)
    p, _, trays, _, runs = seen[-1]
    stands = [(name, d) for run in runs for name in run.names for d in range(run.first, run.until)]
    assert len(stands) == len(set(stands))
    kinds = {name: k for k, kind in enumerate(p.classes) for name in kind.names}
    for s, number in trays.items():
        sub = p.subs[s]
        party = sub.offer, sub.sex, sub.way
        mine = [r for r in runs if (p.subs[r.sub].offer, p.subs[r.sub].sex, p.subs[r.sub].way) == party]
        here = [r for r in mine if r.first <= sub.first and sub.until <= r.until]
        assert len(here) == 1
        assert sum(1.0 / p.need(sub, kinds[name]) for name in here[0].names) >= number - 1e-3
