"""The search for the best answer: a first one, then window after window of sets opened while the others stay,
then the whole for what proof it gives. Work is counted, not timed, so that it comes out the same anywhere."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf

from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.solver import solve_cpsat

__all__ = ["search"]

FIRST, WINDOW, WHOLE = 0.2, 0.2, 0.5
"""Deterministic work for the first answer, for one window, and for the bound: a unit is some seconds."""
WIDTHS = ((6, 1), (10, 1))
"""Set days opened together, and how often over the whole year: narrow windows first, then wide ones."""
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

    def left() -> float:
        return seconds - (time.monotonic() - began)

    def tell(best: Solved, bound: float, stopped: bool) -> Solved:
        bound = min(bound, linear.ceiling())
        proven = best.proven or (best.values is not None and best.gain >= bound - 0.5)
        return replace(best, bound=bound, proven=proven, stopped=stopped, seconds=time.monotonic() - began)

    best = solve_cpsat(linear, effort=FIRST, seconds=left(), seed=seed, hint=start, level=0)
    if best.values is None and not best.proven and left() > 0.0:
        # Rarely is any answer so hard to find: then it alone is looked for, with more work.
        best = solve_cpsat(linear, effort=FEASIBLE, seconds=left(), seed=seed, any_answer=True)
        best = replace(best, proven=best.proven and best.values is None, bound=inf)
    if best.proven or best.values is None or effort <= 0.0:
        return tell(best, best.bound, best.stopped)
    whole = solve_cpsat(linear, effort=WHOLE * effort, seconds=left(), seed=seed, hint=best.values, level=2)
    if whole.values is not None and (whole.proven or whole.gain > best.gain):
        best = whole
    bound = min(best.bound, whole.bound)
    if best.proven:
        return tell(best, bound, False)
    best, hit = _windows(model, best, effort, left, seed)
    return tell(replace(best, proven=False), bound, hit or whole.stopped)


def _windows(
    model: Model, best: Solved, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """Every window in turn until a sweep over the year finds nothing better; whether the clock ran out."""
    days = sorted({offer.set_on for offer in model.problem.offers})
    for width, sweeps in WIDTHS:
        for _ in range(sweeps):
            before = best.gain
            for at in range(0, max(len(days) - width, 0) + 1, max(width // 2, 1)):
                if left() <= 0.0:
                    return best, True
                open_ = set(days[at : at + width])
                assert best.values is not None
                fixed = {
                    choice.taken: best.values[choice.taken]
                    for offer, choice in zip(model.problem.offers, model.offers, strict=True)
                    if offer.set_on not in open_
                }
                found = solve_cpsat(
                    model.linear,
                    effort=WINDOW * effort,
                    seconds=left(),
                    seed=seed,
                    hint=best.values,
                    fixed=fixed,
                    level=2,
                    brief=True,
                )
                if found.values is not None and found.gain > best.gain:
                    best = found
            if best.gain <= before:
                break
    return best, False
