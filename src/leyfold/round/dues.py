"""Dated work of the seven days from a day on, as the round tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from leyfold.nouns.ahead import FeedLeft
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import State
from leyfold.nouns.round import DueItem
from leyfold.nouns.season import Season
from leyfold.round.shown import Shown
from leyfold.round.told import told
from leyfold.season.dates import dated
from leyfold.season.work import Task, work
from leyfold.words import say

__all__ = ["dues", "tasks_of"]

WEEK_D = 7
NOT_DUE = frozenset({"limit", "wish"})
"""What a round does not list: limits are warnings, wishes are not work."""
NAMES = {
    "hatch": "take_off", "turnout": "turn_out", "lift": "lift", "feed": "change_feed", "order": "promised",
}  # fmt: skip


def tasks_of(farm: Farm, plan: Plan, season: Season, state: State) -> tuple[Task, ...]:
    """The season's dated work. Where the plan as written kills or puts out birds on the state's day and the
    records do not know of it yet, that is today's work, though the season feeds those birds once more."""
    tasks = work(farm, season)
    day = state.day
    if day is None:
        return tasks
    next_day = day + timedelta(days=1)
    due = {b.id for b in dated(farm, plan) if any(draft.on == day for draft in b.drafts)}
    due |= {out.batch for out in plan.outs if out.on == day}
    due &= {g.batch for g in state.groups}

    def mended(task: Task) -> Task | None:
        if task.batch not in due:
            return task
        if task.kind == "kill_eve" and task.values["on"] == next_day:
            return None
        return replace(task, day=day) if task.kind in ("kill", "out") and task.day == next_day else task

    return tuple(sorted((t for t in map(mended, tasks) if t is not None), key=lambda t: t.day))


def dues(farm: Farm, tasks: Sequence[Task], feed: Sequence[FeedLeft], day: date) -> tuple[DueItem, ...]:
    """All that is dated from `day` up to seven days on, feed to order with it; by day, in the order told."""
    shown, until = Shown(farm), day + timedelta(days=WEEK_D)
    found = [
        DueItem(t.day, NAMES.get(t.kind, t.kind), t.batch, t.place, _number(t), told(t, shown))
        for t in tasks
        if day <= t.day < until and t.kind not in NOT_DUE
    ]
    for left in feed:
        if left.order_by is None or left.empty_on is None or not left.order_by < until:
            continue
        said = say("round.order_feed", feed=left.feed, on=shown.short(left.empty_on))
        found.append(DueItem(max(left.order_by, day), "order_feed", None, None, None, said))
    return tuple(sorted(found, key=lambda d: d.day))


def _number(task: Task) -> int | None:
    for name in ("heads", "eggs", "number"):
        value = task.values.get(name)
        if isinstance(value, float | int):
            return round(value)
    return None
