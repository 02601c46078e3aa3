"""How high the mean must be for a wish to be kept at its chance: guessed, then corrected by the exact sum."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import sqrt
from statistics import NormalDist

from leyfold.nouns.draws import WishChance
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Plan
from leyfold.plan.problem import WEEK, Problem
from leyfold.season.chance import number_by
from leyfold.season.draw import draw
from leyfold.season.wished import DRAWS, wish_chances

__all__ = ["Level", "chances", "corrected", "first_guess", "least_guess"]

Level = tuple[str, date]

SETS_GUESSED = 3
EGG_SPREAD = 0.06
"""Spread of a week's eggs about their mean, over which a first guess of a wish for eggs is made: a guess."""
EGG_STEP = 1.002
"""A level of eggs that missed is raised a little more than the miss: the next plan has other weeks."""


def first_guess(problem: Problem) -> dict[Level, float]:
    """The number wished and what chance asks on top, as if it came out of a few sets of equal size."""
    return {
        (wish.id, day): _guess(problem.farm, wish, number)
        for wish in problem.farm.wishes
        for day, number in problem.wanted(wish)
    }


def least_guess(problem: Problem) -> dict[Level, float]:
    """The number wished alone: with less on average no wish of an even chance or better is kept."""
    return {
        (wish.id, day): number * (WEEK if wish.what == "eggs a day" else 1) * min(2.0 * wish.chance, 1.0)
        for wish in problem.farm.wishes
        for day, number in problem.wanted(wish)
    }


def _guess(farm: Farm, wish: Wish, number: int) -> float:
    z = NormalDist().inv_cdf(min(max(wish.chance, 0.001), 0.9999))
    if wish.what == "eggs a day":
        return WEEK * number * (1.0 + max(z, 0.0) * EGG_SPREAD)
    line = farm.lines[wish.line] if wish.line else next(iter(farm.lines.values()))
    rate = line.fertility.value * line.hatch_of_fertile.value
    eggs = 2.0 * number / max(rate, 0.05) / SETS_GUESSED
    steady = line.hatch_concentration.value
    chicks = SETS_GUESSED * eggs * rate * (1 - rate) * (steady + eggs) / (steady + 1)
    return number + max(z, 0.0) * sqrt(chicks / 4 + number / 2)


def chances(problem: Problem, completed: Plan, *, seed: int) -> tuple[WishChance, ...]:
    """The chance of each wish under a completed plan."""
    return wish_chances(problem.farm, completed, seed=seed)


def corrected(
    problem: Problem,
    completed: Plan,
    levels: Mapping[Level, float],
    held: tuple[WishChance, ...],
    *,
    seed: int,
    loosen: bool,
) -> dict[Level, float]:
    """Levels moved by what this plan's exact numbers say: the number wished, and as much as the mean stands
    above the number that is reached at the chance. Only upwards, unless `loosen`."""
    found = dict(levels)
    for wish, row in zip(problem.farm.wishes, held, strict=True):
        if wish.what == "eggs a day":
            if row.chance < wish.chance:
                _raise_eggs(problem, completed, wish, found, seed)
            continue
        for day, number in problem.wanted(wish):
            birds = number_by(problem.farm, completed, wish.what, day, line=wish.line, aged_d=wish.aged_d)
            level = number + birds.mean - birds.safe(wish.chance)
            missed = birds.at_least(number) < wish.chance
            if missed:
                # The mean of the plan reached its level and yet missed: what it asks must grow.
                level = max(level, found[wish.id, day] + 0.25)
            found[wish.id, day] = level if loosen or missed else max(level, found[wish.id, day])
    return found


def _raise_eggs(problem: Problem, completed: Plan, wish: Wish, levels: dict[Level, float], seed: int) -> None:
    """Every week by the share that the lowest one was short of, at the chance."""
    import numpy as np

    draws = draw(problem.farm, completed, n=DRAWS, seed=seed)
    laid = np.cumsum(np.pad(draws.eggs.astype(float), ((0, 0), (1, 0))), axis=1)
    days = [problem.span.index(day) for day, _ in problem.wanted(wish)]
    weeks = laid[:, min(days) + WEEK : max(days) + WEEK + 1] - laid[:, min(days) : max(days) + 1]
    lowest = weeks.min(axis=1) / WEEK
    reached = float(np.quantile(lowest, 1.0 - wish.chance))
    short = max(wish.number / max(reached, 0.01), 1.0) * EGG_STEP
    for day, _ in problem.wanted(wish):
        levels[wish.id, day] *= min(short, 1.5)
