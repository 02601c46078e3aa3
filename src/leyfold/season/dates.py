"""Every date of a plan filled in, and the window of days that a season covers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm, Incubator
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.stock import Line
from leyfold.season.sound import ordered

__all__ = ["LIFT_BEFORE_D", "Window", "dated", "lifted_on", "window"]

FEWEST_WEEKS = 53
LIFT_BEFORE_D = 3
"""To the hatcher, turned no more, so many days before hatch; the second candling is then too."""


def dated(farm: Farm, plan: Plan) -> tuple[Batch, ...]:
    """The batches of `plan` with turnout, sorting, killing and housing dated by the ages of their line
    where the plan leaves them open. Ages count from the batch's own earlier steps: none of the dates
    filled in comes before a step that the plan has fixed. Drafts come out in order of day.

    Raises BadInput where the steps that the plan has fixed run backwards."""
    batches = tuple(_date(batch, farm.lines[batch.line]) for batch in plan.batches)
    for batch in batches:
        ordered(batch)
    return batches


def _date(batch: Batch, line: Line) -> Batch:
    def aged(age_d: float) -> date:
        return batch.hatched_on + timedelta(days=round(age_d))

    turnout = batch.turnout_on or aged(line.turnout_d.value)
    sorting = batch.sort_on or max(aged(line.sort_d.value), turnout)
    housed = batch.house_on or max(aged(line.house_d.value), sorting)
    drafts = batch.drafts or (Draft(max(aged(line.kill_d.value), sorting), 1.0),)
    drafts = tuple(sorted(drafts, key=lambda draft: draft.on))
    return replace(batch, turnout_on=turnout, sort_on=sorting, house_on=housed, drafts=drafts)


def lifted_on(kit: Incubator, hatched_on: date) -> date:
    """The day on which eggs leave their places in a machine: when they go to the hatcher where that is a
    machine of its own, else when they hatch."""
    return hatched_on - timedelta(days=0 if kit.hatcher_eggs is None else LIFT_BEFORE_D)


@dataclass(frozen=True, slots=True)
class Window:
    """Whole weeks, Monday to Sunday: `first` is a Monday and `days` a multiple of 7."""

    first: date
    days: int

    def index(self, day: date) -> int:
        return day.toordinal() - self.first.toordinal()

    def day(self, index: int) -> date:
        return self.first + timedelta(days=index)

    @property
    def dates(self) -> NDArray[np.datetime64]:
        return np.datetime64(self.first, "D") + np.arange(self.days)

    def clipped(self, day: date) -> int:
        """Index of `day`, held within 0..days."""
        return min(max(self.index(day), 0), self.days)


def window(plan: Plan) -> Window:
    """The days a season of `plan` (dated) covers: what the plan asks for, rounded out to whole weeks; else
    from the first event for 53 weeks, or until a week after the last event where that is later."""
    events = [day for batch in plan.batches for day in _events(batch)]
    events += [out.on for out in plan.outs]
    first = plan.first or min(events, default=plan.last)
    assert first is not None, "a plan without batches has its first day: season.sound"
    monday = first - timedelta(days=first.weekday())
    if plan.last is not None:
        end = plan.last + timedelta(days=1)
    else:
        end = max(monday + timedelta(weeks=FEWEST_WEEKS), max(events, default=first) + timedelta(days=7))
    weeks = -((end - monday).days // -7)
    return Window(monday, 7 * max(weeks, 1))


def _events(batch: Batch) -> Iterator[date]:
    if batch.set_on is not None:
        yield batch.set_on
    yield batch.arrives_on
    if batch.origin == "present":
        return
    yield from (day for day in (batch.turnout_on, batch.sort_on, batch.house_on) if day is not None)
    yield from (draft.on for draft in batch.drafts)
