"""Somebody away, a telephone lost: what falls due meanwhile, and what the book last heard from whom."""

from __future__ import annotations

from collections.abc import Iterator

from leyfold.nouns.clock import civil, wall
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.numbers.view import View
from leyfold.season.work import work
from leyfold.words import say

__all__ = ["due_meanwhile", "last_heard"]

TOLD = ("set", "candle", "lift", "hatch", "arrive", "turnout", "sort", "kill", "house", "out", "order")
MOST = 12


def due_meanwhile(view: View) -> Iterator[Number]:
    """Dated work of the days on which somebody is away: the first dozen."""
    away = view.case.of("away")
    due = [
        t
        for t in work(view.case.farm, view.now.season)
        if t.kind in TOLD and t.day >= view.day and any(s.holds(t.day) for s in away)
    ]
    for task in due[:MOST]:
        heads = task.values.get("heads", task.values.get("eggs", task.values.get("number")))
        number = float(heads) if isinstance(heads, int | float) else None
        of = task.batch or str(task.values.get("customer", ""))
        what = say(f"replan.due_{task.kind}", of=of, n="" if number is None else view.tell.n(number))
        yield view.number("due", number, of, task.day, on=task.day, what=what)


def last_heard(view: View) -> Iterator[Number]:
    """The last record of each device in the book."""
    last = {r.device: r for r in sorted(view.records, key=lambda r: r.at) if r.at <= view.case.at}
    zone = view.case.farm.holding.zone
    for device, record in last.items():
        on = civil(record.at, zone)
        yield view.number(
            "last_heard",
            None,
            device,
            on,
            device=device,
            on=on,
            clock=f"{wall(record.at, zone):%H:%M}",
            who=record.who,
        )
    if not last:
        yield view.number("nothing_heard", None)
