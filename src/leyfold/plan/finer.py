"""By the day: sorted birds of the sets of an answer put together, the sets moved off the days a week apart on
which they were looked for, their turnout and killing off the few ages offered at first."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache, partial
from itertools import cycle
from operator import eq
from typing import Protocol

from leyfold.nouns.planned import Planned
from leyfold.plan.answer import Answer, answered
from leyfold.plan.build import build
from leyfold.plan.carry import with_its_sets
from leyfold.plan.fits import fitted
from leyfold.plan.levels import corrected
from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.offers import DRAFTS, WAITS_D, Ages, Offer, offers_of, set_days
from leyfold.plan.problem import WEEK, Party, Problem, pose
from leyfold.plan.search import search, shaken
from leyfold.plan.settled import looked_at
from leyfold.plan.share import sharing, taken_joins
from leyfold.plan.written import taken_ways

__all__ = ["LEAST_S", "finer", "widened"]

NEAR = timedelta(days=3)
"""Sets are moved by no more at a time: further on lies the next day on which they were looked for."""
BESIDE = timedelta(days=WEEK)
"""Sets that come in besides, to share shelters with those of the answer, lie no further from them."""
FINE_WAITS_D = (*WAITS_D, 4, 7, 10)
FINE_DRAFTS: tuple[Ages, ...] = (
    *DRAFTS,
    *(((d, 1.0),) for d in (-21, -10, -7, -3, 3, 7, 10, 21)),
    *(((a, 0.5), (b, 1.0)) for a in (-14, -7, 0) for b in (0, 7, 14, 21) if a < b and (a, b) != (-7, 7)),
)
EFFORT = 0.25
"""Share of the usual work of a search that begins from a good answer."""
WIDE = 6000
"""Pairs of parties that may share up to which all are offered at once."""
LEAST_S = 2.0
"""Seconds that must be left to begin."""
TRIES = 2
"""Searches, where the first answer misses a wish and its levels are raised."""


class _Find(Protocol):
    """Looks for the best answer of a model from one of it on."""

    def __call__(self, model: Model, /, *, start: Sequence[int], seconds: float, seed: int) -> Solved: ...


def finer(answer: Answer, *, seconds: float, seed: int) -> Answer:
    """An answer as good or better, with sorted birds of two batches in one shelter, its sets, turnouts and
    killings by the day. Its bound stays that of the answer before, of sets a week apart that share none: it
    may earn more. What time is left goes to another answer to begin from."""
    began = time.monotonic()

    def left() -> float:
        return seconds - (time.monotonic() - began)

    together = _all_together(answer, left, seed)
    fine = _near_by(together, left, seed)
    if not answer.solved.proven:
        other = _moved(answer, answer.problem, left, seed, shaken)
        # Where it does not lead further at once, neither does it in the end.
        if other is not answer and _gain(other := _all_together(other, left, seed)) > _gain(together):
            fine = max(fine, _near_by(other, left, seed), key=_gain)
    return fine if left() > LEAST_S else _cut_short(fine)


def _all_together(answer: Answer, left: Callable[[], float], seed: int) -> Answer:
    """With shelters shared by any sets, where that is no large model."""
    if left() <= LEAST_S or not (wide := sharing(answer.problem, most=WIDE)).joins:
        return answer
    effort = EFFORT if answer.solved.proven else 1.0
    return _moved(answer, wide, left, seed, partial(search, effort=effort))


def _near_by(answer: Answer, left: Callable[[], float], seed: int) -> Answer:
    """By one kind of choice after another, beside those of the answer, until none helps."""
    kinds, in_vain = (_beside, _other_days, _other_ages), 0
    for near in cycle(kinds):
        if in_vain == len(kinds) or not answer.taken or left() < LEAST_S:
            break
        problem = _posed(answer, near(answer))
        problem = (_together if near is _beside else _still_together)(answer, problem)
        found = answer
        if near is not _beside or problem.joins:
            found = _moved(answer, problem, left, seed, partial(search, effort=EFFORT))
        in_vain, answer = (in_vain + 1 if found is answer else 0), found
    return answer


def _gain(answer: Answer) -> int:
    return answer.solved.gain


def _cut_short(answer: Answer) -> Answer:
    """The same, told to be what the time allowed."""
    if not isinstance(answer.outcome, Planned):
        return answer
    return replace(answer, outcome=replace(answer.outcome, hit_limit=True))


def widened(answer: Answer, *, seconds: float, seed: int) -> Answer:
    """The same answer among all that was offered at first, not only what lies near it."""
    if not answer.first:
        return answer
    problem = _posed(answer, answer.first)
    if _shares(answer):
        problem = _together(answer, problem)
    model = build(problem, answer.levels)
    same = with_its_sets(answer.model, answer.solved.values or (), model, seconds=seconds, seed=seed)
    if same.values is None:
        return answer
    return replace(answer, problem=problem, model=model, solved=replace(answer.solved, values=same.values))


def _moved(answer: Answer, problem: Problem, left: Callable[[], float], seed: int, find: _Find) -> Answer:
    """The best answer that is found of a problem that holds what lies near, or the one there was."""
    before = answer.outcome
    if not isinstance(before, Planned):
        return answer
    began = left()
    levels = dict(answer.levels)
    for _ in range(TRIES if left() > LEAST_S else 0):
        model = build(problem, levels)
        own = answer.solved.values or ()
        start = with_its_sets(answer.model, own, model, seconds=left(), seed=seed)
        if start.values is None:
            break
        found = find(model, start=start.values, seconds=left(), seed=seed)
        if found.values is None or found.gain <= answer.solved.gain:
            break
        tried = looked_at(problem, model, found, levels, seed=seed)
        if tried.whole:
            better = replace(tried, solved=replace(found, bound=answer.solved.bound, proven=False))
            stopped, seconds = before.hit_limit or found.stopped, before.seconds + began - left()
            made = answered(
                problem, better, stopped=stopped, rounds=before.rounds + 1, seconds=seconds, seed=seed
            )
            return replace(made, first=answer.first or answer.problem.offers)
        levels = corrected(problem, tried.completed, levels, tried.held, seed=seed, loosen=False)
    return answer


def _other_days(answer: Answer) -> Iterator[Offer]:
    """The same sets, turned out and killed at the same ages, on all days near."""
    p = answer.problem
    for offer in _taken(answer):
        first = max(p.today, p.span.first, offer.set_on - NEAR)
        for day in set_days(p.farm, p.span, first, last=offer.set_on + NEAR):
            yield from offers_of(
                p.farm, p.span, p.farm.lines[offer.line], day, waits_d=[offer.wait_d], ages=offer.ages
            )


def _other_ages(answer: Answer) -> Iterator[Offer]:
    """The same sets on the same days, turned out and killed at other ages."""
    p = answer.problem
    for offer in _taken(answer):
        line = p.farm.lines[offer.line]
        yield from offers_of(p.farm, p.span, line, offer.set_on, waits_d=FINE_WAITS_D, ages=FINE_DRAFTS)


def _beside(answer: Answer) -> Iterator[Offer]:
    """What was offered at first within a week of the sets."""
    days = {offer.set_on for offer in _taken(answer)}
    for offer in answer.first or answer.problem.offers:
        if any(abs(offer.set_on - day) <= BESIDE for day in days):
            yield offer


def _together(answer: Answer, problem: Problem) -> Problem:
    """The problem with shelters that birds of the answer's sets share, with each other or with others."""
    taken = {_named(offer) for offer in _taken(answer)}
    own = {o for o, offer in enumerate(problem.offers) if _named(offer) in taken}
    return sharing(problem, lambda one, other: one[0] in own or other[0] in own)


