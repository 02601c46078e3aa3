"""Ways out of a clash, each solved again where time allows, cheapest first."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned, WayOut
from leyfold.nouns.record import State
from leyfold.plan.answer import Answer, answered
from leyfold.plan.build import build
from leyfold.plan.levels import corrected, first_guess, least_guess
from leyfold.plan.make import posed
from leyfold.plan.problem import Problem
from leyfold.plan.search import search
from leyfold.plan.settled import looked_at
from leyfold.plan.solver import version
from leyfold.plan.ways.changes import Change, changes
from leyfold.plan.ways.needed import Need, needed
from leyfold.plan.written import chosen_plan
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import wish_chances

__all__ = ["SECONDS", "ways_out"]

SECONDS = 14.0
EACH_S = 5.0
"""What one way out may take, and more where few are tried."""
PRICED_S = 3.0
"""What a better plan may take, by which a way out that is found is priced."""
ROUNDS = 4
FITTED = frozenset({"shelters", "brooders", "incubators"})
"""Kit in which the plan names each place: with more of it places are given out anew."""


def ways_out(
    farm: Farm,
    state: State,
    plan: Plan,
    at: datetime,
    answer: Answer,
    *,
    seconds: float = SECONDS,
    seed: int = 0,
) -> tuple[WayOut, ...]:
    """What could be changed so that a plan fits where `answer` is a clash: changes that loosen a reason of
    it, each tried until `seconds` are over, by as much as the model says it takes. Verified ones first, by
    the money of the plan they open less what they cost themselves; then those not tried or not found, by
    what they cost.
    """
    day = civil(at, farm.holding.zone)
    trial = _Trial(farm, state, plan, at, answer, seed, time.monotonic() + seconds)
    assert isinstance(answer.outcome, Clash)
    groups = [reason.group for reason in answer.outcome.reasons]
    needs = trial.needs(groups)
    tried = [(c, trial.walked(c, needs.get(c.group))) for c in changes(farm, plan, groups, needs, day)]
    # What is known to fit comes first: it is soon solved again, for a price that is worth naming.
    tried.sort(key=lambda one: one[1] is None)
    found = [
        (change, _better(planned, trial.solved(change, among=len(tried) - i)))
        for i, (change, planned) in enumerate(tried)
    ]
    return tuple(_way(change, planned) for change, planned in sorted(found, key=_order))


def _way(change: Change, planned: Planned | None) -> WayOut:
    return WayOut(
        change.id, change.said, change.farm, change.costs, planned, planned is not None, change.guess
    )


def _better(one: Planned | None, other: Planned | None) -> Planned | None:
    """The one that earns more."""
    return max((p for p in (one, other) if p is not None), key=lambda p: p.objective, default=None)


def _order(one: tuple[Change, Planned | None]) -> tuple[bool, bool, float, str]:
    change, planned = one
    costs = change.costs
    net = (0.0 if planned is None else -planned.objective) + (costs or 0.0)
    return planned is None, costs is None, net, change.id


class _Trial:
    """One change after another, while there is time."""

    def __init__(
        self, farm: Farm, state: State, plan: Plan, at: datetime, answer: Answer, seed: int, end: float
    ) -> None:
        self.farm, self.state, self.plan, self.at = farm, state, plan, at
        self.answer, self.seed, self.end = answer, seed, end

    def needs(self, groups: Sequence[str]) -> dict[str, Need]:
        """By how much each group must be loosened, for those of which it is found in time."""
        found = {}
        for group in groups:
            left = (self.end - time.monotonic()) / 2.0
            need = None
            if left > 0.0:
                need = needed(self.answer.model.linear, group, seconds=min(left, EACH_S), seed=self.seed)
            if need is not None:
                found[group] = need
        return found

    def walked(self, change: Change, need: Need | None) -> Planned | None:
        """The plan that was found when the change was measured, walked day by day on the farm so changed;
        None where there is none, a limit is passed, or a wish has not its chance."""
        if need is None or not need.values or change.group in FITTED:
            return None
        model = self.answer.model
        start = time.monotonic()
        plan = chosen_plan(model, need.values)
        known = {b.id for b in plan.batches}
        more = [b for b in change.plan.batches if b.id not in known and b.origin == "bought"]
        plan = replace(plan, batches=(*plan.batches, *more))
        try:
            season = expect(change.farm, complete(change.farm, plan))
            held = wish_chances(change.farm, season.plan, seed=self.seed)
            money = reckon(change.farm, season).total()
        except BadInput:
            return None
        if season.breaches or any(row.short for row in held):
            return None
        took = time.monotonic() - start
        return Planned(plan, season.plan, money, money, 0.0, held, True, seconds=took, solver=version())

    def _problem(self, change: Change) -> Problem:
        """A wish changes nothing of what there is to choose from."""
        if change.plan is not self.plan or not change.given_up:
            return posed(change.farm, self.state, change.plan, self.at)
        return replace(self.answer.problem, farm=change.farm)

    def solved(self, change: Change, among: int) -> Planned | None:
        """A plan under a change in which every wish has its chance; None where none is found in time.
        `among`: how many are still to be tried, this one counted."""
        start = time.monotonic()
        end = min(self.end, start + max(EACH_S, (self.end - start) / among))
        if start >= self.end:
            return None
        try:
            problem = self._problem(change)
        except BadInput:
            return None
        levels = first_guess(problem)
        for rounds in range(1, ROUNDS + 1):
            left = end - time.monotonic()
            if left <= 0.0:
                return None
            model = build(problem, levels)
            found = search(model, effort=0.0, seconds=left, seed=self.seed)
            if found.values is None and found.proven and rounds == 1:
                # As the planner does: perhaps only the guess was too high.
                levels = least_guess(problem)
                continue
            if found.values is None:
                return None
            tried = looked_at(problem, model, found, levels, seed=self.seed)
            if tried.whole:
                left = min(end - time.monotonic(), PRICED_S)
                best = search(model, effort=1.0, seconds=max(left, 0.1), seed=self.seed, start=found.values)
                better = looked_at(problem, model, best, levels, seed=self.seed)
                tried = better if better.whole else tried
                took = time.monotonic() - start
                made = answered(
                    problem, tried, stopped=best.stopped, rounds=rounds, seconds=took, seed=self.seed
                )
                assert isinstance(made.outcome, Planned)
                return made.outcome
            levels = corrected(problem, tried.completed, levels, tried.held, seed=self.seed, loosen=False)
        return None
