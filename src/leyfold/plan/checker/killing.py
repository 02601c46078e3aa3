"""Killing days: when they may be, how many birds, how much carcass."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from leyfold.nouns.planned import Finding
from leyfold.nouns.planning import WEEKDAYS
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import runs

__all__ = ["killing"]


def killing(book: Book) -> Iterator[Finding]:
    """Killing on days closed to it, more birds than a day takes, more carcass than the freezer does."""
    asked, days = book.farm.planning, book.days
    killed, carcass = np.zeros(days.count), np.zeros(days.count)
    for flock in book.flocks.values():
        if flock.sex == "cockerel":
            killed += flock.taken
            carcass += flock.taken_kg * flock.line.dressing_share.value
    dates = [days.day(i) for i in range(days.count)]
    closed = np.array([day in asked.closed for day in dates])
    weekday = np.array([WEEKDAYS[day.weekday()] not in asked.kill_weekdays for day in dates])
    yield from runs(days, "kill_closed", "farm", killed * closed, 0.0)
    yield from runs(days, "kill_weekday", "farm", killed * weekday, 0.0)
    if asked.kill_a_day is not None:
        yield from runs(days, "kill_many", "farm", killed, float(asked.kill_a_day))
    if asked.freezer_kg is not None:
        yield from runs(days, "freezer", "farm", carcass, asked.freezer_kg)