def _still_together(answer: Answer, problem: Problem) -> Problem:
    """The problem with shelters shared by parties that share one in the answer, one of the two moved."""
    joins = taken_joins(answer.model, answer.solved.values or ())
    pairs = [tuple(_alone(answer.problem, party) for party in join.parties) for join in joins]
    alone = cache(lambda party: _alone(problem, party))

    def between(one: Party, other: Party) -> bool:
        return any(
            all(map(_near, two, pair)) and any(map(eq, two, pair))
            for two in ((alone(one), alone(other)), (alone(other), alone(one)))
            for pair in pairs
        )

    return sharing(problem, between)


def _alone(problem: Problem, party: Party) -> Offer:
    """The offer of a party, with nobody killed but themselves."""
    o, sex, way = party
    offer, kept = problem.offers[o], slice(way, way + 1) if sex == "cockerel" else slice(0)
    return replace(offer, drafts=offer.drafts[kept], ages=offer.ages[kept])


def _near(one: Offer, other: Offer) -> bool:
    return one.line == other.line and abs(one.set_on - other.set_on) <= NEAR


def _named(offer: Offer) -> tuple[date, str, date]:
    """What tells an offer from others of the same problem."""
    return offer.set_on, offer.line, offer.turnout_on


def _shares(answer: Answer) -> bool:
    return bool(answer.solved.values and taken_joins(answer.model, answer.solved.values))


def _taken(answer: Answer) -> list[Offer]:
    """The offers that an answer takes up, each with its one way of killing."""
    found = []
    for o, way in taken_ways(answer.model, answer.solved.values or ()):
        offer = answer.problem.offers[o]
        found.append(replace(offer, drafts=(offer.drafts[way],), ages=(offer.ages[way],)))
    return found


def _posed(answer: Answer, offered: Iterable[Offer]) -> Problem:
    """The problem of choosing from what the answer takes up and what is `offered`."""
    p = answer.problem
    lines = list(p.farm.lines)
    known = dict[tuple[date, int, date], Offer]()
    for offer in (*_taken(answer), *offered):
        key = offer.set_on, lines.index(offer.line), offer.turnout_on
        ways = dict(zip(offer.drafts, offer.ages, strict=True))
        if key in known:
            ways = dict(zip(known[key].drafts, known[key].ages, strict=True)) | ways
        known[key] = replace(offer, drafts=tuple(ways), ages=tuple(ways.values()))
    return fitted(pose(p.farm, p.plan, p.today, [known[key] for key in sorted(known)]))
