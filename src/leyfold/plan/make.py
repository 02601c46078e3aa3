"""The planner: sets, places, killing and old hens dated so that every limit and wish is kept at the best
margin; or the clash that stands in the way."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.record import State
from leyfold.nouns.weather import Weather
from leyfold.plan.answer import Answer, answered
from leyfold.plan.asked import horizon, outstanding, refuse
from leyfold.plan.bound import bounded
from leyfold.plan.build import build
from leyfold.plan.clash import clash
from leyfold.plan.finer import LEAST_S, finer
from leyfold.plan.fits import fitted
from leyfold.plan.levels import Level, corrected, first_guess, least_guess
from leyfold.plan.linear import Solved
from leyfold.plan.offers import offers, set_days
from leyfold.plan.problem import WEEK, Problem, fixed_part, pose
from leyfold.plan.search import search
from leyfold.plan.settled import Kept, looked_at, settle
from leyfold.plan.share import sharing
from leyfold.plan.unshared import even_shared, sharing_helps, unless_shared
from leyfold.season.dates import window

__all__ = ["EFFORT", "SECONDS", "make_plan", "posed", "solve_problem", "solved"]

SECONDS = 180.0
"""The cap where none is given: far over what the count of work takes on a small machine."""
EFFORT = 1.0
"""Share of the usual work of a search."""
LEAST_CLASH_S = 5.0
"""Seconds for telling a clash even where the cap has been reached."""
WEEKLY = 0.7
"""Share of the time in which sets a week apart are bettered: what follows it gains more than its end. All of
it where too little would be left."""
ROUNDS = 6
"""Most corrections of the levels of wishes."""


def make_plan(
    farm: Farm,
    weather: Weather | None,  # noqa: ARG001 - see below
    state: State,
    plan: Plan,
    at: datetime,
    *,
    seconds: float | None = None,
    seed: int = 0,
) -> Planned | Clash:
    """The best plan from the instant `at` on, or the clash.

    `plan` (not completed) says what is there and its first and last day; sets in it that are neither past nor
    recorded are planned anew. `weather` changes nothing yet: a season ahead is planned on the typical year.
    The same input, seed and solver give the same answer, unless `seconds` stops the search first.
    BadInput where the farm lacks what any plan needs.
    """
    return solved(farm, state, plan, at, seconds=seconds, seed=seed).outcome


def posed(farm: Farm, state: State, plan: Plan, at: datetime) -> Problem:
    """The problem of planning from the instant `at` on. BadInput as in `make_plan`."""
    today, farm = civil(at, farm.holding.zone), outstanding(farm, state, plan.first)
    known = frozenset(state.batches) if state.batches else frozenset()
    fixed = horizon(farm, fixed_part(plan, today, known), today)
    refuse(farm, fixed, today)
    span = window(fixed)
    days = set_days(farm, span, max(today, span.first), WEEK)
    return fitted(pose(farm, fixed, today, offers(farm, span, days)))


def solved(
    farm: Farm, state: State, plan: Plan, at: datetime, *, seconds: float | None = None, seed: int = 0
) -> Answer:
    """As `make_plan`, with all that went into the answer. What time is left goes to its bound."""
    start, cap = time.monotonic(), SECONDS if seconds is None else seconds

    def left() -> float:
        return cap - (time.monotonic() - start)

    weekly = solve_problem(posed(farm, state, plan, at), seconds=cap, seed=seed)
    answer = finer(weekly, seconds=left(), seed=seed)
    if not answer.taken or weekly.solved.proven or left() <= 0.0:
        return answer
    return answer.under(bounded(weekly.model, seconds=left(), seed=seed))


def solve_problem(problem: Problem, *, seconds: float | None = None, seed: int = 0) -> Answer:
    """Solve, check the chance of every wish, correct what its mean must be, solve again until all hold: sets
    a week apart, at the few ages that are offered first. Sorted birds may share shelters where no plan fits
    else."""
    start = time.monotonic()
    cap = SECONDS if seconds is None else seconds
    after = (1.0 - WEEKLY) * cap if (1.0 - WEEKLY) * cap > LEAST_S else 0.0

    def left() -> float:
        return max(cap - (time.monotonic() - start), 0.05)

    def weekly() -> float:
        return max(left() - after, 0.05)

    best, levels, stopped, rounds = _at_levels(problem, left, weekly, seed)
    best, bound, hit = settle(problem, levels, best, left=left, seed=seed)
    stopped |= hit
    if best is None:
        model = build(problem, levels)
        outcome = clash(problem, levels, seconds=max(left(), LEAST_CLASH_S), seed=seed)
        if not problem.joins and sharing_helps(outcome) and (together := sharing(problem)).joins:
            shared = solve_problem(together, seconds=left(), seed=seed)
            if isinstance(shared.outcome, Planned):
                return shared
            if shared.outcome.reasons:
                return replace(shared, outcome=even_shared(shared.outcome))
            outcome = unless_shared(outcome)
        return Answer(problem, levels, model, Solved(None, 0, 0.0, False, stopped, 0.0), outcome)
    if bound is not None:
        best = replace(best, solved=best.solved.under(bound))
    return answered(
        problem, best, stopped=stopped, rounds=rounds, seconds=time.monotonic() - start, seed=seed
    )


def _at_levels(
    problem: Problem, left: Callable[[], float], weekly: Callable[[], float], seed: int
) -> tuple[Kept | None, dict[Level, float], bool, int]:
    """The best answer in which every wish holds, by levels that are guessed and corrected; the levels at the
    end; whether the clock ran out; and how often the model was solved. `left`: seconds for any answer;
    `weekly`: for a better one."""
    levels = first_guess(problem)
    best: Kept | None = None
    start_from: tuple[int, ...] | None = None
    stopped, last = False, False
    for rounds in range(1, ROUNDS + 1):
        model = build(problem, levels)
        effort, time_left = (EFFORT, weekly) if last else (0.0, left)
        answer = search(model, effort=effort, seconds=time_left(), seed=seed, start=start_from)
        stopped |= answer.stopped
        if answer.values is None and rounds == 1 and left() > 0.0:
            # Perhaps only the guess was too high: from below, exact numbers alone raise what is asked.
            levels = least_guess(problem)
            continue
        if answer.values is None:
            break
        start_from = answer.values
        tried = looked_at(problem, model, answer, levels, seed=seed)
        if tried.whole and (best is None or answer.gain >= best.solved.gain):
            best = tried
        if (tried.whole and last) or left() <= 0.0:
            break
        # Once all wishes hold, what their means need not be is let go; the next answer is the last, if it
        # holds too.
        levels = corrected(problem, tried.completed, levels, tried.held, seed=seed, loosen=tried.whole)
        last = last or tried.whole
    return best, levels, stopped, rounds
