"""Small problems settled for good: birds are asked for at the least that any plan needs, and each answer that
misses a wish shuts itself out, with all that have no more eggs in the same sets.

What a mean must be for a wish to be kept hangs on the plan: two sets are surer than one. A level that one
plan needs is too high for another, so that what is best at a level need not be best of all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from math import inf

from leyfold.nouns.draws import WishChance
from leyfold.nouns.farm import Wish
from leyfold.nouns.plan import Plan
from leyfold.plan.build import build
from leyfold.plan.levels import Level, chances, corrected
from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.problem import Problem
from leyfold.plan.search import SMALL, search
from leyfold.plan.wanted import brought, reached
from leyfold.plan.written import chosen_plan, taken_ways
from leyfold.season.chance import Counting
from leyfold.season.complete import complete

__all__ = ["Kept", "looked_at", "settle"]

TRIES = 60
"""Most answers that are looked at: a small farm needs some ten."""
EFFORT = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """An answer, the levels it was found at, the plan it stands for, completed, and how sure each wish is in
    it."""

    solved: Solved
    levels: Mapping[Level, float]
    completed: Plan
    held: tuple[WishChance, ...]

    @property
    def whole(self) -> bool:
        """Whether every wish is kept at its chance."""
        return not any(row.short for row in self.held)


def looked_at(
    problem: Problem, model: Model, solved: Solved, levels: Mapping[Level, float], *, seed: int
) -> Kept:
    """An answer with the exact chances of its plan."""
    completed = complete(problem.farm, chosen_plan(model, solved.values or ()))
    return Kept(solved, levels, completed, chances(problem, completed, seed=seed))


def settle(
    problem: Problem,
    levels: Mapping[Level, float],
    best: Kept | None,
    *,
    left: Callable[[], float],
    seed: int,
) -> tuple[Kept | None, float | None, bool]:
    """The best of all plans, whatever their means, from `best` on, and a bound on every one of them; None for
    a bound where the problem is no small one, or was not settled at its levels either. Eggs a day stay at
    their `levels`. And whether the clock ran out.
    """
    birds = [wish for wish in problem.farm.wishes if wish.what != "eggs a day"]
    if not birds or (best is not None and not best.solved.proven):
        return best, None, False
    low = {**levels, **_least(problem, birds)}
    model = build(problem, low)
    if len(model.linear.low) > SMALL:
        return best, None, False
    shut, bound = _Shut(model, len(model.linear.low)), inf
    for _ in range(TRIES):
        start = shut.fitted(best.solved.values or ()) if best else None
        found = search(model, effort=EFFORT, seconds=left(), seed=seed, start=start)
        if found.values is None:
            return best, -inf if found.proven else bound, found.stopped
        bound = min(bound, found.bound)
        if best is not None and found.gain <= best.solved.gain:
            return best, bound, found.stopped
        tried = looked_at(problem, model, found, low, seed=seed)
        if tried.whole:
            best = _by_itself(problem, tried, shut, seed)
        if not found.proven or tried.whole or not shut.out(tried, birds):
            return best, bound, found.stopped
    return best, bound, False


def _by_itself(problem: Problem, kept: Kept, shut: _Shut, seed: int) -> Kept:
    """An answer without the variables that shut others out, at the levels that it needs itself."""
    values = (kept.solved.values or ())[: shut.own]
    needs = corrected(problem, kept.completed, kept.levels, kept.held, seed=seed, loosen=True)
    for wish in problem.farm.wishes:
        for day, _ in problem.wanted(wish) if wish.what != "eggs a day" else ():
            needs[wish.id, day] = min(needs[wish.id, day], reached(shut.model, values, wish, day))
    return replace(kept, solved=replace(kept.solved, values=values), levels=needs)


def _least(problem: Problem, birds: Sequence[Wish]) -> dict[Level, float]:
    """What no mean may be under: of a number never below 0, the chance of n or more is at most mean / n
    (Markov)."""
    return {(wish.id, day): wish.chance * number for wish in birds for day, number in problem.wanted(wish)}


@dataclass(slots=True)
class _Shut:
    """Rows that shut out answers which miss a wish, and the variables these rows needed."""

    model: Model
    own: int
    """Variables of the model itself."""
    more: dict[tuple[int, int], int] = field(default_factory=dict)
    """By variable of trays and a number: the variable that is 1 only with so many trays or more."""

    def fitted(self, values: Sequence[int]) -> tuple[int, ...]:
        """An answer of the model as it was, with the new variables."""
        return (*values[: self.own], *(int(values[trays] >= least) for trays, least in self.more))

    def out(self, kept: Kept, birds: Sequence[Wish]) -> bool:
        """Shut out an answer that misses; False where no wish for birds is missed."""
        p, values = self.model.problem, kept.solved.values or ()
        new = kept.completed.batches[len(p.plan.batches) :]
        at_work = dict(zip((batch.id for batch in new), taken_ways(self.model, values), strict=True))
        missed = False
        for wish in birds:
            assert wish.what != "eggs a day"
            for day, number in p.wanted(wish):
                counting = Counting(
                    p.farm, kept.completed, wish.what, day, line=wish.line, aged_d=wish.aged_d
                )
                eggs = {b.id: b.eggs for b in counting.batches if b.id in at_work and b.eggs}
                if not self._misses(counting, eggs, wish, number):
                    continue
                missed = True
                for first in eggs or {"": 0}:
                    raised = self._raised(counting, eggs, first, at_work, wish, number)
                    self._row(wish, day, {at_work[name]: n for name, n in raised.items()})
        return missed

    def _misses(self, counting: Counting, eggs: Mapping[str, int], wish: Wish, number: int) -> bool:
        return counting.number(eggs).at_least(number) < wish.chance

    def _raised(
        self,
        counting: Counting,
        eggs: Mapping[str, int],
        first: str,
        at_work: Mapping[str, tuple[int, int]],
        wish: Wish,
        number: int,
    ) -> dict[str, int]:
        """As many eggs in each set as still miss the wish, in the set `first` before the others: who has no
        more than these in any misses it too."""
        found = dict(eggs)
        for name in sorted(found, key=lambda n: n != first):
            low, high = found[name] // self.model.tray, self.model.most[at_work[name][0]]
            while low < high:
                middle = (low + high + 1) // 2
                if self._misses(counting, {**found, name: middle * self.model.tray}, wish, number):
                    low = middle
                else:
                    high = middle - 1
            found[name] = low * self.model.tray
        return found

    def _row(self, wish: Wish, day: date, eggs: Mapping[tuple[int, int], int]) -> None:
        """One row: one of these ways has more trays, or some other is taken that brings birds of the wish."""
        m, linear = self.model, self.model.linear
        escapes = set[int]()
        for o in range(len(m.offers)):
            for w, choice, each in brought(m, wish, o, day):
                trays = next((n // m.tray for (x, y), n in eggs.items() if x == o and w in (None, y)), 0)
                if each > 0 and trays < m.most[o]:
                    escapes.add(self._more(choice.trays, trays + 1) if trays else choice.taken)
        linear.row(dict.fromkeys(escapes, 1), least=1, group=f"wish:{wish.id}")

    def _more(self, trays: int, least: int) -> int:
        if (trays, least) not in self.more:
            variable = self.model.linear.number(1)
            self.model.linear.row({trays: 1, variable: -least}, least=0)
            self.more[trays, least] = variable
        return self.more[trays, least]
