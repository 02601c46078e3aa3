"""What binds a choice: the same problem with it forced otherwise, and what that costs or clashes with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.planned import Reason
from leyfold.plan.answer import Answer
from leyfold.plan.build import build
from leyfold.plan.clash import core, reason
from leyfold.plan.finer import widened
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.make import EFFORT, SECONDS
from leyfold.plan.model import MONEY
from leyfold.plan.offers import Offer
from leyfold.plan.problem import WEEK
from leyfold.plan.solver import solve_cpsat
from leyfold.words import say

__all__ = ["Forced", "Other", "forced"]

FORCED = "forced"
NEAR_D, NEAR = 28, 1.0
"""Days to either side within which other sets are chosen anew, and the deterministic work for it."""


@dataclass(frozen=True, slots=True)
class Other:
    """The choice made otherwise: `how` is earlier, later or without; `on` the day forced. `costs`: how much
    less the plan then earns, below zero where it earns more; None with `reasons` where there is no plan then,
    and without where the time did not suffice to tell. `proven`: no plan so forced costs less."""

    how: str
    on: date | None
    costs: float | None = None
    reasons: tuple[Reason, ...] = ()
    proven: bool = False


@dataclass(frozen=True, slots=True)
class Forced:
    """What was found of one batch of the plan."""

    batch: str
    on: date
    others: tuple[Other, ...] = field(default=())


def forced(answer: Answer, choice: str, *, seconds: float | None = None, seed: int = 0) -> Forced:
    """Force the set of batch `choice` a week earlier, a week later, and away. BadInput where the plan has no
    such set."""
    taken = answer.taken
    if choice not in taken:
        wrong = say("plan.no_choice", choice=choice)
        mend = say("plan.no_choice_mend", names=", ".join(taken) or say("plan.none"))
        raise BadInput(Fault("leyfold plan", "--why", wrong, mend))
    cap = (SECONDS if seconds is None else seconds) / 3
    answer = widened(answer, seconds=cap, seed=seed)
    offer = answer.problem.offers[answer.taken[choice]]
    return Forced(choice, offer.set_on, tuple(_others(answer, offer, cap, seed)))


def _others(answer: Answer, offer: Offer, cap: float, seed: int) -> Iterator[Other]:
    p = answer.problem
    busy = {p.offers[o].set_on for o in answer.taken.values() if p.offers[o].line == offer.line}
    days = sorted({o.set_on for o in p.offers if o.line == offer.line})
    ways: list[tuple[str, date | None]] = []
    for how, step in (("earlier", -1), ("later", 1)):
        aim = offer.set_on + timedelta(days=WEEK * step)
        near = [d for d in days if (d - offer.set_on).days * step > 0 and abs((d - aim).days) < WEEK]
        best = min(near, key=lambda d: (abs((d - aim).days), d), default=None)
        if best is None:
            yield Other(how, aim, reasons=(Reason("window", say("plan.why_no_offer")),))
        elif best in busy:
            yield Other(how, best, reasons=(Reason("pen", say("plan.why_taken")),))
        else:
            ways.append((how, best))
    for how, on in (*ways, ("without", None)):
        linear = build(p, answer.levels).linear
        _force(answer, linear, offer, on)
        found = _near(answer, linear, offer, cap, seed)
        if found.values is None or answer.solved.proven:
            whole = solve_cpsat(linear, effort=EFFORT, seconds=cap, seed=seed, hint=found.values, level=2)
            if whole.values is None or found.values is None or whole.gain >= found.gain:
                found = whole
        if found.values is not None:
            yield Other(how, on, (answer.solved.gain - found.gain) / MONEY, proven=found.proven)
        elif found.proven:
            groups, _, _ = core(linear, seconds=cap, seed=seed)
            others = tuple(Reason(g, reason(p, answer.levels, g)) for g in groups if g != FORCED)
            yield Other(how, on, reasons=others, proven=True)
        else:
            yield Other(how, on)


def _near(answer: Answer, linear: Linear, offer: Offer, cap: float, seed: int) -> Solved:
    """The best with sets within NEAR_D days chosen anew and the others as they are: close to what the plan
    was found by, and never taken for proof."""
    values = answer.solved.values or ()
    pairs = zip(answer.problem.offers, answer.model.offers, strict=True)
    fixed = {
        choice.taken: values[choice.taken]
        for other, choice in pairs
        if abs((other.set_on - offer.set_on).days) > NEAR_D
    }
    found = solve_cpsat(
        linear, effort=NEAR, seconds=cap, seed=seed, hint=values, fixed=fixed, level=2, brief=True
    )
    return replace(found, proven=False)


def _force(answer: Answer, linear: Linear, offer: Offer, on: date | None) -> None:
    p, model = answer.problem, answer.model
    same = [o for o, x in enumerate(p.offers) if x.line == offer.line]
    for o in same:
        if p.offers[o].set_on == offer.set_on:
            linear.row({model.offers[o].taken: 1}, most=0, group=FORCED)
    if on is not None:
        there = {model.offers[o].taken: 1 for o in same if p.offers[o].set_on == on}
        linear.row(there, least=1, group=FORCED)
