"""The search for the best answer: a first one; the whole at once where it is small; what its relaxation takes
up; then window after window of sets opened while the others stay; last the root of a branch-and-cut tree."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from math import inf

from leyfold.plan.linear import Linear, Solved
from leyfold.plan.model import Model
from leyfold.plan.part import Parts
from leyfold.plan.solver import relaxed, solve_cpsat, solve_highs

__all__ = ["search"]

FIRST, WINDOW, WHOLE = 0.1, 0.3, 0.5
"""Deterministic work for the first answer, for one window, and for the whole: a unit is some seconds."""
OPEN = (12, 18, 27)
"""Ways of sets opened together, about: narrow windows until none helps, then wider ones."""
NARROWEST = 2
"""Set days, so that a set may move from one to the other."""
SMALL, LARGE = 1000, 3000
"""Variables up to which the whole is tried at once, since it is often proven; and from which even a first
answer and the root of the tree are too hard as a whole."""
TAKEN_UP_SHARE = 0.35
"""Of the time left, the most for what the relaxation takes up."""
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
    small, large = len(linear.low) <= SMALL, len(linear.low) > LARGE

    def left() -> float:
        return seconds - (time.monotonic() - began)

    def tell(best: Solved, bound: float, stopped: bool) -> Solved:
        bound = min(bound, linear.ceiling())
        if best.values is not None and not best.proven:
            values = linear.spared(best.values)
            best = replace(best, values=values, gain=linear.worth(values))
        proven = best.proven or (best.values is not None and best.gain >= bound - 0.5)
        return replace(best, bound=bound, proven=proven, stopped=stopped, seconds=time.monotonic() - began)

    best = _first(linear, large=large, seconds=seconds, seed=seed, start=start)
    if best.proven or best.values is None or effort <= 0.0:
        return tell(best, best.bound, best.stopped)
    bound = best.bound
    if small:
        whole = solve_cpsat(
            linear, effort=WHOLE * effort, seconds=left(), seed=seed, hint=best.values, level=2
        )
        best, bound = _better(best, whole), min(bound, whole.bound)
        if best.proven:
            return tell(best, bound, False)
    if large:
        parts, above = relaxed(linear, seconds=left(), seed=seed)
        bound = min(bound, above)
        if parts is not None:
            unused = [c.taken for ways in model.cocks for c in ways if parts[c.taken] < NONE]
            taken_up = solve_highs(linear, seconds=TAKEN_UP_SHARE * left(), seed=seed, nodes=1, closed=unused)
            best = _better(best, replace(taken_up, proven=False))
    best, hit = _windows(model, best, effort, left, seed)
    if not large:
        root = solve_highs(linear, seconds=left(), seed=seed, nodes=1)
        bound, hit = min(bound, root.bound), hit or root.stopped
        if root.values is not None and not hit:
            # From elsewhere the windows may come to a better end.
            root, hit = _windows(model, root, effort, left, seed)
        best = _better(best, root)
    return tell(replace(best, proven=False), bound, hit)


def _first(linear: Linear, *, large: bool, seconds: float, seed: int, start: Sequence[int] | None) -> Solved:
    """An answer found soon: the one to begin from, where it still holds."""
    began = time.monotonic()
    if start is not None and linear.holds(start):
        return Solved(tuple(start), linear.worth(start), inf, False, False, 0.0)
    if not large:
        first = solve_cpsat(linear, effort=FIRST, seconds=seconds, seed=seed, hint=start, level=0)
        if first.values is not None or first.proven or first.stopped:
            return first
    # So hard is any answer to find here that it alone is looked for, with more work.
    left = seconds - (time.monotonic() - began)
    found = solve_cpsat(linear, effort=FEASIBLE, seconds=left, seed=seed, any_answer=True, brief=large)
    return replace(found, proven=found.proven and found.values is None, bound=inf)


def _better(best: Solved, other: Solved) -> Solved:
    """The one that gains more; what is proven is never passed over."""
    return other if other.values is not None and (other.proven or other.gain > best.gain) else best


def _windows(
    model: Model, best: Solved, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """Every window in turn until none of any width helps; whether the clock ran out."""
    linear, offers, owners = model.linear, model.problem.offers, model.owners()
    days = sorted({offer.set_on for offer in offers})
    parts = Parts(linear)
    for ways in OPEN:
        width = max(round(ways * len(days) / max(len(offers), 1)), NARROWEST)
        helped = True
        while helped:
            helped = False
            for opened in _over(days, width):
                if left() <= 0.0:
                    return best, True
                assert best.values is not None
                free = [
                    v for v in range(len(linear.low)) if v not in owners or offers[owners[v]].set_on in opened
                ]
                part, own = parts.part(best.values, free)
                now = [best.values[v] for v in own]
                found = solve_cpsat(
                    part, effort=WINDOW * effort, seconds=left(), seed=seed, hint=now, level=2, brief=True
                )
                if found.values is None:
                    continue
                values = parts.whole(best.values, own, found.values)
                if (gain := linear.worth(values)) > best.gain:
                    best, helped = replace(best, values=values, gain=gain), True
    return best, False


def _over(days: Sequence[date], width: int) -> Iterator[frozenset[date]]:
    """Windows of so many days, each half over the one before."""
    for at in range(0, max(len(days) - width, 0) + 1, max(width // 2, 1)):
        yield frozenset(days[at : at + width])
