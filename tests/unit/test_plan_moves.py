"""Looking about an answer: never worse, always an answer, and what is best where that is known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.fits import fitted
from leyfold.plan.give_out import Run
from leyfold.plan.levels import first_guess
from leyfold.plan.linear import Solved
from leyfold.plan.make import posed
from leyfold.plan.model import Model
from leyfold.plan.moves import forced_away, improved
from leyfold.plan.problem import Problem, pose
from leyfold.plan.solver import relaxed, solve_cpsat
from leyfold.plan.written import _heads_each
from random_farms import random_farm


def _posed(seed: int) -> Problem:
    made = random_farm(seed, "small")
    plan = made.plan(made.farm)
    return posed(made.farm, State(), plan, made.at(plan))


def _model(problem: Problem) -> Model:
    return build(problem, first_guess(problem))


def _best(model: Model) -> Solved:
    best = solve_cpsat(model.linear, effort=20.0, seconds=120.0, level=2)
    assert best.proven
    assert best.values is not None
    return best


@pytest.mark.parametrize("seed", [0, 5])
def test_from_any_answer_to_the_best_there_is(seed: int) -> None:
    model = _model(_posed(seed))
    poor = solve_cpsat(model.linear, effort=4.0, seconds=60.0, any_answer=True)
    assert poor.values is not None
    best = _best(model)
    assert poor.gain < best.gain

    def go() -> Solved:
        return improved(model, [poor], effort=1.0, left=lambda: 60.0, seed=0)[0]

    found = go()
    assert found.values is not None
    assert model.linear.holds(found.values)
    assert found.gain == model.linear.worth(found.values) == best.gain
    assert go().values == found.values


def test_no_time_no_move() -> None:
    model = _model(_posed(0))
    poor = solve_cpsat(model.linear, effort=4.0, seconds=60.0, any_answer=True)
    assert improved(model, [poor], effort=1.0, left=lambda: 0.0, seed=0) == (poor, True)
    assert forced_away(model, poor, effort=1.0, left=lambda: 0.0, seed=0) == (poor, True)


@pytest.mark.parametrize("seed", [0, 5])
def test_forcing_sets_away_leads_out_of_a_poor_answer_and_never_to_a_worse_one(seed: int) -> None:
    model = _model(_posed(seed))
    poor = solve_cpsat(model.linear, effort=4.0, seconds=60.0, any_answer=True)
    best = _best(model)
    better, stopped = forced_away(model, poor, effort=1.0, left=lambda: 60.0, seed=0)
    assert better.values is not None
    assert not stopped
    assert model.linear.holds(better.values)
    assert poor.gain < better.gain == model.linear.worth(better.values) <= best.gain
    assert forced_away(model, best, effort=1.0, left=lambda: 60.0, seed=0)[0] == best


@pytest.mark.parametrize("seed", [0, 3])
def test_sets_fitted_to_one_place_leave_the_best_plan_and_lower_the_bound(seed: int) -> None:
    problem = _posed(seed)
    offered = problem.offers
    wide = pose(problem.farm, problem.plan, problem.today, offered)
    levels = first_guess(problem)
    close, loose = build(problem, levels).linear, build(wide, levels).linear
    assert all(a <= b for a, b in zip(problem.eggs, wide.eggs, strict=True))
    assert fitted(problem).eggs == problem.eggs
    best = _best(_model(problem))
    assert best.gain == _best(build(wide, levels)).gain
    bounds = [relaxed(linear, seconds=60.0) for linear in (close, loose)]
    assert bounds[0] is not None
    assert bounds[1] is not None
    assert best.gain <= bounds[0].bound <= bounds[1].bound + 1e-3 * abs(bounds[1].bound)


def test_a_small_brooder_and_a_small_hatcher_hold_every_set_down() -> None:
    problem = _posed(0)
    farm = problem.farm
    tray = farm.planning.tray
    before = max(problem.eggs)
    narrow = {n: replace(b, floor_m2=b.floor_m2 / 4) for n, b in farm.brooders.items()}
    few = {n: replace(k, hatcher_eggs=tray) for n, k in farm.incubators.items()}
    for changed in (replace(farm, brooders=narrow), replace(farm, incubators=few)):
        made = fitted(pose(changed, problem.plan, problem.today, problem.offers))
        assert max(made.eggs) < before
        assert all(eggs % tray == 0 for eggs in made.eggs)


def test_birds_written_for_a_shelter_are_those_alive_on_the_first_day_there() -> None:
    problem = _posed(3)
    assert len(problem.classes) > 1
    names = tuple(kind.names[0] for kind in problem.classes)
    s, sub = max(enumerate(problem.subs), key=lambda row: row[1].until - row[1].first)
    late = sub.until - 1
    heads = _heads_each(problem, Run(s, names, late, sub.until), 3)
    assert heads is not None
    alive = 3 * problem.load(sub)[0]
    assert alive[-1] < alive[0]
    assert sum(heads.values()) == pytest.approx(alive[-1], abs=0.01 * len(names))
