"""Steps in their order, on days on which they may be done."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from leyfold.nouns.plan import Batch
from leyfold.nouns.planned import Finding
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.stock import SEXES
from leyfold.plan.checker.book import Book, Stand
from leyfold.plan.checker.days import finding, runs

__all__ = ["dates"]


def dates(book: Book) -> Iterator[Finding]:
    """Steps that run backwards; eggs set on other days than asked; birds at grass outside its time."""
    for batch in book.plan.batches:
        yield from _order(book, batch)
        if batch.set_on is not None and batch.set_on >= book.days.first:
            yield from _set(book, batch, batch.set_on)
        yield from _grass(book, batch)
    for stay in book.plan.stays:
        if stay.until < stay.first:
            yield finding("order", stay.batch, stay.until, stay.first, (stay.first - stay.until).days, 0.0)


def _order(book: Book, batch: Batch) -> Iterator[Finding]:
    steps = [batch.set_on, batch.hatched_on, batch.turnout_on, batch.sort_on, batch.house_on]
    for before, after in pairwise([day for day in steps if day is not None]):
        if after < before:
            yield finding("order", batch.id, after, before, (before - after).days, 0.0)
    if batch.set_on is not None:
        due = batch.set_on + timedelta(days=round(book.farm.lines[batch.line].incubation_d.value))
        if due != batch.hatched_on:
            off = (batch.hatched_on - due).days
            yield finding(
                "hatch_day", batch.id, min(due, batch.hatched_on), max(due, batch.hatched_on), off, 0.0
            )
    if batch.arrives_on < batch.hatched_on:
        off = (batch.hatched_on - batch.arrives_on).days
        yield finding("order", batch.id, batch.arrives_on, batch.hatched_on, off, 0.0)


def _set(book: Book, batch: Batch, on: date) -> Iterator[Finding]:
    asked = book.farm.planning
    if WEEKDAYS[on.weekday()] not in asked.set_weekdays:
        yield finding("set_weekday", batch.id, on, on, 1.0, 0.0)
    if (asked.set_from and on < asked.set_from) or (asked.set_until and on > asked.set_until):
        yield finding("set_span", batch.id, on, on, 1.0, 0.0)


def _stands(book: Book, batch: Batch) -> Iterator[Stand]:
    return (stand for sex in SEXES for stand in book.of.get((batch.id, sex), ()))


def _grass(book: Book, batch: Batch) -> Iterator[Finding]:
    asked, days = book.farm.planning, book.days
    outside = sum(
        (s.heads for s in _stands(book, batch) if s.stay.place in book.farm.shelters),
        np.zeros(days.count),
    )
    early, late = days.span(None, asked.grass_from), days.span(asked.grass_until, None)
    for what, span, asked_day in (
        ("grass_early", early, asked.grass_from),
        ("grass_late", late, asked.grass_until),
    ):
        if asked_day is not None:
            then = np.zeros(days.count)
            then[span] = outside[span]
            yield from runs(days, what, batch.id, then, 0.0)
