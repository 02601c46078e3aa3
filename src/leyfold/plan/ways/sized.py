"""The smallest of some changes that differ in size alone under which a plan is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from leyfold.plan.build import build
from leyfold.plan.carry import carried_over
from leyfold.plan.problem import Problem
from leyfold.plan.ways.changes import Change, both, fewer
from leyfold.plan.ways.near import wishing
from leyfold.plan.ways.tried import Found, Question, judged, resized, rewished

__all__ = ["smallest"]

PROOF_S = 2.0


def smallest(ask: Question, found: Found, family: Sequence[Change]) -> Found:
    """The plan `found` under the last of `family`, with less of a wish besides or without, as one under the
    smallest of them that it fits into."""
    wishes = found.change.farm.wishes
    low, high = -1, len(family) - 1
    while high - low > 1:
        middle = (low + high) // 2
        small = replace(family[middle].farm, wishes=wishes)
        low, high = (low, middle) if _fits(found, resized(found.problem, small)) else (middle, high)
    change = family[high]
    if change is family[-1] or (model := judged(ask, change, seconds=PROOF_S)) is None:
        return found
    problem = rewished(model.problem, replace(change.farm, wishes=wishes))
    if problem.joins != found.problem.joins and problem.offers == found.problem.offers:
        model = build(replace(problem, joins=found.problem.joins), found.kept.levels)
    else:
        model = wishing(model, problem, found.kept.levels)
    values = carried_over(found.model, found.values, model)
    if values is None:
        return found
    solved = replace(found.kept.solved, values=values, gain=model.linear.worth(values))
    numbers = {
        wish.id: wish.number
        for wish, was in zip(wishes, change.farm.wishes, strict=True)
        if wish.number != was.number
    }
    told = both(change, fewer(change.farm, change.plan, numbers)) if numbers else change
    return Found(told, model.problem, model, replace(found.kept, solved=solved))


def _fits(found: Found, problem: Problem) -> bool:
    return carried_over(found.model, found.values, build(problem, found.kept.levels)) is not None
