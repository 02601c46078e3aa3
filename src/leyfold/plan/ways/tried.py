"""One change of a farm looked at: whether it can open a plan at all, a plan, a better one, and that plan
walked."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import inf

from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.carry import carried_over
from leyfold.plan.checker import check
from leyfold.plan.impossible import barred
from leyfold.plan.kit import shelter_classes
from leyfold.plan.levels import corrected, least_guess
from leyfold.plan.linear import Solved
from leyfold.plan.make import posed
from leyfold.plan.model import Model
from leyfold.plan.problem import Problem
from leyfold.plan.search import SMALL, search
from leyfold.plan.settled import Kept, looked_at
from leyfold.plan.share import sharing
from leyfold.plan.solver import version
from leyfold.plan.ways.changes import Change
from leyfold.plan.ways.near import wishing
from leyfold.plan.written import chosen_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import wish_chances

__all__ = ["Found", "Question", "better", "judged", "resized", "rewished", "taken_over", "walked"]

ROOMIER = frozenset({"shelters", "house", "nets", "killing", "freezer", "ground", "hours"})
"""Groups that, loosened, leave the sets on offer as they are."""
SHARES = (0.75, 1.0)
"""Of the time that is left, for a better plan, and for another where that misses a wish by a little."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What stays the same from change to change."""

    model: Model
    """Of the farm as it is, whatever the levels of its wishes."""
    plan: Plan
    state: State
    at: datetime
    seed: int
    shared: bool = False
    """Whether sorted birds that share shelters may help."""

    @property
    def problem(self) -> Problem:
        return self.model.problem


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


def judged(ask: Question, change: Change, *, seconds: float) -> Model | None:
    """The model under a change, at the means that every wish needs at the least; None where it has no plan,
    which is proven, not even one in which sorted birds share shelters where that may help (where the model is
    a large one, that is left open). BadInput where it cannot be posed."""
    problem = _under(ask, change)
    if _breaks(ask, problem):
        return None
    if change.given_up:
        model = wishing(ask.model, problem, least_guess(problem))
    else:
        model = build(problem, least_guess(problem))
    if barred(model.linear, seconds=seconds, seed=ask.seed) is None:
        return model
    if ask.shared and len(model.linear.low) > SMALL:
        # Whether it opens a plan in which birds share takes long to tell: less of a wish may do.
        return model
    if not ask.shared or problem.joins or not (together := sharing(problem)).joins:
        return None
    model = build(together, least_guess(together))
    return model if barred(model.linear, seconds=seconds, seed=ask.seed) is None else None


def _breaks(ask: Question, problem: Problem) -> bool:
    """Whether birds that a change brings break a limit by themselves, whatever else is planned."""
    season, before = problem.season, ask.problem.season
    if len(problem.fixed.batches) == len(ask.problem.fixed.batches):
        return False
    most = problem.farm.planning.kill_a_day
    over = most is not None and bool(
        (season.killed.sum(axis=0) > max(most, before.killed.sum(axis=0).max())).any()
    )
    return over or len(season.breaches) > len(before.breaches)


def _under(ask: Question, change: Change) -> Problem:
    if change.given_up:
        return rewished(ask.problem, change.farm)
    if change.group in ROOMIER and not (change.group == "shelters" and _at_grass(ask.problem)):
        return resized(ask.problem, change.farm)
    return posed(change.farm, ask.state, change.plan, ask.at)


def resized(problem: Problem, farm: Farm) -> Problem:
    """The problem of a farm with more room for birds to come: there is the same to choose from, and those who
    are there stay where they are."""
    season = expect(farm, problem.fixed)
    classes = shelter_classes(farm, problem.span, season)
    return replace(problem, farm=farm, season=season, classes=classes)


def _at_grass(problem: Problem) -> bool:
    """Whether birds of the fixed part stand in shelters, and would spread into more of them."""
    return any(problem.season.places[name].heads.any() for name in problem.farm.shelters)


def better(ask: Question, found: Found, others: Sequence[Found], *, seconds: float) -> Found:
    """The same change with a plan that earns more, where one is found in time; begun from the best plan of
    the `others` that is one under this change too."""
    end = time.monotonic() + seconds
    for other in others:
        found = taken_over(ask, found, other)
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
        model, start = wishing(model, found.problem, levels), best.values
    return found


def taken_over(ask: Question, found: Found, other: Found) -> Found:
    """The plan of another change where it is one under this change too, and earns more."""
    if other is found:
        return found
    values = carried_over(other.model, other.values, found.model, seed=ask.seed)
    if values is None or (gain := found.model.linear.worth(values)) <= found.gain:
        return found
    solved = Solved(values, gain, inf, False, False, 0.0)
    tried = looked_at(found.problem, found.model, solved, found.kept.levels, seed=ask.seed)
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
