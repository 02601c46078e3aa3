"""Who may share a place: ages in a brooder; ages, weights and sexes of sorted birds in a shelter; birds too
young for lime where others eat layers' feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.birds import Flock
from leyfold.plan.checker.book import Book, Stand
from leyfold.plan.checker.days import Floats, runs

__all__ = ["together"]


def together(book: Book) -> Iterator[Finding]:
    """Ages too far apart in one brooder; sorted birds of several batches too unlike for one shelter; birds
    too young for the lime in their neighbours' trough."""
    apart = book.farm.planning.mixed_ages_d
    for name in book.farm.brooders if apart is not None else ():
        assert apart is not None
        yield from runs(book.days, "mixed_ages", name, _spread(book, name), float(apart))
    for name in book.farm.shelters:
        yield from _shared(book, name, book.at.get(name, ()))
    limy = frozenset(name for name in book.farm.feeds if _limy(book, name))
    for name in (*book.farm.houses, *book.farm.shelters):
        yield from runs(book.days, "lime", name, _exposed(book, name, limy), 0.0)


def _shared(book: Book, name: str, stands: tuple[Stand, ...]) -> Iterator[Finding]:
    """What sorted birds that share a shelter with another batch's may not be: of other sexes, hatched too far
    apart, much heavier."""
    own = book.farm.planning.mixed_ages_d
    apart = figure("space.mixed_ages_d").value if own is None else own
    heavier = figure("space.mixed_weight_share").value
    ages, weights, sexes = (np.zeros(book.days.count) for _ in range(3))
    for one, other in _meeting(stands):
        if one.flock.batch is other.flock.batch:
            continue
        both = _sorted(one) & _sorted(other)
        a, b = one.flock, other.flock
        ages = np.maximum(ages, both * np.abs(a.age_d - b.age_d))
        if a.sex != b.sex:
            sexes = np.maximum(sexes, both * (one.heads + other.heads))
            continue
        light = np.where(both, np.minimum(a.weight_kg, b.weight_kg), 1.0)
        weights = np.maximum(weights, both * (np.maximum(a.weight_kg, b.weight_kg) / light - 1.0))
    yield from runs(book.days, "mixed_ages", name, ages, float(apart))
    yield from runs(book.days, "mixed_weights", name, 100.0 * weights, 100.0 * heavier)
    yield from runs(book.days, "mixed_sexes", name, sexes, 0.0)


def _meeting(stands: Sequence[Stand]) -> Iterator[tuple[Stand, Stand]]:
    """All pairs of stands with a day in common."""
    by_day = sorted(stands, key=lambda stand: stand.stay.first)
    for i, one in enumerate(by_day):
        for other in islice(by_day, i + 1, None):
            if other.stay.first >= one.stay.until:
                break
            yield one, other


def _sorted(stand: Stand) -> NDArray[np.bool_]:
    """[day] whether birds stand there that have been sorted."""
    batch = stand.flock.batch
    usual = batch.hatched_on + timedelta(days=round(stand.flock.line.sort_d.value))
    day = max(batch.sort_on or usual, batch.arrives_on)
    return (stand.heads > 0) & (stand.flock.age_d >= (day - batch.hatched_on).days)


def _spread(book: Book, place: str) -> Floats:
    """[day] days between the first and the last hatch of the birds in a place."""
    oldest, youngest = np.full(book.days.count, -np.inf), np.full(book.days.count, np.inf)
    for stand in book.at.get(place, ()):
        here = stand.heads > 0
        oldest = np.where(here, np.maximum(oldest, stand.flock.age_d), oldest)
        youngest = np.where(here, np.minimum(youngest, stand.flock.age_d), youngest)
    some = np.isfinite(oldest)
    return np.where(some, np.where(some, oldest, 0.0) - np.where(some, youngest, 0.0), 0.0)


def _exposed(book: Book, place: str, limy: frozenset[str]) -> Floats:
    """[day] birds in a place that are too young for layers' feed and share it with birds that eat it: before
    their own feeding turns to it, and before the lead on point of lay at which lime does no harm."""
    eaten = np.zeros(book.days.count, dtype=bool)
    for stand in book.at.get(place, ()):
        eaten |= (stand.heads > 0) & np.isin(stand.flock.feed, list(limy))
    return book.sum(place, lambda stand: np.where(eaten & _young(stand.flock, limy), stand.heads, 0.0))


def _young(flock: Flock, limy: frozenset[str]) -> NDArray[np.bool_]:
    line = flock.line
    ready = line.point_of_lay_d.value - figure("feeding.lime_lead_d").value
    own = [phase.from_d for phase in line.feeding if phase.sex in (None, flock.sex) and phase.feed in limy]
    return np.asarray(flock.age_d < min([ready, *own]))


def _limy(book: Book, feed: str) -> bool:
    """Whether a feed holds more calcium than growing birds bear. Nobody can tell where it is not known."""
    calcium = book.farm.feeds[feed].calcium
    return calcium is not None and calcium.value > figure("feeding.calcium_grower_most").value
