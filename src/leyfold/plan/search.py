"""The search for the best answer: a first one, the whole at once where it is small, the root of a branch-and-
cut tree where it is not, then window after window of sets opened while the others stay."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf

from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.solver import solve_cpsat, solve_highs

__all__ = ["search"]

FIRST, WINDOW, WHOLE = 0.2, 0.2, 0.5
"""Deterministic work for the first answer, for one window, and for the bound: a unit is some seconds."""
OPEN = (12, 20)
"""Ways of sets opened together, about: once over the year in narrow windows, once in wide ones."""
NARROWEST = 2
"""Set days, so that a set may move from one to the other."""
SMALL = 3000
"""Variables up to which the whole is tried at once: beyond, its relaxation alone takes too long."""
ROOT_SHARE = 0.7
"""Of the time left, what the root of the tree may take; the windows need the rest."""
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
        if best.values is not None and not best.proven:
            values = linear.spared(best.values)
            best = replace(best, values=values, gain=linear.worth(values))
        proven = best.proven or (best.values is not None and best.gain >= bound - 0.5)
        return replace(best, bound=bound, proven=proven, stopped=stopped, seconds=time.monotonic() - began)

    best = solve_cpsat(linear, effort=FIRST, seconds=left(), seed=seed, hint=start, level=0)
    if best.values is None and not best.proven and left() > 0.0:
        # Rarely is any answer so hard to find: then it alone is looked for, with more work.
        best = solve_cpsat(linear, effort=FEASIBLE, seconds=left(), seed=seed, any_answer=True)
        best = replace(best, proven=best.proven and best.values is None, bound=inf)
    if best.proven or best.values is None or effort <= 0.0:
        return tell(best, best.bound, best.stopped)
    bound = best.bound
    if len(linear.low) <= SMALL:
        whole = solve_cpsat(
            linear, effort=WHOLE * effort, seconds=left(), seed=seed, hint=best.values, level=2
        )
        best, bound = _better(best, whole), min(bound, whole.bound)
        if best.proven:
            return tell(best, bound, False)
    root = solve_highs(linear, seconds=ROOT_SHARE * left(), seed=seed, nodes=1)
    best, bound = _better(best, root), min(bound, root.bound)
    best, hit = _windows(model, best, effort, left, seed)
    return tell(replace(best, proven=False), bound, hit or root.stopped)


def _better(best: Solved, other: Solved) -> Solved:
    """The one that gains more; what is proven is never passed over."""
    return other if other.values is not None and (other.proven or other.gain > best.gain) else best


def _windows(
    model: Model, best: Solved, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """Every window in turn, over the year and once more in wider ones; whether the clock ran out."""
    offers = model.problem.offers
    days = sorted({offer.set_on for offer in offers})
    for ways in OPEN:
        width = max(round(ways * len(days) / max(len(offers), 1)), NARROWEST)
        for at in range(0, max(len(days) - width, 0) + 1, width // 2):
            if left() <= 0.0:
                return best, True
            opened = set(days[at : at + width])
            assert best.values is not None
            fixed = {
                choice.taken: best.values[choice.taken]
                for offer, choice in zip(offers, model.offers, strict=True)
                if offer.set_on not in opened
            }
            found = solve_cpsat(
                model.linear, effort=WINDOW * effort, seconds=left(), seed=seed, hint=best.values,
                fixed=fixed, level=2, brief=True,
            )  # fmt: skip
            if found.values is not None and found.gain > best.gain:
                best = found
    return best, False
