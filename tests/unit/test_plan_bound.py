"""The bound: no answer passes it, and the model it is got from has the same answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from math import inf

import pytest

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan import bound as bounds
from leyfold.plan import make
from leyfold.plan.answer import Answer
from leyfold.plan.bound import bounded, sized
from leyfold.plan.build import build
from leyfold.plan.levels import first_guess
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.model import MONEY, Model
from leyfold.plan.solver import relaxed, solve_cpsat
from random_farms import random_farm


def _farm(seed: int) -> tuple[Farm, Plan, datetime]:
    made = random_farm(seed, "small")
    plan = made.plan(made.farm)
    return made.farm, plan, made.at(plan)


def _model(seed: int) -> Model:
    farm, plan, at = _farm(seed)
    problem = posed(farm, State(), plan, at)
    return build(problem, first_guess(problem))


@pytest.mark.parametrize("seed", [0, 3, 5])
def test_a_variable_for_every_size_leaves_the_best_answer(seed: int) -> None:
    model = _model(seed)
    fine = sized(model)
    assert len(fine.low) > len(model.linear.low)
    best = solve_cpsat(model.linear, effort=20.0, seconds=120.0, level=2)
    same = solve_cpsat(fine, effort=20.0, seconds=120.0, level=2)
    assert best.proven
    assert same.proven
    assert same.gain == best.gain
    assert same.values is not None
    assert model.linear.holds(same.values[: len(model.linear.low)])
    loose, close = relaxed(model.linear, seconds=60.0), relaxed(fine, seconds=60.0)
    assert loose is not None
    assert close is not None
    assert best.gain <= bounded(model, seconds=60.0) <= close.bound + 1.0
    assert close.bound <= loose.bound + 1e-6 * abs(loose.bound) + 1.0


def test_of_sets_that_take_more_than_half_of_a_brooder_one_alone_is_in_it() -> None:
    """Rows with ones alone, beside the rows of the model and those that tie sizes to trays."""
    model = _model(3)
    fine = sized(model)
    cliques = [row for row in fine.rows if row.least is None and not row.group and row.most in (0, 1)]
    new = [row for row in cliques if all(v >= len(model.linear.low) for v, c in row.terms.items() if c > 0)]
    assert new
    assert all(set(row.terms.values()) <= {1, -1} for row in new)


def test_what_is_too_large_has_no_root(monkeypatch: pytest.MonkeyPatch) -> None:
    model = _model(0)
    monkeypatch.setattr(bounds, "LARGE", len(model.linear.low) - 1)
    assert bounded(model, seconds=60.0) == inf


def _loose(answer: Answer) -> Answer:
    """An answer of which nobody knows how good it is."""
    bound = answer.solved.gain + 1000.0 * MONEY
    return replace(answer, solved=replace(answer.solved, bound=bound, proven=False))


def test_a_closer_bound_changes_nothing_but_the_gap() -> None:
    farm, plan, at = _farm(0)
    answer = _loose(solve_problem(posed(farm, State(), plan, at), seconds=60.0))
    assert answer.under(inf) is answer
    close = answer.under(float(answer.solved.gain))
    assert close.solved.proven
    assert isinstance(answer.outcome, Planned)
    assert isinstance(close.outcome, Planned)
    assert close.outcome.gap == close.outcome.plan.gap == close.outcome.completed.gap == 0.0
    assert close.outcome.bound == pytest.approx(answer.outcome.objective)
    assert close.outcome.objective == answer.outcome.objective
    assert answer.under(answer.solved.gain + 500.0 * MONEY).outcome.gap > 0.0  # type: ignore[union-attr]


def test_the_time_left_goes_to_the_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    farm, plan, at = _farm(0)
    weekly = _loose(solve_problem(posed(farm, State(), plan, at), seconds=60.0))
    monkeypatch.setattr(make, "solve_problem", lambda *_, **__: weekly)
    monkeypatch.setattr(make, "finer", lambda answer, **_: answer)
    found = make.solved(farm, State(), plan, at, seconds=60.0)
    assert weekly.solved.gain <= found.solved.bound < weekly.solved.bound - 500.0 * MONEY
    assert make.solved(farm, State(), plan, at, seconds=0.0) is weekly
