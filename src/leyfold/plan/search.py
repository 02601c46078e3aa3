"""The search for the best answer: a first one, then window after window of sets opened while the others stay,
then the whole for what proof it gives. Work is counted, not timed, so that it comes out the same anywhere."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.solver import solve_cpsat

__all__ = ["search"]

FIRST, WINDOW, WHOLE = 0.6, 0.3, 0.6
"""Deterministic work for the first answer, for one window, and for the bound."""
WIDTHS = (8, 14)
"""Set days opened together, in rounds: from narrow windows to wide ones."""
SWEEPS = 3


def search(
    model: Model, *, effort: float, seconds: float, seed: int, start: Sequence[int] | None = None
) -> Solved:
    """The best answer found with `effort` times the usual work, and a bound on any. `start`: an answer of a
    like model to begin from."""
    began = time.monotonic()

    def left() -> float:
        return seconds - (time.monotonic() - began)

    def tell(best: Solved, bound: float, stopped: bool) -> Solved:
        proven = best.proven or (best.values is not None and best.gain >= bound - 0.5)
        return replace(best, bound=bound, proven=proven, stopped=stopped, seconds=time.monotonic() - began)

    linear = model.linear
    best = solve_cpsat(linear, effort=FIRST * effort, seconds=left(), seed=seed, hint=start, level=0)
    if best.proven:
        return best
    whole = solve_cpsat(linear, effort=WHOLE * effort, seconds=left(), seed=seed, hint=best.values, level=2)
    stopped = best.stopped or whole.stopped
    if whole.proven:
        return whole
    if whole.values is not None and (best.values is None or whole.gain > best.gain):
        best = whole
    if best.values is None:
        return tell(best, whole.bound, stopped)
    best, hit = _windows(model, best, effort, left, seed)
    return tell(best, whole.bound, stopped or hit)


def _windows(
    model: Model, best: Solved, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """Every window in turn until a sweep over the year finds nothing better; whether the clock ran out."""
    days = sorted({offer.set_on for offer in model.problem.offers})
    for width in WIDTHS:
        for _ in range(SWEEPS):
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
                )
                if found.values is not None and found.gain > best.gain:
                    best = found
            if best.gain <= before:
                break
    return best, False
