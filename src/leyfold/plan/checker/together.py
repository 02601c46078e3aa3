"""Who may share a place: ages in a brooder; ages, weights and sexes of sorted birds in a shelter; birds too
young for lime where others eat layers' feed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nouns.planned import Finding
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
    for name in (*book.farm.houses, *book.farm.shelters):
        young = sum(
            (_exposed(book, s, book.at[name]) for s in book.at.get(name, ())), np.zeros(book.days.count)
        )
        yield from runs(book.days, "lime", name, young, 0.0)


def _shared(book: Book, name: str, stands: tuple[Stand, ...]) -> Iterator[Finding]:
    """What sorted birds that share a shelter with another batch's may not be: of other sexes, hatched too far
    apart, much heavier."""
    own = book.farm.planning.mixed_ages_d
    apart = figure("space.mixed_ages_d").value if own is None else own
    heavier = figure("space.mixed_weight_share").value
    ages, weights, sexes = (np.zeros(book.days.count) for _ in range(3))
    for one, other in combinations(stands, 2):
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


def _exposed(book: Book, stand: Stand, all_there: tuple[Stand, ...]) -> Floats:
    """[day] birds of a stand that are too young for layers' feed and share the place with birds that eat it:
    before their own feeding turns to it, and before the lead on point of lay at which lime does no harm."""
    line, age = stand.flock.line, stand.flock.age_d
    ready = line.point_of_lay_d.value - figure("feeding.lime_lead_d").value
    own = [p.from_d for p in line.feeding if p.sex in (None, stand.flock.sex) and _limy(book, p.feed)]
    young = age < min([ready, *own])
    beside = np.zeros(book.days.count, dtype=bool)
    for other in all_there:
        if other.flock is not stand.flock:
            eats = np.array([_limy(book, feed) for feed in other.flock.feed])
            beside |= (other.heads > 0) & eats
    return np.where(young & beside, stand.heads, 0.0)


def _limy(book: Book, feed: str) -> bool:
    """Whether a feed holds more calcium than growing birds bear. Nobody can tell where it is not known."""
    calcium = book.farm.feeds[feed].calcium
    return calcium is not None and calcium.value > figure("feeding.calcium_grower_most").value
