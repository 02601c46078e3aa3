"""How much of each feed is given on each day to come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.feed.changeover import Change
from leyfold.nouns.season import Season

__all__ = ["Demand", "demand", "joined"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """`kg` [feed, day], waste included."""

    first: date
    feeds: tuple[str, ...]
    kg: Floats

    def of(self, feed: str) -> Floats:
        kg: Floats = self.kg[self.feeds.index(feed)]
        return kg


def demand(season: Season, changes: Sequence[Change] | None = None) -> Demand:
    """The feed of the season by kind: as planned by age, or with `changes` by weight and mixed over days.

    A change moves feed from one kind to another and leaves the kg of the day as they are. A change that
    never comes leaves the birds on the feed before it.
    """
    kinds, days = len(season.feeds), season.days
    if changes is None:
        kg = np.array([(season.feed_kg * (season.feed_kind == k)).sum(axis=0) for k in range(kinds)])
        return Demand(season.first, season.feeds, kg.reshape(kinds, days))
    kg = np.zeros((kinds, days))
    for i, lot in enumerate(season.lots):
        here = season.feed_kind[i] >= 0
        if not here.any():
            continue
        own = [c for c in changes if c.batch == lot.batch and c.sex in (None, lot.sex)]
        share = np.zeros((kinds, days))
        share[_first_kind(season, i, own)] = 1.0
        for change in own:
            new = _ramp(season, change)
            share *= 1.0 - new
            share[season.feeds.index(change.feed)] += new
        kg += share * (season.feed_kg[i] * here)
    if abs(kg.sum() - season.feed_kg.sum()) > 1e-9 * max(float(season.feed_kg.sum()), 1.0):
        raise ArithmeticError("feed was lost or made in going over from one to the next")
    return Demand(season.first, season.feeds, kg)


def _first_kind(season: Season, lot: int, own: Sequence[Change]) -> int:
    """The feed before any change: what the birds of the batch get at the earliest day not yet changed."""
    before = min((season.index(c.by_age) for c in own), default=season.days)
    batch, sex = season.lots[lot].batch, season.lots[lot].sex
    for i, other in enumerate(season.lots):
        if (other.batch, other.sex) == (batch, sex):
            days = np.flatnonzero(season.feed_kind[i, : max(before, 0)] >= 0)
            if len(days):
                return int(season.feed_kind[i, days[0]])
    # They came after their first change by age: the change itself puts them on its feed.
    there = np.flatnonzero(season.feed_kind[lot] >= 0)
    return int(season.feed_kind[lot, there[0]])


def _ramp(season: Season, change: Change) -> Floats:
    """[day] the share of the new feed."""
    new = np.zeros(season.days)
    if change.on is None:
        return new
    start = season.index(change.on)
    for day, share in change.shares:
        if 0 <= season.index(day) < season.days:
            new[season.index(day)] = share
    new[max(start + len(change.shares), 0) :] = 1.0
    return new


def joined(before: Demand, after: Demand) -> Demand:
    """`before` up to the first day of `after`, then `after`; `after` alone where it begins no later."""
    gap = (after.first - before.first).days
    if gap <= 0:
        return after
    feeds = (*after.feeds, *(feed for feed in before.feeds if feed not in after.feeds))
    kg = np.zeros((len(feeds), gap + after.kg.shape[1]))
    for row, feed in enumerate(feeds):
        if feed in before.feeds:
            past = before.of(feed)[:gap]
            kg[row, : len(past)] = past
        if feed in after.feeds:
            kg[row, gap:] = after.of(feed)
    return Demand(before.first, feeds, kg)
