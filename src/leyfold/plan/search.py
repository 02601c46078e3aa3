"""The search for the best answer: a first one among the ways of sets that the relaxation likes best; the
whole at once where it is small; then one opening after another about the answer."""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from math import inf

from leyfold.plan.impossible import barred
from leyfold.plan.linear import Linear, Solved
from leyfold.plan.model import Model
from leyfold.plan.moves import forced_away, improved
from leyfold.plan.part import Parts
from leyfold.plan.solver import Relaxed, relaxed, solve_cpsat

__all__ = ["SMALL", "search", "shaken"]

FIRST, WHOLE = 0.1, 0.5
"""Deterministic work for a first answer of the whole, and for the best of it: a unit is some seconds."""
SOON, AMONG = 0.1, 0.3
"""Deterministic work for a first answer among the ways that the relaxation likes best, where there are LARGE
many variables or more, in proportion below; and for a better."""
TIMES = (1, 2, 3)
"""How many such ways for a first answer, in times of those it takes up: few may hold none,
many a poor one."""
ROOM = 3
"""The same for another answer to begin from: the best among few ways is hard to leave again."""
SMALL, LARGE = 1000, 3000
"""Variables up to which the whole is tried at once, since it is often proven; and from which little is
thought before any answer is looked for."""
NONE = 1e-6
"""What the relaxation takes up less of, it leaves."""
FEASIBLE = 4.0
"""Deterministic work for an answer where none was found at once."""


def search(
    model: Model,
    *,
    effort: float,
    seconds: float,
    seed: int = 0,
    start: Sequence[int] | None = None,
) -> Solved:
    """The best answer found with `effort` times the usual work, and a bound on any; with none, any answer
    found soon. `start`: an answer of a like model to begin from."""
    began = time.monotonic()
    linear = model.linear
    small = len(linear.low) <= SMALL

    def left() -> float:
        return seconds - (time.monotonic() - began)

    def tell(best: Solved, bound: float, stopped: bool) -> Solved:
        return _told(linear, best, bound, stopped, time.monotonic() - began)

    holds = start is not None and linear.holds(start)
    loose = None if small or (holds and effort <= 0.0) else relaxed(linear, seconds=left(), seed=seed)
    if not holds and loose is None and barred(linear, seconds=left(), seed=seed) is not None:
        return Solved(None, 0, -inf, True, False, time.monotonic() - began)
    if holds:
        assert start is not None
        best = Solved(tuple(start), linear.worth(start), inf, False, False, 0.0)
    else:
        best = _first(model, loose, seconds=left(), seed=seed, start=start)
    bound = best.bound if loose is None else min(best.bound, loose.bound)
    if best.proven or best.values is None or effort <= 0.0:
        return tell(best, bound, best.stopped)
    if small:
        whole = solve_cpsat(
            linear, effort=WHOLE * effort, seconds=left(), seed=seed, hint=best.values, level=2
        )
        best, bound = _better(best, whole), min(bound, whole.bound)
        if best.proven:
            return tell(best, bound, False)
    starts = [best]
    if loose is not None and effort >= 1.0:
        parts = Parts(linear)
        shut = _among(model, loose, ROOM, None)
        # Soon a better one, should the clock run out; what it leads to is mostly passed by from the other.
        best = _better(best, _chosen(model, parts, shut, best.values, work=SOON, seconds=left(), seed=seed))
        other = _chosen(model, parts, shut, None, work=AMONG, seconds=left(), seed=seed)
        starts = [best] if other.values is None else [other, best]
    best, hit = improved(model, starts, effort=effort, left=left, seed=seed)
    return tell(replace(best, proven=False), bound, hit)


def shaken(
    model: Model, *, start: Sequence[int], effort: float = 1.0, seconds: float, seed: int = 0
) -> Solved:
    """The best answer found by forcing each set of an answer away in turn."""
    began, linear = time.monotonic(), model.linear

    def left() -> float:
        return seconds - (time.monotonic() - began)

    best = Solved(tuple(start), linear.worth(start), inf, False, False, 0.0)
    best, hit = forced_away(model, best, effort=effort, left=left, seed=seed)
    return _told(linear, best, inf, hit, time.monotonic() - began)


