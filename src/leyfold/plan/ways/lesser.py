"""Wishes for fewer, or with less of a chance: one plan that brings the most of a wish tells both."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import floor

from leyfold.nouns.draws import Draws
from leyfold.nouns.farm import Wish
from leyfold.plan.build import build
from leyfold.plan.levels import Level, corrected, first_guess
from leyfold.plan.linear import Solved
from leyfold.plan.model import FINE, Model
from leyfold.plan.problem import Problem
from leyfold.plan.settled import Kept, looked_at
from leyfold.plan.wanted import fixed_brings, reached
from leyfold.plan.ways.changes import Change, fewer, less_sure
from leyfold.plan.ways.needed import most_of
from leyfold.plan.ways.tried import Found, Question, rewished
from leyfold.season.chance import number_by
from leyfold.season.chances.whole import Number
from leyfold.season.draw import draw
from leyfold.season.wished import DRAWS, wish_chances

__all__ = ["lesser"]

LEAST_CHANCE = 0.5
STEP = 0.05
"""Chances are spoken of in steps."""
ROUNDS = 3
"""Most corrections of the levels of the other wishes."""


def lesser(
    ask: Question, wish: Wish, levels: Mapping[Level, float], *, left: Callable[[], float]
) -> Iterator[Found]:
    """The largest number of a wish that is found, and the full number with the chance it then has: each with
    a plan. `levels`: those at which the clash was found."""
    for guess in (first_guess(ask.problem), dict(levels)):
        most = _most(ask, wish, guess, left)
        if most is not None:
            yield from _told(ask, wish, *most)
            return


def _most(
    ask: Question, wish: Wish, levels: dict[Level, float], left: Callable[[], float]
) -> tuple[Model, Kept] | None:
    """The plan that brings the most of a wish, in which every other one has its chance."""
    for _ in range(ROUNDS):
        if left() <= 0.0:
            return None
        model = build(ask.problem, levels)
        found = most_of(model.linear, f"wish:{wish.id}", seconds=left(), seed=ask.seed)
        if found is None:
            return None
        values, short = model.linear.spared(found[0]), found[1]
        solved = Solved(values, model.linear.worth(values), 0.0, False, False, 0.0)
        kept = looked_at(ask.problem, model, solved, levels, seed=ask.seed)
        if not any(row.short for row in kept.held if row.wish != wish.id):
            return model, replace(kept, levels=_lowered(ask.problem, wish, levels, short))
        raised = corrected(ask.problem, kept.completed, levels, kept.held, seed=ask.seed, loosen=False)
        levels = {key: level if key[0] == wish.id else raised[key] for key, level in levels.items()}
    return None


def _lowered(problem: Problem, wish: Wish, levels: Mapping[Level, float], short: float) -> dict[Level, float]:
    """The levels of a wish less the share that is missed of what birds that are there do not bring."""
    found = dict(levels)
    for day, _ in problem.wanted(wish):
        there = fixed_brings(problem, wish, problem.span.index(day))
        found[wish.id, day] -= max(found[wish.id, day] - there, 0.0) * short + 1.0 / FINE
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Brought:
    """What a plan brings of one wish: birds by each of its days, or eggs as they were drawn."""

    ask: Question
    wish: Wish
    model: Model
    kept: Kept
    birds: Mapping[date, Number]
    draws: Draws | None

    def chance(self, number: int) -> float:
        """Of the wish for so many."""
        if self.draws is None:
            asked = self.ask.problem.wanted(replace(self.wish, number=number))
            return min(self.birds[day].at_least(many) for day, many in asked)
        farm = replace(self.ask.problem.farm, wishes=(replace(self.wish, number=number),))
        return wish_chances(farm, self.kept.completed, self.draws, seed=self.ask.seed)[0].chance

    def most(self) -> int:
        """The largest number that has the chance wished for."""
        low, high = 0, self.wish.number
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self.chance(middle) >= self.wish.chance else (low, middle)
        return low

    def under(self, change: Change) -> Found | None:
        """The plan as one under a change of the wish, at levels that it keeps."""
        problem = rewished(self.ask.problem, change.farm)
        now = next(w for w in change.farm.wishes if w.id == self.wish.id)
        values, guess = self.kept.solved.values or (), first_guess(problem)
        levels = dict(self.kept.levels)
        for day, number in problem.wanted(now):
            if self.draws is None:
                birds = self.birds[day]
                need = number + birds.mean - birds.safe(now.chance)
                most = reached(self.model, values, now, day)
            else:
                need, most = guess[now.id, day], levels[now.id, day]
            levels[now.id, day] = min(need, most)
        model = build(problem, levels)
        if not model.linear.holds(values):
            return None
        chance = self.chance(now.number)
        held = tuple(
            replace(row, chance=chance, short=chance < now.chance) if row.wish == now.id else row
            for row in self.kept.held
        )
        solved = replace(self.kept.solved, gain=model.linear.worth(values))
        return Found(change, problem, model, Kept(solved, levels, self.kept.completed, held))


def _told(ask: Question, wish: Wish, model: Model, kept: Kept) -> Iterator[Found]:
    problem, birds, draws = ask.problem, dict[date, Number](), None
    if wish.what == "eggs a day":
        draws = draw(problem.farm, kept.completed, n=DRAWS, seed=ask.seed)
    else:
        birds = {
            day: number_by(problem.farm, kept.completed, wish.what, day, line=wish.line, aged_d=wish.aged_d)
            for day, _ in problem.wanted(wish)
        }
    brought = _Brought(ask, wish, model, kept, birds, draws)
    most = brought.most()
    changes = [fewer(problem.farm, ask.plan, wish, most)] if most else []
    sure = round(STEP * floor(brought.chance(wish.number) / STEP + 1e-9), 4)
    if LEAST_CHANCE <= sure < wish.chance:
        changes.append(less_sure(problem.farm, ask.plan, wish, sure))
    yield from (found for change in changes if (found := brought.under(change)) is not None)
