"""Why no plan fits: groups of limits and wishes that together leave none, and with any one gone leave one."""

from __future__ import annotations

import time
from collections.abc import Mapping
from math import inf

from leyfold.nouns.planned import Clash, Reason
from leyfold.plan.freed import unbound
from leyfold.plan.impossible import barred
from leyfold.plan.levels import Level
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.problem import WEEK, Problem
from leyfold.plan.solver import solve_cpsat
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

__all__ = ["OFFERS", "clash", "core", "reason"]

OFFERS = "offers"
"""Stands for the sets there are to choose from, which are no limit that could be left out."""
EFFORT = 1.5
"""Deterministic work for one question whether some groups leave a plan."""
LARGE, QUESTIONS = 3000, 2
"""Variables of a model from which, once so many of these questions were left open, no more are searched: what
can be shown without a search is left out all the same."""


def clash(problem: Problem, levels: Mapping[Level, float], *, seconds: float, seed: int) -> Clash:
    """The clash of a problem for which no plan was found, in words."""
    groups, irreducible, hit = core(unbound(problem, levels), seconds=seconds, seed=seed)
    if len(groups) == 1 and groups[0].startswith("wish:"):
        # No limit is needed to bar it: all there is to choose from does not suffice.
        groups = (*groups, OFFERS)
    return Clash(
        tuple(Reason(group, reason(problem, levels, group)) for group in groups),
        irreducible,
        hit_limit=hit,
        levels=dict(levels),
    )


def core(linear: Linear, *, seconds: float, seed: int) -> tuple[tuple[str, ...], bool, bool]:
    """Groups without an answer among them, whether each is needed for that, and whether the clock ran out.

    None at all where it is not certain that there is no answer. A deletion filter: each group in turn is left
    out, and stays out where there is none without it either. Wishes are tried last, so that what remains is
    what stands against them.
    """
    end = time.monotonic() + seconds

    def ask(groups: list[str], effort: float = EFFORT) -> Solved:
        return _any(linear, groups, effort=effort, seconds=end - time.monotonic(), seed=seed)

    kept = sorted(linear.groups(), key=lambda g: g.startswith("wish:"))
    whole = ask(kept)
    if whole.values is not None or not whole.proven:
        # There may be a plan after all: nothing can be said to stand in its way.
        return (), False, whole.stopped
    sure, hit, open_ = True, False, 0
    most = QUESTIONS if len(linear.low) > LARGE else len(kept)
    for group in list(kept):
        rest = [g for g in kept if g != group]
        if time.monotonic() >= end:
            return tuple(kept), False, True
        found = ask(rest, EFFORT if open_ < most else 0.0)
        open_ += found.values is None and not found.proven
        if found.values is None and found.proven:
            kept = rest
        elif found.values is None:
            sure, hit = False, hit or found.stopped
    return tuple(kept), sure, hit


def _any(linear: Linear, groups: list[str], *, effort: float, seconds: float, seed: int) -> Solved:
    """Any answer by the rows of some groups; none, proven, where not even parts of sets would give one."""
    began = time.monotonic()
    if barred(linear, groups=groups, seconds=seconds, seed=seed) is not None:
        return Solved(None, 0, inf, True, False, time.monotonic() - began)
    left = seconds - (time.monotonic() - began)
    if effort <= 0.0:
        return Solved(None, 0, inf, False, False, time.monotonic() - began)
    return solve_cpsat(linear, effort=effort, seconds=left, seed=seed, groups=groups, any_answer=True)


def reason(problem: Problem, levels: Mapping[Level, float], group: str) -> str:
    """One sentence for a group."""
    farm = problem.farm
    if not group.startswith("wish:"):
        return say(f"plan.group_{group}")
    wish = next(w for w in farm.wishes if w.id == group.removeprefix("wish:"))
    need = max(levels[wish.id, day] for day, _ in problem.wanted(wish))
    number = max(number for _, number in problem.wanted(wish))
    said = {
        "wish": wish.id,
        "number": number,
        "on": spoken_day(wish.on, farm.holding.language),
        "chance": f"{100 * wish.chance:g}",
        "mean": f"{need / (WEEK if wish.what == 'eggs a day' else 1):.0f}",
        "days": wish.aged_d,
    }
    if wish.aged_d:
        return say("plan.wish_aged", **said)
    return say(
        {"pullets": "plan.wish_pullets", "table birds": "plan.wish_table"}.get(wish.what, "plan.wish_eggs"),
        **said,
    )
