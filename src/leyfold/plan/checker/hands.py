"""Hours of the farm's people on each day, and what the plan asks of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import Floats, runs
from leyfold.words import forms, say

__all__ = ["hands"]

MENTIONED_H = 0.05


def hands(book: Book) -> Iterator[Finding]:
    """Days on which the work takes more hours than the people have, where the farm says how many."""
    if all(person.hours_per_day is None for person in book.farm.people.values()):
        return
    asked, there = _asked(book), _there(book)
    hours = sum(asked.values(), np.zeros(book.days.count))
    for finding in runs(book.days, "hours", "farm", hours, there):
        run = book.days.span(finding.day_first, finding.day_last + timedelta(days=1))
        worst = run.start + int(np.argmax((hours - there)[run]))
        by_size = sorted(asked, key=lambda work: -asked[work][worst])
        parts = [
            say(f"checker.work_{work}", hours=forms.significant(float(asked[work][worst]), 3))
            for work in by_size
            if asked[work][worst] >= MENTIONED_H
        ]
        yield replace(finding, said=say("checker.of_work", said=finding.said, parts=", ".join(parts)))


def _there(book: Book) -> Floats:
    """[day] hours of all people together, less their days of other work."""
    hours = np.zeros(book.days.count)
    for person in book.farm.people.values():
        own = np.full(book.days.count, person.hours_per_day or 0.0)
        for busy in book.farm.planning.busy:
            if busy.person == person.id:
                for i in range(book.days.count):
                    if busy.first <= book.days.day(i) <= busy.last:
                        own[i] = min(own[i], busy.hours_per_day)
        hours += own
    return hours


def _asked(book: Book) -> dict[str, Floats]:
    """[day] hours of the round of each place in use, of eggs, setting, sorting, and killing where it is done
    at home."""
    farm = book.farm
    hours = {work: np.zeros(book.days.count) for work in ("round", "eggs", "setting", "sorting", "killing")}
    for kind, kits in book.kinds:
        for name in kits:
            hours["round"] += (book.heads(name) > 0) * _takes(farm, f"{kind}_h_per_d")
    for flock in book.flocks.values():
        hours["eggs"] += flock.heads * flock.eggs * _takes(farm, "egg_h")
        if flock.sex == "cockerel" and "killing" not in farm.prices:
            hours["killing"] += flock.taken * _takes(farm, "kill_h")
        on = flock.batch.sort_on
        at = -1 if on is None or on <= flock.batch.arrives_on else book.days.index(on)
        if 0 <= at < book.days.count:
            hours["sorting"][at] += flock.heads[at] * _takes(farm, "sort_h")
    for batch in book.plan.batches:
        at = -1 if batch.set_on is None else book.days.index(batch.set_on)
        if 0 <= at < book.days.count:
            hours["setting"][at] += _takes(farm, "set_h")
    return hours


def _takes(farm: Farm, name: str) -> float:
    return (farm.work.get(name) or figure(f"work.{name}")).value
