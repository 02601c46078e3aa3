"""Eggs: laid by the pens that are there, no older than asked, in machines with places for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.farm import BreedingPen
from leyfold.nouns.plan import Batch
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import ROUNDING, Floats, finding, runs

__all__ = ["eggs", "machine"]

HATCHER_D = 3
"""Days before hatch on which eggs go to the hatcher."""


def eggs(book: Book) -> Iterator[Finding]:
    """Incubators, hatchers and pens."""
    sets = [b for b in book.plan.batches if b.set_on is not None and b.eggs is not None]
    for batch in sets:
        yield from _machine(book, batch)
        yield from _age(book, batch)
    for name, kit in book.farm.incubators.items():
        inside, hatching = machine(book, name)
        yield from runs(book.days, "incubator", name, inside, float(kit.eggs))
        if kit.hatcher_eggs is not None:
            yield from runs(book.days, "hatcher", name, hatching, float(kit.hatcher_eggs))
    for line in book.farm.lines:
        pens = [pen for pen in book.farm.pens.values() if pen.line == line]
        own = [b for b in sets if b.line == line and b.origin == "set" and _fed(pens, b)]
        if own:
            yield from _gathered(book, line, pens, own)


def machine(book: Book, name: str) -> tuple[Floats, Floats]:
    """[day] eggs in the places of a machine, and in its hatcher where that is a machine of its own."""
    inside, hatching = np.zeros(book.days.count), np.zeros(book.days.count)
    apart = book.farm.incubators[name].hatcher_eggs is not None
    for batch in book.plan.batches:
        if batch.incubator == name and batch.set_on is not None and batch.eggs is not None:
            lifted = batch.hatched_on - timedelta(days=HATCHER_D if apart else 0)
            inside[book.days.span(batch.set_on, lifted)] += batch.eggs
            hatching[book.days.span(lifted, batch.hatched_on)] += _fertile(book, batch)
    return inside, hatching


def _age(book: Book, batch: Batch) -> Iterator[Finding]:
    """Eggs that wait longer than the farmer said; where nothing is said, than the line's eggs may."""
    own, on = book.farm.planning.stored_d, batch.set_on
    most = round(book.farm.lines[batch.line].storage_most_d.value) if own is None else own
    if on is not None and on >= book.days.first and batch.stored_d > most:
        yield finding("egg_age", batch.id, on, on, batch.stored_d, most)


def _fertile(book: Book, batch: Batch) -> float:
    """Clears are taken out at the second candling, when the rest go to the hatcher."""
    if batch.fertile is not None:
        return float(batch.fertile)
    return (batch.eggs or 0) * book.farm.lines[batch.line].fertility.value


def _machine(book: Book, batch: Batch) -> Iterator[Finding]:
    assert batch.set_on is not None
    kit = book.farm.incubators.get(batch.incubator or "")
    last = batch.hatched_on - timedelta(days=1)
    if kit is None:
        yield finding("no_machine", batch.id, batch.set_on, last, float(batch.eggs or 0), 0.0)
        return
    there = np.zeros(book.days.count)
    there[book.days.span(batch.set_on, batch.hatched_on)] = batch.eggs or 0
    gone = np.array([not kit.owned(book.days.day(i)) for i in range(book.days.count)])
    yield from runs(book.days, "not_owned", kit.id, there * gone, 0.0)


def _fed(pens: Sequence[BreedingPen], batch: Batch) -> bool:
    """Whether a pen is there when the batch is set: else its eggs are bought."""
    return batch.set_on is not None and any(pen.owned(batch.set_on) for pen in pens)


def _gathered(book: Book, line: str, pens: Sequence[BreedingPen], sets: Sequence[Batch]) -> Iterator[Finding]:
    """No more eggs in any stretch of days than the pens gave: sets whose eggs are gathered within it share
    what was laid. Where hens of the line lay in the plan, they lay no more than that either."""
    laid = sum(
        (f.heads * f.eggs for f in book.flocks.values() if f.batch.line == line), np.zeros(book.days.count)
    )
    begun: dict[date, list[tuple[date, int, Batch]]] = {}
    for i, batch in enumerate(sets):
        assert batch.set_on is not None
        begun.setdefault(batch.set_on - timedelta(days=max(batch.stored_d, 1)), []).append(
            (batch.set_on, -i, batch)
        )
    named = set[str]()
    for end in sorted({on for own in begun.values() for on, _, _ in own if on >= book.days.first}):
        starts = sorted((start for start in begun if start < end), reverse=True)
        wanted = 0.0
        within: list[tuple[date, int, Batch]] = []
        for start, given in zip(starts, _given(book, pens, laid, starts, end), strict=True):
            own = [one for one in begun[start] if one[0] <= end]
            wanted += sum(batch.eggs or 0 for _, _, batch in own)
            # Of what lies within the stretch, the set that comes last is named.
            within = [max((*within, *own))] if within or own else []
            for _, _, last in within:
                if wanted > given * (1 + ROUNDING) + 1e-9 and last.id not in named:
                    named.add(last.id)
                    yield finding("pen", last.id, start, end - timedelta(days=1), wanted, given)


def _given(
    book: Book, pens: Sequence[BreedingPen], laid: Floats, starts: Sequence[date], end: date
) -> Iterator[float]:
    """Eggs fit to be set that the pens give from each of `starts`, the last first, until `end`."""
    total, hens, known, done = 0.0, 0.0, True, end
    for start in starts:
        for i in range((done - start).days):
            for pen in (p for p in pens if p.owned(start + timedelta(days=i))):
                if pen.lay_share is None:
                    known = False
                else:
                    total += pen.hens * pen.lay_share * _settable(pen)
        hens += float(laid[book.days.span(start, done)].sum())
        done = start
        given = total if known else np.inf
        if start >= book.days.first and hens > 0.0:
            given = min(given, hens * max(_settable(pen) for pen in pens))
        yield given


def _settable(pen: BreedingPen) -> float:
    return 1.0 if pen.settable_share is None else pen.settable_share
