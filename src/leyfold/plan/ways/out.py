"""Ways out of a clash: which changes can open no plan, which do, and what the plan then earns."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned, Reason, WayOut
from leyfold.nouns.record import State
from leyfold.plan.answer import Answer
from leyfold.plan.build import build
from leyfold.plan.clash import OFFERS
from leyfold.plan.levels import Level, first_guess, least_guess
from leyfold.plan.problem import Problem
from leyfold.plan.ways.changes import Change, changes
from leyfold.plan.ways.lesser import lesser
from leyfold.plan.ways.needed import EXACT, Need, needed
from leyfold.plan.ways.tried import Found, Question, better, first, judged, walked
from leyfold.words import say

__all__ = ["SECONDS", "ways_out"]

SECONDS = 14.0
EACH_S = 2.0
"""What a first plan under one change may take."""
LESS_S = 4.0
"""What the most of a wish may take."""
PRICED_S = 4.0
"""Kept back for better plans, once there is one."""
WALK_S = 0.6
"""Kept back for each plan to be walked by the checker at the end."""
NOTHING = Need(None)


def ways_out(
    farm: Farm,
    state: State,
    plan: Plan,
    at: datetime,
    answer: Answer,
    *,
    seconds: float = SECONDS,
    seed: int = 0,
) -> tuple[WayOut, ...]:
    """What could be changed so that a plan fits where `answer` is a clash: changes that loosen a reason of
    it, each by as little as opens a plan, within `seconds`.

    First those are told apart that open none, since not even parts of sets and places would give one; then a
    plan is looked for under each of the others; what time is left goes into better plans, by which they are
    ranked. Verified ones come first, by the money of the plan they open less what they cost themselves; then
    those of which nobody knows yet; then those that open none.
    """
    assert isinstance(answer.outcome, Clash)
    if not answer.outcome.reasons:
        # Nobody knows that there is no plan.
        return ()
    work = _Work(Question(answer.problem, plan, state, at, seed), time.monotonic() + seconds)
    work.look(farm, answer.outcome.reasons, answer.levels, civil(at, farm.holding.zone))
    work.price()
    return tuple(sorted(work.told(), key=_order))


def _order(way: WayOut) -> tuple[bool, bool, bool, float, str]:
    net = (0.0 if way.planned is None else -way.planned.objective) + (way.costs or 0.0)
    return way.shut, not way.verified, way.costs is None, net, way.id


@dataclass(slots=True, eq=False)
class _Work:
    """What is known of each change so far."""

    ask: Question
    end: float
    found: list[Found] = field(default_factory=list)
    unknown: list[Change] = field(default_factory=list)
    shut: list[Change] = field(default_factory=list)

    def left(self) -> float:
        return self.end - time.monotonic() - WALK_S * len(self.found)

    def _at_most(self, seconds: float) -> Callable[[], float]:
        """The time left, and no more than some seconds from now on."""
        end = time.monotonic() + seconds
        return lambda: min(self.left(), end - time.monotonic())

    def look(self, farm: Farm, reasons: Sequence[Reason], levels: Mapping[Level, float], day: date) -> None:
        """Which changes open no plan, and a plan for each of the others."""
        needs = self._needs(farm, reasons)
        open_ = [group for group, need in needs.items() if need != NOTHING]
        wishes = [wish for wish in farm.wishes if f"wish:{wish.id}" in open_]
        for wish in wishes:
            self.found += lesser(self.ask, [wish], levels, left=self._at_most(LESS_S))
        if not self.found:
            # Less of one alone opens nothing, or nothing that was found: less of several does.
            self.found += lesser(self.ask, farm.wishes, levels, left=self._at_most(LESS_S))
        known = {group: need for group, need in needs.items() if need is not None}
        last = self.ask.problem.span.day(self.ask.problem.span.days - 1)
        queue = deque[_Next]()
        for family in changes(farm, self.ask.plan, open_, known, day, last):
            try:
                nearest = self._nearest(family) if family else None
            except BadInput:  # A price that nobody has named.
                self.unknown.append(family[0])
            else:
                queue += [] if nearest is None else [nearest]
        while queue:
            one = queue.popleft()
            again = self._tried(one, len(queue) + 1)
            if again is not None:
                queue.append(again)

    def _needs(self, farm: Farm, reasons: Sequence[Reason]) -> dict[str, Need | None]:
        """By how much each group must be loosened at the least; those that open nothing are shut."""
        problem, seed = self.ask.problem, self.ask.seed
        least, guess = (build(problem, levels(problem)).linear for levels in (least_guess, first_guess))
        needs: dict[str, Need | None] = {}
        known = {*EXACT, *least.groups()} - {OFFERS}  # What has no rows is no limit that could be loosened.
        for group, said in ((r.group, r.said) for r in reasons if r.group in known):
            need = needed(guess, group, seconds=EACH_S, seed=seed)
            if need in (None, NOTHING):
                need = needed(least, group, seconds=EACH_S, seed=seed)
            if need == NOTHING:
                said = say("ways.any", said=said)
                self.shut.append(Change(f"any:{group}", said, group, farm, self.ask.plan))
            needs[group] = need
        return needs

    def _nearest(self, family: Sequence[Change]) -> _Next | None:
        """The least of some changes, one more than the other, that is not certain to open no plan; None where
        all of them are, or the time is over."""
        if self.left() <= 0.0:
            self.unknown.append(family[0])
            return None

        def problem(i: int) -> Problem | None:
            return judged(self.ask, family[i], seconds=EACH_S)

        low, high = -1, len(family) - 1
        found = problem(0)
        if found is not None:
            return _Next(family, found)
        best = problem(high) if high else None
        if best is None:
            self.shut.append(family[high])
            return None
        low = 0
        while high - low > 1 and self.left() > 0.0:
            middle = (low + high) // 2
            found = problem(middle)
            low, high, best = (middle, high, best) if found is None else (low, middle, found)
        return _Next(family[high:], best)

    def _tried(self, one: _Next, among: int) -> _Next | None:
        """A first plan for a change; where none is found, and none for any other, the same change by more, to
        be tried later."""
        change, left = one.family[0], self.left() - PRICED_S * bool(self.found)
        if left <= 0.0:
            self.unknown.append(one.unknown)
            return None
        problem = one.problem or judged(self.ask, change, seconds=EACH_S)
        start = self.found[0].values if self.found and change.given_up else None
        seconds = min(left, max(EACH_S, left / among))
        found = None if problem is None else first(self.ask, change, problem, start, seconds=seconds)
        if found is not None:
            self.found.append(found)
        elif len(one.family) > 1 and not self.found:
            return _Next(one.family[1:], None, one.unknown)
        else:
            self.unknown.append(one.unknown)
        return None

    def price(self) -> None:
        """Better plans, in what time is left: what is found for one change is also tried for the others."""
        for i, one in enumerate(self.found):
            share = max(self.left(), 0.0) / (len(self.found) - i)
            self.found[i] = better(self.ask, one, self.found, seconds=share)
        self.found = [better(self.ask, one, self.found, seconds=0.0) for one in self.found]

    def told(self) -> Iterator[WayOut]:
        for one in self.found:
            yield _way(one.change, walked(self.ask, one))
        yield from (_way(change) for change in self.unknown)
        yield from (replace(_way(change), shut=True) for change in self.shut)


@dataclass(frozen=True, slots=True, eq=False)
class _Next:
    """A change to be tried, and the same by more after it. `problem`: that of the first, where it is made
    already; `first`: the least change that nobody has decided on."""

    family: Sequence[Change]
    problem: Problem | None
    first: Change | None = None

    @property
    def unknown(self) -> Change:
        return self.first or self.family[0]


def _way(change: Change, planned: Planned | None = None) -> WayOut:
    return WayOut(
        change.id, change.said, change.farm, change.costs, planned, planned is not None, change.guess
    )
