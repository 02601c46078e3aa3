"""One change of a farm looked at: whether it can open a plan at all, a plan, a better one, and that plan
walked."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.checker import check
from leyfold.plan.impossible import barred
from leyfold.plan.levels import corrected, first_guess, least_guess
from leyfold.plan.linear import Solved
from leyfold.plan.make import posed
from leyfold.plan.model import Model
from leyfold.plan.problem import Problem
from leyfold.plan.search import search
from leyfold.plan.settled import Kept, looked_at
from leyfold.plan.solver import version
from leyfold.plan.ways.changes import Change
from leyfold.plan.written import chosen_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import wish_chances

__all__ = ["Found", "Question", "better", "first", "judged", "rewished", "walked"]

ROUNDS = 4
"""Most corrections of the levels of wishes for a first plan."""
SHARES = (0.75, 1.0)
"""Of the time that is left, for a better plan, and for another where that misses a wish by a little."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What stays the same from change to change."""

    problem: Problem
    plan: Plan
    state: State
    at: datetime
    seed: int


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A change, the problem it makes, and a plan in which every wish has its chance."""

    change: Change
    problem: Problem
    model: Model
    kept: Kept

    @property
    def values(self) -> tuple[int, ...]:
        return self.kept.solved.values or ()

    @property
    def gain(self) -> int:
        return self.kept.solved.gain


def rewished(problem: Problem, farm: Farm) -> Problem:
    """The problem of a farm with other wishes, which change nothing of what there is to choose from."""
    made = replace(problem, farm=farm)
    made.__dict__.update({name: x for name, x in problem.__dict__.items() if name not in made.__dict__})
    return made


def judged(ask: Question, change: Change, *, seconds: float) -> Problem | None:
    """The problem under a change; None where it has no plan, which is proven. BadInput where it cannot be
    posed."""
    problem = rewished(ask.problem, change.farm)
    if not change.given_up:
        problem = posed(change.farm, ask.state, change.plan, ask.at)
    least = build(problem, least_guess(problem)).linear
    return None if barred(least, seconds=seconds, seed=ask.seed) is not None else problem


def first(
    ask: Question, change: Change, problem: Problem, start: Sequence[int] | None, *, seconds: float
) -> Found | None:
    """A plan in which every wish has its chance, whatever it earns; None where none was found in time."""
    end = time.monotonic() + seconds
    levels = first_guess(problem)
    for rounds in range(1, ROUNDS + 1):
        model = build(problem, levels)
        found = Solved(None, 0, 0.0, True, False, 0.0)
        if barred(model.linear, seconds=seconds, seed=ask.seed) is None and time.monotonic() < end:
            left = end - time.monotonic()
            found = search(model, effort=0.0, seconds=left, seed=ask.seed, start=start)
        if found.values is None and found.proven and rounds == 1:
            # As the planner does: perhaps only the guess was too high.
            levels = least_guess(problem)
            continue
        if found.values is None:
            return None
        start = found.values
        tried = looked_at(problem, model, found, levels, seed=ask.seed)
        if tried.whole:
            return Found(change, problem, model, tried)
        levels = corrected(problem, tried.completed, levels, tried.held, seed=ask.seed, loosen=False)
    return None


def better(ask: Question, found: Found, others: Sequence[Found], *, seconds: float) -> Found:
    """The same change with a plan that earns more, where one is found in time; begun from the best plan of
    the `others` that is one under this change too."""
    end = time.monotonic() + seconds
    for other in others:
        found = _taken_over(ask, found, other)
    model, levels = found.model, found.kept.levels
    start = found.values
    for share in SHARES:
        left = end - time.monotonic()
        if left <= 0.0:
            break
        best = search(model, effort=1.0, seconds=share * left, seed=ask.seed, start=start)
        if best.values is None or best.gain <= found.gain:
            break
        tried = looked_at(found.problem, model, best, levels, seed=ask.seed)
        if tried.whole:
            return replace(found, model=model, kept=tried)
        levels = corrected(found.problem, tried.completed, levels, tried.held, seed=ask.seed, loosen=False)
        model, start = build(found.problem, levels), best.values
    return found


def _taken_over(ask: Question, found: Found, other: Found) -> Found:
    """The plan of another change where it is one under this change too, and earns more."""
    if other is found or other.gain <= found.gain or other.problem.offers is not found.problem.offers:
        return found
    rows = found.model.linear
    if len(rows.low) != len(other.model.linear.low) or not rows.holds(other.values):
        return found
    tried = looked_at(found.problem, found.model, other.kept.solved, found.kept.levels, seed=ask.seed)
    return replace(found, kept=tried) if tried.whole else found


def walked(ask: Question, found: Found) -> Planned | None:
    """The plan with its money, walked day by day by the checker; None where that finds anything amiss."""
    farm = found.change.farm
    try:
        plan = chosen_plan(found.model, found.values)
        completed = complete(farm, plan)
        held = wish_chances(farm, completed, seed=ask.seed)
        season = expect(farm, completed)
        money = reckon(farm, season).total()
    except BadInput:
        return None
    # The checker asks an average year for the number wished; how likely it is, the exact sum says.
    amiss = any(finding.what != "wish" for finding in check(farm, completed))
    if season.breaches or amiss or any(row.short for row in held):
        return None
    return Planned(plan, completed, money, money, 0.0, held, True, solver=version())
