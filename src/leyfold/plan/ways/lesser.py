"""Wishes for fewer, or with less of a chance: one plan that brings the most of a wish tells both."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
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
from leyfold.plan.search import search
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
EASY = 0.97
"""So much of the most that was found is spoken of: other plans, that earn more, then bring it too."""
ROUNDS = 3
"""Most corrections of the levels of the other wishes."""


def lesser(
    ask: Question, wishes: Sequence[Wish], levels: Mapping[Level, float], *, left: Callable[[], float]
) -> Iterator[Found]:
    """The largest number of a wish that is found, or of several together, and of one alone the full number
    with the chance it then has: each with a plan. `levels`: those at which the clash was found."""
    for guess in (first_guess(ask.problem), dict(levels)):
        most = _most(ask, wishes, guess, left)
        if most is not None:
            yield from _told(ask, wishes, *most)
            return


def _most(
    ask: Question, wishes: Sequence[Wish], levels: dict[Level, float], left: Callable[[], float]
) -> tuple[Model, Kept] | None:
    """The plan that brings the most of some wishes, in which every other one has its chance."""
    names = [wish.id for wish in wishes]
    for _ in range(ROUNDS):
        if left() <= 0.0:
            return None
        model = build(ask.problem, levels)
        groups = [f"wish:{name}" for name in names]
        found = most_of(model.linear, groups, seconds=left(), seed=ask.seed)
        if found is None and (hint := _without(ask, names, levels, left)) is not None:
            found = most_of(model.linear, groups, seconds=left(), seed=ask.seed, hint=hint)
        if found is None:
            return None
        values, shares = model.linear.spared(found[0]), found[1]
        solved = Solved(values, model.linear.worth(values), 0.0, False, False, 0.0)
        kept = looked_at(ask.problem, model, solved, levels, seed=ask.seed)
        if not any(row.short for row in kept.held if row.wish not in names):
            for wish, short in zip(wishes, shares, strict=True):
                levels = _lowered(ask.problem, wish, levels, short)
            return model, replace(kept, levels=levels)
        raised = corrected(ask.problem, kept.completed, levels, kept.held, seed=ask.seed, loosen=False)
        levels = {key: level if key[0] in names else raised[key] for key, level in levels.items()}
    return None


def _without(
    ask: Question, names: Sequence[str], levels: Mapping[Level, float], left: Callable[[], float]
) -> tuple[int, ...] | None:
    """An answer that leaves some wishes alone."""
    rest = tuple(wish for wish in ask.problem.farm.wishes if wish.id not in names)
    model = build(rewished(ask.problem, replace(ask.problem.farm, wishes=rest)), levels)
    return search(model, effort=0.0, seconds=max(left(), 0.1), seed=ask.seed).values


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

    def levels(self, problem: Problem, wish: Wish) -> Iterator[tuple[Level, float]]:
        """Levels of the wish as it is now that the plan keeps, with something to spare for other plans."""
        guess, values = first_guess(problem), self.kept.solved.values or ()
        for day, number in problem.wanted(wish):
            if self.draws is None:
                birds = self.birds[day]
                need = max(number + birds.mean - birds.safe(wish.chance), guess[wish.id, day])
                most = reached(self.model, values, wish, day)
            else:
                need, most = guess[wish.id, day], self.kept.levels[wish.id, day]
            yield (wish.id, day), min(need, most)


def _brought(ask: Question, wish: Wish, model: Model, kept: Kept) -> _Brought:
    problem, birds, draws = ask.problem, dict[date, Number](), None
    if wish.what == "eggs a day":
        draws = draw(problem.farm, kept.completed, n=DRAWS, seed=ask.seed)
    else:
        birds = {
            day: number_by(problem.farm, kept.completed, wish.what, day, line=wish.line, aged_d=wish.aged_d)
            for day, _ in problem.wanted(wish)
        }
    return _Brought(ask, wish, model, kept, birds, draws)


def _told(ask: Question, wishes: Sequence[Wish], model: Model, kept: Kept) -> Iterator[Found]:
    brought = [_brought(ask, wish, model, kept) for wish in wishes]
    short = [one for one in brought if one.chance(one.wish.number) < one.wish.chance]
    farm, numbers = ask.problem.farm, {one.wish.id: floor(EASY * one.most()) for one in short}
    changes = [fewer(farm, ask.plan, numbers)] if numbers else []
    if len(wishes) == len(short) == 1:
        sure = round(STEP * floor(short[0].chance(wishes[0].number) / STEP + 1e-9), 4)
        if LEAST_CHANCE <= sure < wishes[0].chance:
            changes.append(less_sure(farm, ask.plan, wishes[0], sure))
    yield from (found for change in changes if (found := _under(change, brought, ask, kept)))


def _under(change: Change, brought: Sequence[_Brought], ask: Question, kept: Kept) -> Found | None:
    """The plan as one under a change of the wishes, at levels that it keeps."""
    problem, levels, chances = rewished(ask.problem, change.farm), dict(kept.levels), dict[str, float]()
    for one in brought:
        wish = next(w for w in change.farm.wishes if w.id == one.wish.id)
        levels |= dict(one.levels(problem, wish))
        chances[wish.id] = one.chance(wish.number)
    made = build(problem, levels)
    values = kept.solved.values or ()
    if not made.linear.holds(values):
        return None
    held = tuple(replace(row, chance=chances.get(row.wish, row.chance), short=False) for row in kept.held)
    solved = replace(kept.solved, gain=made.linear.worth(values))
    return Found(change, problem, made, Kept(solved, levels, kept.completed, held))
