"""Plans made for farms at random, walked by the checker: no breach, and worth what the reckoning says."""

from __future__ import annotations

import pytest

from leyfold.nouns.planned import Clash
from leyfold.nouns.record import State
from leyfold.plan.checker import check
from leyfold.plan.make import make_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect
from random_farms import random_farm


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 6, 7, 8, 10, 12, 13, 14])
def test_no_plan_of_the_planner_breaks_a_limit(seed: int) -> None:
    made = random_farm(seed, "tiny")
    farm = made.farm
    plan = made.plan(farm)
    answer = make_plan(farm, None, State(), plan, made.at(plan), seconds=60)
    assert not isinstance(answer, Clash)
    assert [finding.said for finding in check(farm, answer.completed)] == []
    assert reckon(farm, expect(farm, answer.completed)).total() == pytest.approx(answer.objective, abs=0.01)
