"""Fresh grass: no more is taken than there is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import runs
from leyfold.plan.checker.nets import nets_m2

__all__ = ["grass"]


def grass(book: Book) -> Iterator[Finding]:
    """Grass taken day after day, each stand once and none where hens go, against what there is on the days it
    is said of."""
    used = np.zeros(book.days.count)
    for name, kit in book.farm.shelters.items():
        used += (book.heads(name) > 0) * kit.floor_m2 * kit.moves_per_day
    for there in book.farm.planning.fresh:
        then = book.days.span(there.first, there.until)
        taken = np.zeros(book.days.count)
        taken[then] = np.cumsum(used[then])
        if there.nets:
            taken[then] += nets_m2(book)[then]
        yield from runs(book.days, "ground", "farm", taken, there.m2)
