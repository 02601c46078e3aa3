"""A good answer made better: some sets opened for change while the others stay, one opening after another."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date
from math import inf
from typing import NamedTuple

from leyfold.plan.linear import Solved
from leyfold.plan.model import Model
from leyfold.plan.part import Parts
from leyfold.plan.solver import solve_cpsat

__all__ = ["forced_away", "improved", "in_windows"]

WINDOW, PAIR, SHAKEN = 0.1, 0.1, 0.3
"""Deterministic work for one window, one pair, and for an answer that does without a set."""
WIDTHS = (12, 18, 27)
"""Ways of sets opened together in a window, about."""
NARROWEST = 2
"""Set days of a window, so that a set may move from one to the other."""
APART = (1, 2)
"""Of the sets taken up, in the order of their days, each is opened with the next, then with the one after."""
NEAR = 3
"""Set days by which a set of a pair may move."""
BESIDE = 10
"""Set days on each side of a pair within which other sets may change in size and place."""
TOGETHER = 2
"""Openings solved at once, on any machine: how many decides which answer is found."""


class Opened(NamedTuple):
    """Days whose sets may come and go; days whose sets stay, but may change in size and place; how much work
    it is worth."""

    free: frozenset[date]
    change: frozenset[date]
    work: float


Openings = Callable[[Sequence[int]], Iterator[Opened]]
"""Openings about an answer, one after another."""


def improved(
    model: Model, starts: Sequence[Solved], *, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """The best answer found by looking about the first of `starts`, or about a later one that is better than
    what came of it; whether the clock ran out.

    Windows of set days, in which all is open, find what sets there should be; pairs of sets, with the size
    and the places of all around them, how they stand best together.
    """
    with ThreadPoolExecutor(TOGETHER) as pool:
        look = _Look(model, effort, left, seed, pool)
        kinds = look.kinds()
        best = _climbed(look, starts[0], kinds)
        for start in starts[1:]:
            best = _climbed(look, start, kinds) if start.gain > best.gain else best
    return best, left() <= 0.0


def forced_away(
    model: Model, best: Solved, *, effort: float, left: Callable[[], float], seed: int
) -> tuple[Solved, bool]:
    """The best answer found by forcing each set of an answer away in turn, and improving what comes of that:
    the only way out of one that is best among all near it. And whether the clock ran out."""
    with ThreadPoolExecutor(TOGETHER) as pool:
        look = _Look(model, effort, left, seed, pool)
        near, pairs = look.kinds()[:2]
        tried = set[int]()
        while left() > 0.0 and (offer := look.unshaken(best, tried)) is not None:
            tried.add(offer)
            other = look.without(best, offer)
            if other is not None and (other := _climbed(look, other, [pairs])).gain > best.gain:
                best = _climbed(look, other, [pairs, near])
    return best, left() <= 0.0


def in_windows(
    model: Model, best: Solved, *, enough: float, effort: float, left: Callable[[], float], seed: int
) -> Solved:
    """The best answer found by the wider windows alone, one after another, or one that gains `enough`."""
    with ThreadPoolExecutor(1) as pool:
        look = _Look(model, effort, left, seed, pool, together=1)
        return _climbed(look, best, list(map(look.windows, WIDTHS[1:])), enough)


def _climbed(look: _Look, best: Solved, kinds: Sequence[Openings], enough: float = inf) -> Solved:
    """The answer at which no opening of any kind helps, or one that gains `enough`; after a later kind that
    helped the first comes again."""
    kind = 0
    while kind < len(kinds):
        helped = False
        assert best.values is not None
        for opened in _side_by_side(kinds[kind](best.values), look.together):
            if best.gain >= enough or look.left() <= 0.0:
                return best
            found = look.about(best, opened)
            helped, best = helped or found is not best, found
        kind = 0 if helped and kind else kind + (not helped)
    return best


def _side_by_side(openings: Iterator[Opened], together: int) -> Iterator[Sequence[Opened]]:
    """Openings to be solved at once, as far apart in the year as can be, so that what helps one seldom stands
    in the way of another."""
    every = list(openings)
    apart = -(-len(every) // together)
    return (every[at::apart] for at in range(apart))


@dataclass(slots=True, eq=False)
class _Look:
    model: Model
    effort: float
    left: Callable[[], float]
    seed: int
    pool: Executor
    together: int = TOGETHER
    """Openings solved at once."""
    parts: Parts = field(init=False)
    by_day: dict[date, list[int]] = field(init=False)
    """Variables of the sets of a day."""
    owners: dict[int, int] = field(init=False)
    """The offer of each variable that belongs to one."""
    common: list[int] = field(init=False)
    """Variables of no set: places in use, old hens' leaving."""
    days: list[date] = field(init=False)
    seen: dict[Opened, tuple[int, ...]] = field(default_factory=dict)
    """The answer about which an opening did not help."""

    def __post_init__(self) -> None:
        linear, self.owners, self.by_day = self.model.linear, self.model.owners(), {}
        self.parts = Parts(linear)
        for v, o in self.owners.items():
            self.by_day.setdefault(self.model.problem.offers[o].set_on, []).append(v)
        self.days = sorted(self.by_day)
        self.common = [v for v in range(len(linear.low)) if v not in self.owners]

    def about(self, best: Solved, openings: Sequence[Opened]) -> Solved:
        """The best answer of all that some openings change, of one of them where they stand in each other's
        way, or the same where nothing better is found in any."""
        found = list(self.pool.map(lambda opened: self._in_one(best, opened), openings))
        better = max(found, key=lambda answer: answer.gain)
        changed = {v: x for f in found for v, x in _changes(best, f)}
        assert better.values is not None
        both = tuple(changed.get(v, x) for v, x in enumerate(better.values))
        if (gain := self.model.linear.worth(both)) > better.gain and self.model.linear.holds(both):
            return replace(better, values=both, gain=gain)
        return better

    def _in_one(self, best: Solved, opened: Opened) -> Solved:
        """The best answer of an opening, or the same where nothing better is found in it."""
        values, linear = best.values, self.model.linear
        assert values is not None
        if self.seen.get(opened) == values:
            return best
        part, own = self.parts.part(values, self._free(values, opened))
        now = [values[v] for v in own]
        work = opened.work * self.effort
        found = solve_cpsat(
            part, effort=work, seconds=self.left(), seed=self.seed, hint=now, level=2, brief=True
        )
        if found.values is not None:
            whole = self.parts.whole(values, own, found.values)
            if (gain := linear.worth(whole)) > best.gain:
                return replace(best, values=whole, gain=gain)
        self.seen[opened] = values
        return best

    def _free(self, values: Sequence[int], opened: Opened) -> set[int]:
        free = {*self.common, *(v for day in opened.free for v in self.by_day[day])}
        for v in (v for day in opened.change for v in self.by_day[day]):
            taken = self.model.offers[self.owners[v]].taken
            if values[taken] and v != taken:
                free.add(v)
        return free

    def without(self, best: Solved, offer: int) -> Solved | None:
        """The best answer found near one that does without an offer it takes up."""
        values, linear = best.values, self.model.linear
        assert values is not None
        at = self.days.index(self.model.problem.offers[offer].set_on)
        rest = list(values)
        rest[taken := self.model.offers[offer].taken] = 0
        part, own = self.parts.part(rest, self._free(rest, self._opened(at, at)) - {taken})
        work = SHAKEN * self.effort
        found = solve_cpsat(part, effort=work, seconds=self.left(), seed=self.seed, level=2, brief=True)
        if found.values is None:
            return None
        whole = self.parts.whole(rest, own, found.values)
        return replace(best, values=whole, gain=linear.worth(whole))

    def unshaken(self, best: Solved, tried: Collection[int]) -> int | None:
        """The first offer taken up that was not yet forced away."""
        assert best.values is not None
        taken = (o for o, choice in enumerate(self.model.offers) if best.values[choice.taken])
        return next((o for o in taken if o not in tried), None)

    def kinds(self) -> list[Openings]:
        """Openings, in the order in which they are tried."""
        first, *wider = map(self.windows, WIDTHS)
        return [first, *map(self.pairs, APART), *wider]

    def windows(self, ways: int) -> Openings:
        """Windows of about so many ways of sets, each half over the one before."""
        width = max(round(ways * len(self.days) / max(len(self.model.offers), 1)), NARROWEST)

        def over(_: Sequence[int]) -> Iterator[Opened]:
            for at in range(0, max(len(self.days) - width, 0) + 1, max(width // 2, 1)):
                yield Opened(frozenset(self.days[at : at + width]), frozenset(), WINDOW)

        return over

    def pairs(self, apart: int) -> Openings:
        """Days near two of the sets taken up, and those beside them."""
        offers = self.model.problem.offers

        def around(values: Sequence[int]) -> Iterator[Opened]:
            on = {offers[o].set_on for o, choice in enumerate(self.model.offers) if values[choice.taken]}
            taken = [at for at, day in enumerate(self.days) if day in on]
            for one, other in zip(taken, taken[apart:], strict=False):
                yield self._opened(one, other)

        return around

    def _opened(self, one: int, other: int) -> Opened:
        near = {day for at in (one, other) for day in self._between(at, at, NEAR)}
        return Opened(frozenset(near), frozenset({*self._between(one, other, BESIDE)} - near), PAIR)

    def _between(self, first: int, last: int, more: int) -> list[date]:
        return self.days[max(first - more, 0) : last + more + 1]


def _changes(before: Solved, after: Solved) -> Iterator[tuple[int, int]]:
    """What an answer changed: variable and value."""
    assert before.values is not None
    assert after.values is not None
    return ((v, x) for v, (was, x) in enumerate(zip(before.values, after.values, strict=True)) if was != x)
