"""Ways out of a clash: which changes can open no plan, which do, and what the plan then earns."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned, Reason, WayOut
from leyfold.nouns.record import State
from leyfold.plan.answer import Answer
from leyfold.plan.build import build
from leyfold.plan.clash import OFFERS
from leyfold.plan.levels import Level, first_guess, least_guess
from leyfold.plan.linear import Linear
from leyfold.plan.model import Model
from leyfold.plan.share import sharing
from leyfold.plan.unshared import sharing_helps
from leyfold.plan.ways.changes import Change, changes
from leyfold.plan.ways.lesser import lesser, under
from leyfold.plan.ways.near import wishing
from leyfold.plan.ways.needed import EXACT, Need, needed
from leyfold.plan.ways.sized import smallest
from leyfold.plan.ways.tried import Found, Question, better, judged, walked
from leyfold.words import say

__all__ = ["LEAST_S", "SECONDS", "ways_out"]

SECONDS, LEAST_S = 12.5, 7.5
"""For a clash and its ways out together; and for the ways out where the clash took long."""
EACH_S = 2.0
"""What one proof may take."""
LESS_S = 5.0
"""What the most of a wish may take."""
PRICED_S = 2.0
"""Kept back for better plans, once there is one."""
LOOKED_AT_S, SMALLER_S = 0.5, 1.5
"""Kept back of the time for a change, for the chances of its plan, and for making the change as small."""
WALK_S = 0.5
"""Kept back for each plan to be walked by the checker at the end."""
SLOWEST = 5.0
"""On a machine that does much else, seconds at work count, but no more than so many on the wall for each."""
AT_ONCE = 2
"""Changes that plans are looked for under at the same time."""
NOTHING = Need(None)


def ways_out(
    farm: Farm,
    state: State,
    plan: Plan,
    at: datetime,
    answer: Answer,
    *,
    seconds: float = SECONDS,
    capped: bool = False,
    seed: int = 0,
) -> tuple[WayOut, ...]:
    """What could be changed so that a plan fits where `answer` is a clash: changes that loosen a reason of
    it, each by as little as opens a plan, within `seconds`.

    First those are told apart that open none, since not even parts of sets and places would give one; then a
    plan is looked for under each of the others, that misses the wishes of the clash by the least: where it
    misses some, less of them is part of the change. What time is left goes into better plans, by which they
    are ranked. Verified ones come first, by the money of the plan they open less what they cost themselves;
    then those of which nobody knows yet; then those that open none. The seconds are those at
    work, unless `capped`: so that a busy machine tells what an idle one does.
    """
    assert isinstance(answer.outcome, Clash)
    if not answer.outcome.reasons:
        # Nobody knows that there is no plan.
        return ()
    shared = bool(answer.problem.joins) or sharing_helps(answer.outcome)
    alone = replace(answer.problem, joins=())
    ask = Question(build(alone, least_guess(alone)), plan, state, at, seed, shared)
    work = _Work(ask, farm, seconds, time.monotonic if capped else _at_work())
    work.look(answer.outcome.reasons, answer.levels)
    work.price()
    return tuple(sorted(work.told(), key=_order))


def _at_work() -> Callable[[], float]:
    """Seconds that went by with this program at work."""
    wall, work = time.monotonic(), time.process_time()

    def now() -> float:
        by = time.monotonic() - wall
        return max(min(by, time.process_time() - work), by / SLOWEST)

    return now


def _order(way: WayOut) -> tuple[bool, bool, bool, float, str]:
    net = (0.0 if way.planned is None else -way.planned.objective) + (way.costs or 0.0)
    return way.shut, not way.verified, way.costs is None, net, way.id


@dataclass(slots=True, eq=False)
class _Work:
    """What is known of each change so far."""

    ask: Question
    farm: Farm
    seconds: float
    now: Callable[[], float]
    wishes: tuple[Wish, ...] = ()
    """Those of the clash."""
    found: list[Found] = field(default_factory=list)
    unknown: list[Change] = field(default_factory=list)
    shut: list[Change] = field(default_factory=list)

    end: float = field(init=False)

    def __post_init__(self) -> None:
        self.end = self.now() + self.seconds

    def left(self) -> float:
        return self.end - self.now() - WALK_S * len(self.found)

    def _at_most(self, seconds: float) -> Callable[[], float]:
        """The time left, and no more than some seconds from now on."""
        end = self.now() + seconds
        return lambda: min(self.left(), end - self.now())

    def look(self, reasons: Sequence[Reason], levels: Mapping[Level, float]) -> None:
        """Which changes open no plan, and a plan for each of the others."""
        groups, span = [reason.group for reason in reasons], self.ask.problem.span
        needs = self._needs(reasons)
        open_ = [group for group, need in needs.items() if need != NOTHING]
        self.wishes = tuple(wish for wish in self.farm.wishes if f"wish:{wish.id}" in groups)
        guess = first_guess(self.ask.problem)
        high = {key: max(level, levels.get(key, level)) for key, level in guess.items()}
        guesses = (guess,) if high == guess else (high, guess)
        for wish in self.wishes:
            if f"wish:{wish.id}" in open_:
                self.found += lesser(
                    self.ask, [wish], guesses, left=self._at_most(min(LESS_S, self.left() / 2.0))
                )
        if not self.found:
            # Less of one alone opens nothing, or nothing that was found: less of several does.
            self.found += lesser(
                self.ask, self.farm.wishes, guesses, left=self._at_most(min(LESS_S, self.left() / 2.0))
            )
        known = {group: need for group, need in needs.items() if need is not None}
        day, last = civil(self.ask.at, self.farm.holding.zone), span.day(span.days - 1)
        families = [x for x in changes(self.farm, self.ask.plan, open_, known, day, last) if x]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            queue = [_Next(family) for family in families]
            while queue := [one for one in queue if not self._idle(one)]:
                share = max(self.left() - PRICED_S * bool(self.found), 0.0) * AT_ONCE / len(queue)
                left = self._at_most(max(share, EACH_S + SMALLER_S))
                some, queue = queue[:AT_ONCE], queue[AT_ONCE:]
                queue += [one for one in pool.map(partial(self._tried, left=left), some) if one is not None]

    def _idle(self, one: _Next) -> bool:
        """Day-olds ask for the same room as pullets near lay, and more: where those open no plan nobody looks
        for one with these."""
        change = one.family[0]
        grown = (x for x in self.shut if x.id.startswith("bought:") and x.group == change.group)
        return change.id.startswith("day_olds:") and any(grown)

    def _needs(self, reasons: Sequence[Reason]) -> dict[str, Need | None]:
        """By how much each group must be loosened at the least; those that open nothing are shut."""
        problem = self.ask.problem
        least = self.ask.model.linear
        guess = wishing(self.ask.model, problem, first_guess(problem)).linear
        together: Linear | None = None
        needs: dict[str, Need | None] = {}
        known = {*EXACT, *least.groups()} - {OFFERS}  # What has no rows is no limit that could be loosened.
        for group, said in ((r.group, r.said) for r in reasons if r.group in known):
            need = needed(guess, group, seconds=EACH_S, seed=self.ask.seed)
            if need in (None, NOTHING):
                need = needed(least, group, seconds=EACH_S, seed=self.ask.seed)
            if need == NOTHING and self.ask.shared:
                together = together or build(sharing(problem), least_guess(problem)).linear
                need = needed(together, group, seconds=EACH_S, seed=self.ask.seed)
            if need == NOTHING:
                said = say("ways.any", said=said)
                self.shut.append(Change(f"any:{group}", said, group, self.farm, self.ask.plan))
            needs[group] = need
        return needs

    def _nearest(self, family: Sequence[Change]) -> _Next | None:
        """The least of some changes, one more than the other, that is not certain to open no plan; all of
        those that differ in size, where the most is not. None where it is certain of all."""

        def model(i: int) -> Model | None:
            return judged(self.ask, family[i], seconds=EACH_S)

        low, high = -1, len(family) - 1
        if not family[0].sized and (found := model(0)) is not None:
            return _Next(family, found)
        best = model(high) if high or family[0].sized else None
        if best is None:
            self.shut.append(family[high])
            return None
        if family[0].sized:
            return _Next(family, best)
        low = 0
        while high - low > 1 and self.left() > 0.0:
            middle = (low + high) // 2
            found = model(middle)
            low, high, best = (middle, high, best) if found is None else (low, middle, found)
        return _Next(family[high:], best)

    def _tried(self, one: _Next, left: Callable[[], float]) -> _Next | None:
        """A plan for a change; where it takes less of a wish besides, the same change by more, to be tried
        later."""
        found = None
        if self.left() > PRICED_S * bool(self.found):
            try:
                nearest = self._nearest(one.family) if one.partly is None else one
            except BadInput:  # A price that nobody has named.
                nearest = one
            else:
                if nearest is None:
                    return None
                one = replace(nearest, partly=one.partly)
                found = self._under(one, left)
        if found is None and one.partly is None:
            self.unknown.append(one.family[0])
        elif found is not None and found.change is not one.change and not one.sized and len(one.family) > 1:
            return _Next(one.family[1:], partly=one.partly or found)
        elif (kept := found or one.partly) is not None:
            self.found.append(kept)
        return None

    def _under(self, one: _Next, left: Callable[[], float]) -> Found | None:
        model = one.model or judged(self.ask, one.change, seconds=EACH_S)
        if model is None:
            return None
        start = self.found[0] if self.found else None
        after = SMALLER_S if one.sized else LOOKED_AT_S
        found = under(self.ask, one.change, model, self.wishes, start, left=lambda: left() - after)
        return smallest(self.ask, found, one.family) if found is not None and one.sized else found

    def price(self) -> None:
        """Better plans, in what time is left: what is found for one change is also tried for the others."""
        for i, one in enumerate(self.found):
            share = max(self.left(), 0.0) / (len(self.found) - i)
            self.found[i] = better(self.ask, one, self.found, seconds=share)
        self.found = [better(self.ask, one, self.found, seconds=0.0) for one in self.found]

    def told(self) -> Iterator[WayOut]:
        for one in self.found:
            planned = walked(self.ask, one)
            if planned is not None or len(one.change.plan.batches) == len(self.ask.plan.batches):
                # Birds bought whose steps break a limit, which no plan can mend, are no way out.
                yield _way(one.change, planned)
        yield from (_way(change) for change in self.unknown)
        yield from (replace(_way(change), shut=True) for change in self.shut)


@dataclass(frozen=True, slots=True, eq=False)
class _Next:
    """Changes to be tried, each the same by more than the one before it. `model`: that of the one which is
    tried first, where it is made already; `partly`: a plan under a lesser one that takes less of a wish
    besides."""

    family: Sequence[Change]
    model: Model | None = None
    partly: Found | None = None

    @property
    def sized(self) -> bool:
        return self.family[0].sized

    @property
    def change(self) -> Change:
        """The one to be tried first: of those that differ in size the largest, which is then made less."""
        return self.family[-1 if self.sized else 0]


def _way(change: Change, planned: Planned | None = None) -> WayOut:
    return WayOut(
        change.id, change.said, change.farm, change.costs, planned, planned is not None, change.guess
    )
