"""Random numbers that belong to something: a batch, a shelter, a year of weather.

Each gets a stream of its own by name, so that one more batch, or the same batches in another order, leaves
every other draw as it was to the last bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

__all__ = ["DAYS_A_YEAR", "by_date", "stream", "years"]

DAYS_A_YEAR = 366
"""Numbers drawn for each year, so that all years are of one length."""


def stream(seed: int, *name: object) -> np.random.Generator:
    """The generator of `name` (say a batch id and a process) under `seed` >= 0. The same in every process
    and on every machine: the name is hashed by SHA-256."""
    words = np.frombuffer(sha256("\x1f".join(map(str, name)).encode()).digest(), dtype="<u4")
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence([seed, *map(int, words)])))


def years(first: date, days: int) -> Iterator[tuple[int, slice]]:
    """The calendar years that `days` days from `first` touch, and the days of each year that are meant."""
    last = first + timedelta(days=days - 1)
    for year in range(first.year, last.year + 1):
        opens = date(year, 1, 1).toordinal()
        until = min(last.toordinal() + 1, date(year + 1, 1, 1).toordinal())
        yield year, slice(max(first.toordinal() - opens, 0), until - opens)


def by_date(first: date, days: int, *name: object, seed: int, n: int) -> NDArray[np.float32]:
    """[day, draw] uniform numbers of one process; each belongs to its date, wherever `first` lies."""
    parts = [
        stream(seed, *name, year).random((DAYS_A_YEAR, n), dtype=np.float32)[part]
        for year, part in years(first, days)
    ]
    return parts[0] if len(parts) == 1 else np.concatenate(parts)
