"""What there is of each feed, where, and until when it lasts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.feed.demand import Demand
from leyfold.nouns.farm import Bin, Farm
from leyfold.nouns.record import State

__all__ = ["Filled", "Store", "empty_on", "hoppers", "last_weeks_days", "runs_out", "stores"]

Floats = NDArray[np.float64]

BAGS = ""
LAST_WEEK_D = 7
CLOSE_KG = 1e-6


@dataclass(frozen=True, slots=True)
class Store:
    """All there is of one feed. `bins` are filled by the lorry; where there are none the feed comes in bags.
    `known` is what was where on which day, bins by their names and bags as "": empty where nobody said.
    `read` says whether that comes from the records or from the farm file."""

    feed: str
    bins: tuple[Bin, ...]
    known: Mapping[str, tuple[date, float]]
    first: date
    read: str | None
    delivery_d: int
    bag_kg: float

    @property
    def has_kg(self) -> float | None:
        return sum(kg for _, kg in self.known.values()) if self.known else None

    @property
    def read_on(self) -> date:
        """The earliest day on which any of it was read."""
        return min((day for day, _ in self.known.values()), default=self.first)

    @property
    def holds_kg(self) -> float | None:
        return sum(b.holds_kg for b in self.bins) if self.bins else None

    @property
    def lorry_least_kg(self) -> float:
        return max((b.lorry_least_kg or 0.0 for b in self.bins), default=0.0)

    @property
    def lorry_most_kg(self) -> float | None:
        given = [b.lorry_most_kg for b in self.bins if b.lorry_most_kg is not None]
        return min(given) if given else None


def stores(farm: Farm, state: State, wanted: Demand) -> tuple[Store, ...]:
    """One store a feed that is eaten in the season or has a bin, in the order of the farm file.

    A bin holds what was read last, else what the farm file says it has on the season's first day. Where bins
    of one feed were read on several days, all counts from the earliest of them: less is then taken to be
    there than there is, and feed is ordered early rather than late.
    """
    found = []
    for feed in wanted.feeds:
        bins = tuple(b for b in farm.bins.values() if b.feed == feed and b.owned(wanted.first))
        if not bins and not wanted.of(feed).any():
            continue
        known, read = _known(farm, state, feed, bins, wanted.first)
        lead = max(
            (b.delivery_d for b in bins if b.delivery_d is not None), default=farm.feeds[feed].delivery_d
        )
        days, bag_kg = _or_kit(lead, "delivery_d"), _or_kit(farm.feeds[feed].bag_kg, "feed_bag_kg")
        found.append(Store(feed, bins, known, wanted.first, read, round(days), bag_kg))
    return tuple(found)


def _known(
    farm: Farm, state: State, feed: str, bins: tuple[Bin, ...], first: date
) -> tuple[dict[str, tuple[date, float]], str | None]:
    written = {one.id: one.has_kg for one in bins} | {BAGS: farm.feeds[feed].has_kg}
    known = {name: (first, kg) for name, kg in written.items() if kg is not None}
    readings = {one.id: state.bins_kg[one.id] for one in bins if one.id in state.bins_kg}
    if feed in state.bins_kg and feed not in farm.bins:
        readings[BAGS] = state.bins_kg[feed]
    read = "records" if readings else "farm file" if known else None
    return known | readings, read


def _or_kit(given: float | None, name: str) -> float:
    return figure(f"kit.{name}").value if given is None else given


def runs_out(kg: Floats, start: int, stock_kg: float) -> int | None:
    """The first day from `start` on that `stock_kg` at its beginning does not feed, `kg` [day] being given;
    None where it lasts the season."""
    short = np.flatnonzero(np.cumsum(kg[start:]) > stock_kg + CLOSE_KG)
    return start + int(short[0]) if len(short) else None


def empty_on(store: Store, wanted: Demand) -> Mapping[str, date | None]:
    """The day each bin, and last the bags (""), runs out when they are emptied one after the other and
    nothing comes; None where it lasts the season. Only those whose content is known."""
    start = max((store.read_on - wanted.first).days, 0)
    found: dict[str, date | None] = {}
    stock = 0.0
    for name in (*(one.id for one in store.bins), BAGS):
        if name in store.known:
            stock += store.known[name][1]
            day = runs_out(wanted.of(store.feed), start, stock)
            found[name] = None if day is None else wanted.first + timedelta(days=day)
    return found


def last_weeks_days(kg: Floats, day: int, stock_kg: float) -> float | None:
    """How long `stock_kg` lasts by the rule of thumb, what is in the bin over what was used last week: too
    long while birds grow. None before a week has passed or where nothing was eaten in it."""
    used = float(kg[day - LAST_WEEK_D : day].sum()) if day >= LAST_WEEK_D else 0.0
    return stock_kg / used * LAST_WEEK_D if used > CLOSE_KG else None


@dataclass(frozen=True, slots=True)
class Filled:
    """The hoppers of one feed: what they hold together, and how many days that lasts at the most eaten."""

    feed: str
    hoppers: tuple[str, ...]
    holds_kg: float
    lasts_d: float | None
    worst_on: date | None


def hoppers(farm: Farm, wanted: Demand) -> tuple[Filled, ...]:
    """Hoppers are filled from the store, so they are no store of their own: what counts is how often."""
    found = []
    for feed in wanted.feeds:
        own = [h for h in farm.hoppers.values() if h.feed == feed]
        if own:
            kg, holds = wanted.of(feed), sum(h.holds_kg for h in own)
            worst = int(np.argmax(kg))
            eaten = float(kg[worst])
            found.append(
                Filled(
                    feed,
                    tuple(h.id for h in own),
                    holds,
                    holds / eaten if eaten > 0 else None,
                    wanted.first + timedelta(days=worst) if eaten > 0 else None,
                )
            )
    return tuple(found)
