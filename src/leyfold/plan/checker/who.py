"""Whose birds or eggs a finding is about, where it names a place or the whole farm."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book
from leyfold.words import say

__all__ = ["told"]

MOST_NAMES = 6
KILLED = frozenset({"kill_closed", "kill_weekday", "kill_many", "freezer"})


def told(book: Book, finding: Finding) -> Finding:
    """The finding with the batches in its sentence that a farmer would have to change."""
    names = list(dict.fromkeys(_batches(book, finding)))
    if not names:
        return finding
    shown = ", ".join(names[:MOST_NAMES]) + (", ..." if len(names) > MOST_NAMES else "")
    return replace(finding, said=say("checker.of", said=finding.said, batches=shown))


def _batches(book: Book, finding: Finding) -> list[str]:
    days = slice(max(book.days.index(finding.day_first), 0), max(book.days.index(finding.day_last), 0) + 1)
    if finding.what in KILLED:
        return [f.batch.id for f in book.flocks.values() if f.sex == "cockerel" and np.any(f.taken[days] > 0)]
    if finding.where in book.farm.incubators:
        return [
            b.id
            for b in book.plan.batches
            if b.incubator == finding.where
            and b.set_on is not None
            and b.set_on <= finding.day_last
            and b.hatched_on > finding.day_first
        ]
    there = book.at.get(finding.where, ())
    return [stand.flock.batch.id for stand in there if np.any(stand.heads[days] > 0)]