def _told(linear: Linear, best: Solved, bound: float, stopped: bool, seconds: float) -> Solved:
    """An answer with nothing in it that only costs, under its bound."""
    bound = min(bound, linear.ceiling())
    if best.values is not None and not best.proven:
        values = linear.spared(best.values)
        best = replace(best, values=values, gain=linear.worth(values))
    proven = best.proven or (best.values is not None and best.gain >= bound - 0.5)
    return replace(best, bound=bound, proven=proven, stopped=stopped, seconds=seconds)


def _first(
    model: Model, loose: Relaxed | None, *, seconds: float, seed: int, start: Sequence[int] | None
) -> Solved:
    """An answer found soon."""
    began, linear = time.monotonic(), model.linear

    def left() -> float:
        return seconds - (time.monotonic() - began)

    if loose is None:
        first = solve_cpsat(linear, effort=FIRST, seconds=seconds, seed=seed, hint=start, level=0)
        if first.values is not None or first.proven or first.stopped:
            return first
    else:
        parts, work = Parts(linear), SOON * min(len(linear.low) / LARGE, 1.0)
        for times in TIMES:
            shut = _among(model, loose, times, start)
            found = _chosen(model, parts, shut, start, work=work, seconds=left(), seed=seed)
            if found.values is not None:
                return found
            if found.stopped:
                break
    # So hard is any answer to find here that it alone is looked for, with more work.
    large = len(linear.low) > LARGE
    found = solve_cpsat(linear, effort=FEASIBLE, seconds=left(), seed=seed, any_answer=True, brief=large)
    return replace(found, proven=found.proven and found.values is None, bound=inf)


def _chosen(
    model: Model,
    parts: Parts,
    shut: Collection[int],
    hint: Sequence[int] | None,
    *,
    work: float,
    seconds: float,
    seed: int,
) -> Solved:
    """An answer without the variables that are `shut`, which says nothing of the whole."""
    least = tuple(model.linear.low)
    part, own = parts.part(least, (v for v in range(len(least)) if v not in shut))
    now = None if hint is None else [hint[v] for v in own]
    found = solve_cpsat(part, effort=work, seconds=seconds, seed=seed, hint=now, level=2, brief=True)
    found = replace(found, bound=inf, proven=False)
    if found.values is None:
        return found
    values = parts.whole(least, own, found.values)
    return replace(found, values=values, gain=model.linear.worth(values))


def _among(model: Model, loose: Relaxed, times: int, besides: Sequence[int] | None) -> set[int]:
    """Variables to be left alone, so that sets are chosen among `times` as many ways as the relaxation takes
    up, those of which it would lose least, and those of an answer `besides`."""
    ranked = sorted(_losses(model, loose))
    taken_up = sum(not unused for unused, *_ in ranked)
    kept = {(o, way) for _, _, o, way in ranked[: times * taken_up]}
    if besides is not None:
        kept |= {(x, w) for x, ways in enumerate(model.cocks) for w, c in enumerate(ways) if besides[c.taken]}
    used = {o for o, _ in kept}
    shut = {v for v, o in model.owners().items() if o not in used}
    for o in used:
        for way, choice in enumerate(model.cocks[o]):
            if (o, way) not in kept:
                shut |= {choice.taken, choice.trays}
    return shut


def _losses(model: Model, loose: Relaxed) -> Iterator[tuple[bool, float, int, int]]:
    """By way: whether the relaxation leaves it, what it would lose by a largest set of it, offer and way."""
    for o, ways in enumerate(model.cocks):
        for way, choice in enumerate(ways):
            of = {choice, model.offers[o]}
            lost = sum(
                -min(loose.margin[c.taken], 0) - min(loose.margin[c.trays], 0) * model.most[o] for c in of
            )
            yield bool(loose.values[choice.taken] < NONE), float(lost), o, way


def _better(best: Solved, other: Solved) -> Solved:
    """The one that gains more; what is proven is never passed over."""
    return other if other.values is not None and (other.proven or other.gain > best.gain) else best
