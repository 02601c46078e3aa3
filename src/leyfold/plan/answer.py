"""What a problem was solved to, and all it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from leyfold.nouns.planned import Clash, Planned
from leyfold.plan.build import build
from leyfold.plan.levels import Level, chances
from leyfold.plan.linear import Solved
from leyfold.plan.model import MONEY, Model
from leyfold.plan.offers import Offer
from leyfold.plan.problem import Problem
from leyfold.plan.settled import Kept
from leyfold.plan.solver import version
from leyfold.plan.written import chosen_plan, taken_ways
from leyfold.season.complete import complete

__all__ = ["Answer", "answered"]

CENT = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """What a problem was solved to, and all it was made from: `plan.why` and the ways out ask on. `first`:
    the offers of the problem that was solved first, where this one has but those near its answer."""

    problem: Problem
    levels: Mapping[Level, float]
    model: Model
    solved: Solved
    outcome: Planned | Clash
    first: tuple[Offer, ...] = ()

    @property
    def taken(self) -> dict[str, int]:
        """The offer that each set of the plan was."""
        if not isinstance(self.outcome, Planned):
            return {}
        fixed = len(self.problem.plan.batches)
        names = [batch.id for batch in self.outcome.plan.batches[fixed:]]
        ways = taken_ways(self.model, self.solved.values or ())
        return dict(zip(names, (offer for offer, _ in ways), strict=True))

    def under(self, bound: float) -> Answer:
        """The same answer under a bound that may be closer."""
        if not isinstance(self.outcome, Planned) or bound >= self.solved.bound:
            return self
        solved = replace(self.solved, bound=bound, proven=abs(bound - self.solved.gain) <= 0.5)
        most, gap = _most(self.problem, solved)
        plans = {n: replace(getattr(self.outcome, n), gap=gap) for n in ("plan", "completed")}
        return replace(self, solved=solved, outcome=replace(self.outcome, bound=most, gap=gap, **plans))


def _most(problem: Problem, solved: Solved) -> tuple[float, float]:
    """The money that no answer passes whose sets are a week apart, and by what share of it one stays under;
    below 0 where one by the day earns more."""
    most = problem.base + solved.bound / MONEY
    less = (solved.bound - solved.gain) / MONEY
    return most, less / max(abs(most), 1e-9) if abs(less) > CENT else 0.0


def answered(
    problem: Problem, kept: Kept, *, stopped: bool, rounds: int, seconds: float, seed: int
) -> Answer:
    """The answer that what was kept comes to: its plan with birds left in their shelters as far as can be,
    priced, and how far from the best it may be."""
    model = build(problem, kept.levels)
    values = kept.solved.values or ()
    most, gap = _most(problem, kept.solved)
    plan = chosen_plan(model, values, calm=True)
    completed = complete(problem.farm, plan)
    held = chances(problem, completed, seed=seed)
    if any(row.short for row in held):
        # Foxes come by the shelter: who stands where is a little of a chance too.
        plan, completed, held = chosen_plan(model, values), kept.completed, kept.held
    planned = Planned(
        plan=replace(plan, gap=gap),
        completed=replace(completed, gap=gap),
        objective=problem.base + kept.solved.gain / MONEY,
        bound=most,
        gap=gap,
        chances=held,
        hit_limit=stopped,
        rounds=rounds,
        seconds=seconds,
        solver=version(),
        binding=model.linear.met(values),
    )
    return Answer(problem, kept.levels, model, kept.solved, planned)
