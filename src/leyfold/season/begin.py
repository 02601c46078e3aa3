"""Where a plan meets the facts: the same plan from the state's day on, with the birds that are really there.

Nothing past is planned again. What is overdue, a turnout or a sorting that the records do not know of,
falls on the state's day; a killing or a sale on the day after, since nobody kept those birds from their feed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeVar

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.record import BatchFacts, Count, Group, State
from leyfold.nouns.stock import SEXES, Line, Sex
from leyfold.season.dates import dated

__all__ = ["begin"]

A_DAY = timedelta(days=1)

Leaving = TypeVar("Leaving", Draft, Out)


def begin(farm: Farm, plan: Plan, state: State, *, leave_today: bool = False) -> Plan:
    """`plan` (not completed) with the facts of `state` in place of its past.

    A batch with birds alive is present on the state's day with its book heads, unsorted ones split by the
    line's share of pullets, standing where they stand until its next step or the next stay written in the
    plan; those whom a stay takes elsewhere today go there. Eggs set keep the day and number written down,
    and those found fertile; a hatch overdue is due on the day. Batches that have died or gone out vanish,
    batches the plan did not know come in, and a batch of which nothing was written down stands as planned.

    `leave_today`: a killing or a sale planned for the state's own day stays on it, and its birds are neither
    fed nor watered that day; else they leave on the day after.
    """
    if plan.completed:
        raise ValueError("begin takes a plan as it was written, not completed")
    if state.day is None or not state.batches:
        return plan
    batches: list[Batch] = []
    stays: list[Stay] = []
    outs: list[Out] = []
    planned = {batch.id: batch for batch in plan.batches}
    for name in dict.fromkeys((*planned, *state.batches)):
        own_stays = [s for s in plan.stays if s.batch == name]
        own_outs = [o for o in plan.outs if o.batch == name]
        facts = state.batches.get(name)
        if facts is None:
            batch = planned[name]
        elif facts.hatched_on is None:
            batch = _in_the_egg(farm.lines[facts.line], planned.get(name), facts, state.day)
        else:
            now = _Now(farm, facts, state, state.day, leave_today)
            if not now.groups:
                continue
            batch = now.batch(planned.get(name))
            own_stays = now.stays(batch, own_stays)
            own_outs = [
                replace(out, on=now.leaves(out.on))
                for out in _to_come(own_outs, now.left("pullet"), now.heads("pullet"))
            ]
        batches.append(batch)
        stays += own_stays
        outs += own_outs
    first = state.day if plan.first is None else max(plan.first, state.day)
    return replace(plan, batches=tuple(batches), stays=tuple(stays), outs=tuple(outs), first=first)


def _in_the_egg(line: Line, planned: Batch | None, facts: BatchFacts, day: date) -> Batch:
    assert facts.set_on is not None
    hatch = max(facts.set_on + timedelta(days=round(line.incubation_d.value)), day)
    batch = planned or Batch(facts.batch, facts.line, "set", hatch, hatch)
    return replace(
        batch,
        line=facts.line,
        origin="set",
        set_on=facts.set_on,
        eggs=facts.eggs,
        fertile=facts.fertile,
        stored_d=batch.stored_d if facts.stored_d is None else facts.stored_d,
        incubator=facts.incubator or batch.incubator,
        hatched_on=hatch,
        arrives_on=hatch,
        turnout_on=_not_before(batch.turnout_on, hatch),
        sort_on=_not_before(batch.sort_on, hatch),
        house_on=_not_before(batch.house_on, hatch),
        drafts=tuple(replace(draft, on=max(draft.on, hatch)) for draft in batch.drafts),
    )


def _not_before(planned: date | None, day: date) -> date | None:
    return None if planned is None else max(planned, day)


@dataclass(frozen=True, slots=True)
class _Now:
    """One batch on the state's day."""

    farm: Farm
    facts: BatchFacts
    state: State
    day: date
    leave_today: bool

    def leaves(self, planned: date) -> date:
        """The day of a killing or a sale that the records do not know of."""
        return planned if self.leave_today and planned == self.day else max(planned, self.day + A_DAY)

    @property
    def line(self) -> Line:
        return self.farm.lines[self.facts.line]

    @property
    def groups(self) -> list[Group]:
        return [g for g in self.state.groups if g.batch == self.facts.batch]

    def by_place(self, sex: Sex) -> dict[str, float]:
        """Heads of one sex by place; of unsorted birds the share that should be of it."""
        pullets = self.line.share_pullets.value
        part = {sex: 1.0, None: pullets if sex == "pullet" else 1.0 - pullets}
        places: dict[str, float] = {}
        for group in self.groups:
            if (heads := group.heads * part.get(group.sex, 0.0)) > 0:
                places[group.place] = places.get(group.place, 0.0) + heads
        return places

    def heads(self, sex: Sex) -> float:
        return sum(self.by_place(sex).values())

    def left(self, sex: Sex) -> list[Count]:
        """Killings and sales of birds of one sex, or of a sex not said."""
        sold = (count for count in self.facts.gone if count.kind == "sold")
        return [count for count in (*self.facts.killed, *sold) if count.sex in (None, sex)]

    def batch(self, planned: Batch | None) -> Batch:
        assert self.facts.hatched_on is not None
        batch = planned or Batch(self.facts.batch, self.facts.line, "present", self.day, self.day)
        brooder = self._most(self.farm.brooders)
        house = self._most(self.farm.houses)
        batch = replace(
            batch,
            line=self.facts.line,
            origin="present",
            hatched_on=self.facts.hatched_on,
            arrives_on=self.day,
            set_on=None,
            eggs=None,
            fertile=None,
            stored_d=0,
            heads={sex: self.heads(sex) for sex in SEXES},
            brooder=brooder or batch.brooder,
            house=house or batch.house,
        )
        done = self._done()
        batch = replace(
            batch,
            turnout_on=done[0] or _not_before(batch.turnout_on, self.day),
            sort_on=done[1] or _not_before(batch.sort_on, self.day),
            house_on=done[2] or _not_before(batch.house_on, self.day),
        )
        batch = dated(self.farm, Plan((batch,)))[0]
        drafts = _to_come(batch.drafts, self.left("cockerel"), self.heads("cockerel"))
        if not drafts:
            # All drafts are done: what a whole one left over is due, what a part one left stays.
            drafts = [Draft(self.day + A_DAY, 1.0 if batch.drafts[-1].share == 1.0 else 0.0)]
        return replace(
            batch,
            turnout_on=done[0] or _not_before(batch.turnout_on, self.day),
            sort_on=done[1] or _not_before(batch.sort_on, self.day),
            house_on=done[2] or _not_before(batch.house_on, self.day),
            drafts=tuple(replace(draft, on=self.leaves(draft.on)) for draft in drafts),
        )

    def stays(self, batch: Batch, written: Sequence[Stay]) -> list[Stay]:
        """Where the birds stand now, and what the plan says of later days."""
        ahead = [stay for stay in written if stay.first > self.day]
        stays = list(ahead)
        for sex in SEXES:
            own = [stay for stay in written if stay.sex in (None, sex)]
            running = [stay for stay in own if stay.first <= self.day < stay.until]
            if self._to_go(own, running, sex):
                stays += [replace(s, id=f"{s.id}.{sex}", sex=sex, first=self.day) for s in running]
                continue
            until = min((stay.first for stay in own if stay.first > self.day), default=None)
            until = until or max((stay.until for stay in running), default=self._next(batch, sex))
            if until > self.day:
                stays += [
                    Stay(f"{batch.id}.{sex}.{place}", batch.id, sex, place, self.day, until, heads=heads)
                    for place, heads in self.by_place(sex).items()
                ]
        return stays

    def _to_go(self, own: Sequence[Stay], running: Sequence[Stay], sex: Sex) -> bool:
        """Whether birds of one sex go today where the plan says: on the day it moves them, or once a turnout
        or a sorting is overdue; unless somebody has put them where it never had them."""
        if not running:
            return False
        begun = max(stay.first for stay in running)
        new, here = {stay.place for stay in running}, {*self.by_place(sex)}
        brooders = {*self.farm.brooders}
        before = {stay.place for stay in own if stay.until == begun} or brooders
        brooded = here <= brooders and not new & brooders
        unsorted = all(stay.sex for stay in running) and any(g.sex is None for g in self.groups)
        due = begun == self.day or brooded or unsorted
        return due and before != new and here != new and here <= before | new

    def _next(self, batch: Batch, sex: Sex) -> date:
        steps = [batch.turnout_on, batch.sort_on]
        if sex == "pullet" and self.farm.houses:
            steps.append(batch.house_on)
        done = self._done()[: len(steps)]
        return next((on for on, was in zip(steps, done, strict=True) if was is None and on), date.max)

    def _done(self) -> tuple[date | None, date | None, date | None]:
        """The days of turnout, sorting and housing where most birds have them behind them."""
        housed = self._since(self.farm.houses, self.by_place("pullet"), self.line.house_d.value)
        unsorted = sum(g.heads for g in self.groups if g.sex is None)
        sorting = self.facts.sorted_on
        if sorting is None and 2 * unsorted < sum(g.heads for g in self.groups):
            sorting = self._seen(self.facts.arrived_on or self.day, self.line.sort_d.value)
        everywhere: dict[str, float] = {}
        for group in self.groups:
            everywhere[group.place] = everywhere.get(group.place, 0.0) + group.heads
        outside = {**self.farm.shelters, **self.farm.houses, **self.farm.pens}
        turnout = self._since(outside, everywhere, self.line.turnout_d.value)
        # Sorted in the brooder still comes before turnout: steps never run backwards.
        if turnout is None:
            return None, None, None
        sorting = None if sorting is None else max(sorting, turnout)
        return turnout, sorting, None if sorting is None or housed is None else max(housed, sorting)

    def _since(self, kind: Iterable[str], heads: dict[str, float], usual_d: float) -> date | None:
        """Since when birds of the batch have been in places of a kind; None while most are not."""
        places = set(kind)
        if 2 * sum(n for place, n in heads.items() if place in places) <= sum(heads.values()):
            return None
        firsts = (s.first for s in self.state.spells if s.batch == self.facts.batch and s.place in places)
        return self._seen(min(firsts, default=self.day), usual_d)

    def _seen(self, first: date, usual_d: float) -> date:
        """A step first seen done on `first`: for birds there before the books were, at the usual age."""
        assert self.facts.hatched_on is not None
        if self.facts.origin == "set" or first != self.facts.arrived_on:
            return first
        return min(first, self.facts.hatched_on + timedelta(days=round(usual_d)))

    def _most(self, kind: Iterable[str]) -> str | None:
        places = {g.place: 0 for g in self.groups if g.place in set(kind)}
        for group in self.groups:
            if group.place in places:
                places[group.place] += group.heads
        return max(places, key=lambda place: places[place], default=None)


def _to_come(planned: Sequence[Leaving], left: Sequence[Count], heads: float) -> list[Leaving]:
    """The drafts not yet done, by day. Every killing or sale belongs to the draft nearest in time; a draft
    is done when at least half of its birds have left."""
    drafts = sorted(planned, key=lambda draft: draft.on)
    gone = [0.0] * len(drafts)
    for count in left:
        if drafts:
            nearest = min(range(len(drafts)), key=lambda i: abs((drafts[i].on - count.on).days))
            gone[nearest] += count.number
    return [
        draft
        for i, draft in enumerate(drafts)
        if gone[i] == 0 or 2 * gone[i] < draft.share * (heads + sum(gone[i:]))
    ]
