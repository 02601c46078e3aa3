"""Every living bird in one place, and in one that is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from leyfold.nouns.plan import Batch, Stay
from leyfold.nouns.planned import Finding
from leyfold.nouns.record import State
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import finding, runs

__all__ = ["forgotten", "placed"]

WHOLE_BIRD = 0.5
"""Heads written by hand are whole birds, those reckoned are fractions: so much apart is the same number."""


def placed(book: Book) -> Iterator[Finding]:
    """Birds nowhere or twice, more birds written down than live, and places that are not there."""
    for (name, sex), flock in book.flocks.items():
        there = sum((s.heads for s in book.of.get((name, sex), ())), np.zeros(book.days.count))
        # Shares, so that a handful of birds counts as much as a thousand.
        share = np.divide(there, flock.alive, out=np.zeros_like(there), where=flock.alive > 0)
        left = np.where(flock.alive > 0, flock.left, 0.0)
        yield from runs(book.days, "nowhere", name, share, left, under=True, sex=sex)
        yield from runs(book.days, "twice", name, share, left, sex=sex)
    written: dict[str, list[Stay]] = {}
    for stay in book.plan.stays:
        if stay.heads is not None and stay.first < stay.until:
            written.setdefault(stay.batch, []).append(stay)
    for batch in book.plan.batches:
        yield from _written(book, batch, written.get(batch.id, ()))
    for place in book.at:
        kit = book.kit(place)
        heads = book.heads(place)
        if kit is None:
            yield from runs(book.days, "no_place", place, heads, 0.0)
            continue
        gone = np.array([not kit.owned(book.days.day(i)) for i in range(book.days.count)])
        yield from runs(book.days, "not_owned", place, heads * gone, 0.0)


def _written(book: Book, batch: Batch, own: Sequence[Stay]) -> Iterator[Finding]:
    """Heads that the farmer wrote into the stays `own`, against the birds there are when these begin."""
    ends = {(s.place, s.heads, s.sex, s.until) for s in own}
    for day in sorted({s.first for s in own if (s.place, s.heads, s.sex, s.first) not in ends}):
        at = book.days.index(day)
        if not 0 <= at < book.days.count:
            continue
        alive = {sex: float(book.flocks[batch.id, sex].heads[at]) for sex in ("pullet", "cockerel")}
        there = [s for s in own if s.first <= day < s.until]
        for sexes in (("pullet",), ("cockerel",), ("pullet", "cockerel")):
            written = sum(_heads(there, place, sexes) for place in {s.place for s in there})
            living = sum(alive[sex] for sex in sexes)
            if written > living + WHOLE_BIRD:
                yield finding("too_many", batch.id, day, day, written, living)


def _heads(stays: Sequence[Stay], place: str, sexes: tuple[str, ...]) -> float:
    """Heads written for a place that can only be of `sexes`. One number written for both sexes stands in a
    stay of each."""
    of: dict[float, set[str]] = {}
    for stay in stays:
        if stay.place == place and stay.heads is not None:
            of.setdefault(stay.heads, set()).update({stay.sex} if stay.sex else {"pullet", "cockerel"})
    return sum(heads for heads, kinds in of.items() if kinds <= set(sexes))


def forgotten(book: Book, state: State) -> Iterator[Finding]:
    """Birds that live by the records and that the plan does not know."""
    known = {batch.id for batch in book.plan.batches}
    for name in dict.fromkeys(group.batch for group in state.groups):
        heads = sum(group.heads for group in state.groups if group.batch == name)
        if name not in known and heads > 0 and state.day is not None:
            yield finding("forgotten", name, state.day, state.day, float(heads), 0.0)
