"""All dated work as an iCalendar feed (RFC 5545): whole days, the same bytes for the same farm."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta

from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.round.shown import Shown
from leyfold.round.told import told
from leyfold.season.work import Task
from leyfold.words import LANGUAGE, say

__all__ = ["calendar"]

QUIET = frozenset({"limit", "wish", "order", "lay"})
"""What falls due without taking anybody's day."""


def calendar(farm: Farm, season: Season, tasks: Sequence[Task]) -> bytes:
    """One all-day event for every task. UIDs hold on to what a task is (its kind, batch, place and what it is
    about) and not to its day, so that a task that is moved moves in the calendar that reads it. Stamped with
    the first day of the season: nothing here is newer than the files it comes from."""
    from icalendar import Calendar, Event

    shown = Shown(farm)
    book = Calendar()
    book.add("prodid", "-//Leyfold//Season//EN")
    book.add("version", "2.0")
    book.add("calscale", "GREGORIAN")
    book.add("name", farm.holding.name)
    book.add("x-wr-calname", farm.holding.name)
    book.add("x-wr-timezone", farm.holding.zone)
    stamp = datetime.combine(season.first, time(), tzinfo=UTC)
    met: dict[str, int] = {}
    for task in tasks:
        what = _what(task)
        met[what] = met.get(what, 0) + 1
        event = Event()
        event.add("uid", f"{_digest(f'{farm.holding.name}|{what}|{met[what]}')}@leyfold.invalid")
        event.add("dtstamp", stamp)
        event.add("dtstart", task.day)
        event.add("dtend", task.day + timedelta(days=1))
        event.add("summary", told(task, shown), parameters={"LANGUAGE": LANGUAGE})
        event.add("description", say("paper.calendar_note", farm=farm.holding.name))
        event.add("categories", [say(f"paper.category_{_category(task)}")])
        event.add("transp", "TRANSPARENT")
        event.add("class", "PRIVATE")
        book.add_component(event)
    made: bytes = book.to_ical()
    return made


def _what(task: Task) -> str:
    """What makes it this task and no other, whatever its day and numbers."""
    names = [f"{k}={v}" for k, v in sorted(task.values.items()) if isinstance(v, str)]
    return "|".join(
        (
            task.kind,
            task.batch or "",
            task.place if task.kind in ("ready", "limit") and task.place else "",
            *names,
        )
    )


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _category(task: Task) -> str:
    if task.kind in QUIET:
        return "due"
    return "work"
