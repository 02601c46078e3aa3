"""Wishes, met in an average year. How likely they are is for `season.wished` to say."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.farm import Wish
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.birds import Flock
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import ROUNDING, finding, runs

__all__ = ["wished"]

WEEK = 7


def wished(book: Book) -> Iterator[Finding]:
    """Wishes of which an average year falls short, on days that the plan covers."""
    for wish in book.farm.wishes:
        if wish.what == "eggs a day":
            yield from _eggs(book, wish)
        else:
            for times, on in enumerate(_again(book, wish), start=1):
                at = book.days.index(on)
                if 0 <= at < book.days.count:
                    number, wanted = _birds(book, wish, at), float(times * wish.number)
                    if number < wanted * (1 - ROUNDING):
                        yield finding("wish", wish.id, on, on, number, wanted)


def _again(book: Book, wish: Wish) -> Iterator[date]:
    """The day of a wish and, where it comes back, each later one."""
    end = wish.until or book.days.day(book.days.count - 1)
    on = wish.on
    yield on
    while wish.every_d:
        on += timedelta(days=wish.every_d)
        if on > end:
            return
        yield on


def _birds(book: Book, wish: Wish, at: int) -> float:
    flocks = [f for f in book.flocks.values() if wish.line in (None, f.batch.line)]
    if wish.what == "table birds":
        return sum(float(f.taken[: at + 1].sum()) for f in flocks if f.sex == "cockerel")
    day = book.days.day(at)
    return sum(
        float(f.heads[at])
        for f in flocks
        if f.sex == "pullet" and _reared(f) and (day - f.batch.hatched_on).days >= wish.aged_d
    )


def _reared(flock: Flock) -> bool:
    """Hens that came past point of lay are no pullets."""
    came_d = (flock.batch.arrives_on - flock.batch.hatched_on).days
    return flock.batch.origin == "set" or came_d < flock.line.point_of_lay_d.value


def _eggs(book: Book, wish: Wish) -> Iterator[Finding]:
    """Weeks, begun on any day, in which fewer eggs a day are laid than wished."""
    laid = sum((f.heads * f.eggs for f in book.flocks.values()), np.zeros(book.days.count))
    span = book.days.span(wish.on, None if wish.until is None else wish.until + timedelta(days=1))
    if span.stop - span.start < WEEK:
        return
    total = np.concatenate(([0.0], np.cumsum(laid)))
    weeks = np.full(book.days.count, np.inf)
    begins = np.arange(span.start, span.stop - WEEK + 1)
    weeks[begins] = (total[begins + WEEK] - total[begins]) / WEEK
    yield from runs(book.days, "wish_eggs", wish.id, weeks, float(wish.number), under=True)
