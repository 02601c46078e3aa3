"""By the day: what an answer of sets a week apart gains when its days and ages are looked at one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from leyfold.nouns.farm import Farm
from leyfold.nouns.planned import Planned
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.record import State
from leyfold.plan.answer import Answer
from leyfold.plan.checker import check
from leyfold.plan.finer import NEAR, finer, widened
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.why import forced
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect
from random_farms import random_farm


@dataclass(frozen=True)
class Both:
    """An answer of sets a week apart, and the same by the day."""

    farm: Farm
    weekly: Answer
    daily: Answer


@pytest.fixture(scope="module", params=[0, 5, 6])
def both(request: pytest.FixtureRequest) -> Both:
    made = random_farm(request.param, "small")
    farm = made.farm
    plan = made.plan(farm)
    weekly = solve_problem(posed(farm, State(), plan, made.at(plan)), seconds=60)
    return Both(farm, weekly, finer(weekly, seconds=60, seed=0))


def plans(both: Both) -> tuple[Planned, Planned]:
    before, after = both.weekly.outcome, both.daily.outcome
    assert isinstance(before, Planned)
    assert isinstance(after, Planned)
    return before, after


def test_more_is_earned_and_the_bound_says_no_less(both: Both) -> None:
    before, after = plans(both)
    assert after.objective > before.objective
    assert after.bound == pytest.approx(before.bound, abs=0.01)
    assert (after.gap < 0.0) == (after.objective > after.bound + 0.01)
    assert reckon(both.farm, expect(both.farm, after.completed)).total() == pytest.approx(
        after.objective, abs=0.01
    )


def test_no_limit_is_passed_and_every_wish_kept(both: Both) -> None:
    _, after = plans(both)
    assert not check(both.farm, after.completed)
    assert not any(row.short for row in after.chances)


def test_sets_move_by_days_and_keep_to_the_days_asked_for(both: Both) -> None:
    before, after = plans(both)
    asked = both.farm.planning
    old = [b.set_on for b in before.plan.batches if b.set_on]
    for batch in after.plan.batches:
        if batch.set_on is None:
            continue
        assert min(abs(batch.set_on - day) for day in old) <= NEAR
        assert WEEKDAYS[batch.set_on.weekday()] in asked.set_weekdays
        assert asked.set_from is None or batch.set_on >= asked.set_from
        assert all(WEEKDAYS[d.on.weekday()] in asked.kill_weekdays for d in batch.drafts)
        assert not any(d.on in asked.closed for d in batch.drafts)


def test_the_same_answer_every_time(both: Both) -> None:
    again = finer(both.weekly, seconds=60, seed=0)
    assert again.outcome.plan == plans(both)[1].plan  # type: ignore[union-attr]


def test_without_time_it_is_as_it_was_and_says_so(both: Both) -> None:
    short = finer(both.weekly, seconds=1.0, seed=0)
    assert isinstance(short.outcome, Planned)
    assert short.outcome.hit_limit
    assert short.solved is both.weekly.solved
    assert replace(short.outcome, hit_limit=False) == plans(both)[0]


def test_among_all_that_was_offered_it_is_the_same_plan(both: Both) -> None:
    wide = widened(both.daily, seconds=30, seed=0)
    assert {offer.set_on for offer in both.weekly.problem.offers} <= {o.set_on for o in wide.problem.offers}
    assert wide.model.linear.holds(wide.solved.values or ())
    assert wide.model.linear.worth(wide.solved.values or ()) == both.daily.solved.gain
    assert list(wide.taken) == list(both.daily.taken)


def test_why_a_set_stands_where_it_does(both: Both) -> None:
    """A week to either side is asked about, though only days near were offered at the last."""
    name = next(iter(both.daily.taken))
    answer = forced(both.daily, name, seconds=20)
    away = next(one for one in answer.others if one.how == "without")
    assert away.costs is not None or away.reasons
    for one in answer.others:
        if one.costs is not None and one.on is not None:
            assert abs(abs(one.on - answer.on) - timedelta(weeks=1)) < timedelta(weeks=1)
