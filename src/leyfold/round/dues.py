"""Dated work of the seven days from a day on, as the round tells it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from leyfold.nouns.ahead import FeedLeft
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import NetAhead
from leyfold.nouns.round import DueItem, Part
from leyfold.round.fences import WEEK_D, net_dues
from leyfold.round.shown import Shown
from leyfold.round.told import told
from leyfold.season.work import Task
from leyfold.words import say

__all__ = ["EVENING_TASKS", "dues"]

EVENING_TASKS = frozenset({"kill_eve", "heat_off", "house"})
"""Work of the evening; all else is done by then."""
NOT_DUE = frozenset({"limit", "wish"})
"""What a round does not list: limits are warnings, wishes are not work."""
NAMES = {
    "hatch": "take_off", "turnout": "turn_out", "lift": "lift", "feed": "change_feed", "order": "promised",
}  # fmt: skip


def dues(
    farm: Farm, tasks: Sequence[Task], feed: Sequence[FeedLeft], nets: Sequence[NetAhead], day: date,
    part: Part,
) -> tuple[DueItem, ...]:  # fmt: skip
    """All that is dated from `day` up to seven days on, nets to shift and feed to order with it; by day, in
    the order told. In the evening the day's own work is done but for what belongs to the evening."""
    shown, until = Shown(farm), day + timedelta(days=WEEK_D)
    found = [
        DueItem(t.day, NAMES.get(t.kind, t.kind), t.batch, t.place, _number(t), told(t, shown))
        for t in tasks
        if day <= t.day < until and t.kind not in NOT_DUE
        if part == "morning" or t.day > day or t.kind in EVENING_TASKS
    ]
    found += net_dues(nets, day, part)
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
