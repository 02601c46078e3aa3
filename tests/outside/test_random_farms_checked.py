"""Plans made for farms at random, walked by the checker, which shares no code with the planner: no breach,
and worth what the reckoning says; the same asked twice is answered the same; the order of kit is nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from leyfold.nouns.farm import Farm
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.record import State
from leyfold.plan.checker import check
from leyfold.plan.make import make_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect
from random_farms import Made, Size, random_farm

FARMS: tuple[tuple[Size, int], ...] = (
    *(("tiny", seed) for seed in range(20)),
    # Where parties fill their shelters to the brim.
    ("small", 3), ("small", 8), ("small", 17),
)  # fmt: skip
CLASHES = {("tiny", 9), ("tiny", 11), ("tiny", 19)}
KIT = ("lines", "incubators", "brooders", "shelters", "houses")


def asked(made: Made, farm: Farm) -> Planned | Clash:
    plan = made.plan(farm)
    answer = make_plan(farm, None, State(), plan, made.at(plan), seconds=120)
    assert isinstance(answer, Clash) or not answer.hit_limit
    return answer


@cache
def answered(size: Size, seed: int) -> tuple[Made, Farm, Planned | Clash]:
    made = random_farm(seed, size)
    farm = made.farm
    return made, farm, asked(made, farm)


@pytest.mark.parametrize(("size", "seed"), FARMS)
def test_no_plan_breaks_a_limit_and_each_is_worth_its_reckoning(size: Size, seed: int) -> None:
    _, farm, answer = answered(size, seed)
    assert isinstance(answer, Clash) == ((size, seed) in CLASHES)
    if isinstance(answer, Clash):
        assert answer.irreducible
        assert len(answer.reasons) > 1
        return
    assert [finding.said for finding in check(farm, answer.completed)] == []
    assert reckon(farm, expect(farm, answer.completed)).total() == pytest.approx(answer.objective, abs=0.01)
    assert all(row.chance >= wish.chance for wish, row in zip(farm.wishes, answer.chances, strict=True))


@pytest.mark.parametrize(
    ("size", "seed"), [("tiny", 0), ("tiny", 3), ("tiny", 11), ("tiny", 16), ("small", 8)]
)
def test_the_same_asked_twice_is_answered_the_same(size: Size, seed: int) -> None:
    made, farm, first = answered(size, seed)
    again = asked(made, farm)
    if isinstance(first, Planned):
        assert isinstance(again, Planned)
        assert again.completed == first.completed
    else:
        assert isinstance(again, Clash)
        assert again.reasons == first.reasons


@pytest.mark.parametrize(
    ("size", "seed"),
    [("tiny", 0), ("tiny", 2), ("tiny", 3), ("tiny", 16), ("tiny", 17), ("small", 8), ("small", 17)],
)
def test_the_order_of_kit_batches_and_wishes_leaves_the_best_worth_the_same(size: Size, seed: int) -> None:
    made, farm, first = answered(size, seed)
    kit: dict[str, Any] = {kind: dict(reversed(getattr(farm, kind).items())) for kind in KIT}
    turned = replace(farm, wishes=farm.wishes[::-1], **kit)
    plan = made.plan(turned)
    plan = replace(plan, batches=plan.batches[::-1], stays=plan.stays[::-1])
    after = make_plan(turned, None, State(), plan, made.at(plan), seconds=120)
    assert isinstance(first, Planned)
    assert isinstance(after, Planned)
    assert first.gap <= 0.0
    assert after.gap <= 0.0
    assert after.objective == pytest.approx(first.objective, abs=0.01)
