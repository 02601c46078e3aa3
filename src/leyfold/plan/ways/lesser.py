"""Wishes for fewer, or with less of a chance: one plan that brings the most of a wish tells both."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import floor

from leyfold.nouns.draws import Draws
from leyfold.nouns.farm import Wish
from leyfold.plan.build import build
from leyfold.plan.carry import carried_over
from leyfold.plan.levels import Level, corrected, first_guess
from leyfold.plan.linear import Solved
from leyfold.plan.model import FINE, Model
from leyfold.plan.problem import Problem
from leyfold.plan.settled import Kept, looked_at
from leyfold.plan.share import sharing
from leyfold.plan.wanted import fixed_brings, reached
from leyfold.plan.ways.changes import Change, both, fewer, less_sure
from leyfold.plan.ways.near import nearest, wishing
from leyfold.plan.ways.tried import Found, Question, rewished
from leyfold.plan.written import taken_ways
from leyfold.season.chance import number_by
from leyfold.season.chances.whole import Number
from leyfold.season.draw import draw
from leyfold.season.wished import DRAWS, wish_chances

__all__ = ["lesser", "under"]

LEAST_CHANCE = 0.5
STEP = 0.05
"""Chances are spoken of in steps."""
EASY = 0.97
"""So much of the most that was found is spoken of: other plans, that earn more, then bring it too."""
SPARE = 0.01
"""What is let go of the most of a wish, for it to be found soon."""
FIRST_SHARE = 0.6
"""Of the time there is, for each but the last round."""
ROUNDS = 3
"""Most corrections of the levels of the other wishes."""


def lesser(
    ask: Question,
    wishes: Sequence[Wish],
    guesses: Sequence[Mapping[Level, float]],
    *,
    left: Callable[[], float],
    start: Sequence[int] | None = None,
    base: Change | None = None,
) -> Iterator[Found]:
    """The largest number of a wish that is found, or of several together, and of one alone the full number
    with the chance it then has: each with a plan. `guesses`: levels to try, one after another; `start`: a
    plan to begin from, which may miss the wishes altogether. `base`: a change that was made before, which is
    enough by itself where the plan then misses nothing."""
    spare = 0.0 if base else SPARE
    for guess in guesses:
        most = _most(ask, wishes, dict(guess), left, start, spare)
        if most is None:
            continue
        if ask.shared and not most[1].whole:
            ask, most = _together(ask, wishes, most, left, spare)
        yield from _told(ask, wishes, *most, base)
        return


def under(
    ask: Question,
    change: Change,
    model: Model,
    wishes: Sequence[Wish],
    start: Found | None,
    *,
    left: Callable[[], float],
) -> Found | None:
    """A plan under a change that misses some `wishes` by the least that was found, looked for from the plan
    of another change on: the change by itself where it then misses none, else with less of them besides.
    None where none was found in time."""
    there, values = replace(ask, model=model, plan=change.plan), None
    names = [wish.id for wish in wishes]
    wishes = [wish for wish in model.problem.farm.wishes if wish.id in names]
    levels = first_guess(model.problem)
    if start is not None:
        groups = [f"wish:{name}" for name in names]
        model = wishing(model, model.problem, levels)
        values = carried_over(start.model, start.values, model, but=groups, seconds=left(), seed=ask.seed)
    return next(lesser(there, wishes, [levels], left=left, start=values, base=change), None)


def _together(
    ask: Question,
    wishes: Sequence[Wish],
    most: tuple[Model, Kept],
    left: Callable[[], float],
    spare: float,
) -> tuple[Question, tuple[Model, Kept]]:
    """More still where sorted birds of the sets of that plan share shelters, with each other or others."""
    model, values = most[0], most[1].solved.values or ()
    taken = {o for o, _ in taken_ways(model, values)}
    problem = sharing(ask.problem, lambda one, other: one[0] in taken or other[0] in taken)
    if not problem.joins or left() <= 0.0:
        return ask, most
    levels, groups = first_guess(problem), [f"wish:{wish.id}" for wish in wishes]
    made = build(problem, levels)
    start = carried_over(model, values, made, but=groups, seconds=left(), seed=ask.seed)
    together = replace(ask, model=made, shared=False)
    more = None if start is None else _most(together, wishes, levels, left, start, spare)
    return (ask, most) if more is None else (together, more)


def _most(
    ask: Question,
    wishes: Sequence[Wish],
    levels: dict[Level, float],
    left: Callable[[], float],
    start: Sequence[int] | None,
    spare: float,
) -> tuple[Model, Kept] | None:
    """The plan that brings the most of some wishes, in which every other one has its chance."""
    names, best = [wish.id for wish in wishes], None
    groups = [f"wish:{name}" for name in names]
    for rounds in range(1, ROUNDS + 1):
        if left() <= 0.0:
            break
        # Another may be needed, and takes less, since it begins from what this one found.
        some = _share(left, FIRST_SHARE if rounds < ROUNDS else 1.0)
        model = wishing(ask.model, ask.problem, levels)
        found = nearest(model, groups, start=start, spare=spare, left=some, seed=ask.seed)
        if found is None:
            break
        start, shares = found
        values = model.linear.spared(start)
        solved = Solved(values, model.linear.worth(values), 0.0, False, False, 0.0)
        kept = looked_at(ask.problem, model, solved, levels, seed=ask.seed)
        raised = corrected(ask.problem, kept.completed, levels, kept.held, seed=ask.seed, loosen=False)
        if not any(row.short for row in kept.held if row.wish not in names):
            low = dict(levels)
            for wish, short in zip(wishes, shares, strict=True):
                low = _lowered(ask.problem, wish, low, short)
            best = model, replace(kept, levels=low)
            if kept.whole or any(shares):
                break
            levels = raised
        else:
            levels = {key: level if key[0] in names else raised[key] for key, level in levels.items()}
    return best


def _share(left: Callable[[], float], share: float) -> Callable[[], float]:
    """A share of the time left."""
    kept = (1.0 - share) * left()
    return lambda: left() - kept


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


def _told(
    ask: Question, wishes: Sequence[Wish], model: Model, kept: Kept, base: Change | None
) -> Iterator[Found]:
    brought = [_brought(ask, wish, model, kept) for wish in wishes]
    short = [one for one in brought if one.chance(one.wish.number) < one.wish.chance]
    farm, numbers = ask.problem.farm, {one.wish.id: floor(EASY * one.most()) for one in short}
    if base is not None and not numbers:
        yield Found(base, ask.problem, model, kept)
        return
    if base is not None and not all(numbers.values()):
        return  # Where nothing is left of a wish, to let it go would do by itself.
    changes = [fewer(farm, ask.plan, numbers)] if numbers else []
    if base is not None:
        changes = [both(base, change) for change in changes]
    elif len(wishes) == len(short) == 1:
        sure = round(STEP * floor(short[0].chance(wishes[0].number) / STEP + 1e-9), 4)
        if LEAST_CHANCE <= sure < wishes[0].chance:
            # Where nothing is sure enough, a lesser chance says more than to let the wish go.
            changes = changes if all(numbers.values()) else []
            changes.append(less_sure(farm, ask.plan, wishes[0], sure))
    yield from (found for change in changes if (found := _under(change, brought, ask, kept)))


def _under(change: Change, brought: Sequence[_Brought], ask: Question, kept: Kept) -> Found | None:
    """The plan as one under a change of the wishes, at levels that it keeps."""
    problem, levels, chances = rewished(ask.problem, change.farm), dict(kept.levels), dict[str, float]()
    for one in brought:
        wish = next(w for w in change.farm.wishes if w.id == one.wish.id)
        levels |= dict(one.levels(problem, wish))
        chances[wish.id] = one.chance(wish.number)
    made = wishing(ask.model, problem, levels)
    values = kept.solved.values or ()
    if not made.linear.holds(values):
        return None
    held = tuple(replace(row, chance=chances.get(row.wish, row.chance), short=False) for row in kept.held)
    solved = replace(kept.solved, gain=made.linear.worth(values))
    return Found(change, problem, made, Kept(solved, levels, kept.completed, held))
