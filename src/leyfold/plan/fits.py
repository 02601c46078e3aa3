"""Sets no larger than one machine and one brooder take: none is ever parted over two."""

from __future__ import annotations

from dataclasses import replace

from leyfold.plan.brooding import trays_brooded
from leyfold.plan.problem import Problem
from leyfold.plan.sets import trays_hatched

__all__ = ["fitted"]


def fitted(problem: Problem) -> Problem:
    """The same problem with no more eggs on offer than any plan could take. A relaxation that lets a set
    stand half in one place and half in another then gains nothing by one that no place holds whole."""
    tray = problem.farm.planning.tray
    most = (min(trays_hatched(problem, o), trays_brooded(problem, o)) for o in range(len(problem.offers)))
    return replace(problem, eggs=tuple(tray * trays for trays in most))
