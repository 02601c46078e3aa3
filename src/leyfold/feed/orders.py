"""When to order feed and how much, so that no bin runs over or dry and nothing grows old."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.feed.demand import Demand
from leyfold.feed.stores import Store, last_weeks_days, runs_out

__all__ = ["Dry", "Order", "Orders", "plan_orders"]

Floats = NDArray[np.float64]

CLOSE_KG = 1e-6


@dataclass(frozen=True, slots=True)
class Order:
    """One coming of feed. `late`: it should have been ordered before today. `stale_kg` of it are eaten only
    when older than feed keeps. `small`: less than the lorry brings at least. `lasts_d` and `naive_d` are the
    days that what was in store on `order_by` lasted: by what is eaten then, and by last week's use."""

    feed: str
    order_by: date
    arrives: date
    kg: float
    bags: int | None
    late: bool
    stale_kg: float
    small: bool
    lasts_d: float
    naive_d: float | None


@dataclass(frozen=True, slots=True)
class Dry:
    """Days, the last one too, on which `kg` of what is wanted are not there. `past`: before today, by the
    book alone: what came since the store was read nobody wrote down."""

    first: date
    last: date
    kg: float
    past: bool


@dataclass(frozen=True, slots=True, eq=False)
class Orders:
    """`stock_kg` [day] at the day's start, after what came that morning: NaN before the store was read."""

    store: Store
    orders: tuple[Order, ...]
    stock_kg: Floats
    dry: tuple[Dry, ...]
    runs_out: date | None
    """Without any order."""
    left_kg: float
    """In store when the season ends."""
    stale_kg: float
    """Of what was in store when it was read, eaten only when older than feed keeps."""


def plan_orders(store: Store, wanted: Demand, today: date) -> Orders:
    """All orders of one feed over the season.

    Each comes two spare days (`feeding.order_spare_d`) before the store is empty, and is as large as fits:
    the room there is, the lorry, what is eaten before it is too old (`kit.feed_keeps_d`), and what is eaten
    before the season ends. Where that is less than the lorry brings, it comes later, up to the day the store
    is empty. Nothing arrives before today and the days of delivery.
    """
    walk = _Walk(store, wanted, today)
    walk.run()
    first_dry = runs_out(wanted.of(store.feed), walk.start, store.has_kg or 0.0)
    return Orders(
        store,
        tuple(walk.orders),
        walk.level,
        _spells(walk.missing, wanted.first, walk.today),
        None if first_dry is None else wanted.first + timedelta(days=first_dry),
        walk.stock,
        _stale(walk.kg[walk.start :], store.has_kg or 0.0, walk.keeps),
    )


class _Walk:
    """One walk through the days with the stock in hand."""

    def __init__(self, store: Store, wanted: Demand, today: date) -> None:
        self.store, self.first = store, wanted.first
        self.kg = wanted.of(store.feed)
        self.days = len(self.kg)
        self.spare = round(figure("feeding.order_spare_d").value)
        self.keeps = round(figure("kit.feed_keeps_d").value)
        self.start = self.day = min(max((store.read_on - wanted.first).days, 0), self.days)
        # A season that is over, or not begun, is planned as if from its first day.
        now = (today - wanted.first).days
        self.today = now if 0 <= now < self.days else min(now, 0)
        self.stock = store.has_kg or 0.0
        self.level = np.full(self.days, np.nan)
        self.missing = np.zeros(self.days)
        self.orders: list[Order] = []

    def run(self) -> None:
        while (out := runs_out(self.kg, self.day, self.stock)) is not None:
            arrives = max(out - self.spare, self.today + self.store.delivery_d, self.day)
            arrives = min(self._wait_for_room(arrives, out), self.days)
            asked_for_on, in_store, since = arrives - self.store.delivery_d, self.stock, self.day
            self._live(arrives)
            if arrives == self.days:
                return
            kg, bags = self._load()
            if kg <= CLOSE_KG:  # full, and still not enough for a day
                self._live(self.day + 1)
                continue
            self._order(out, asked_for_on, since, in_store, kg, bags)
        self._live(self.days)

    def _wait_for_room(self, arrives: int, out: int) -> int:
        """The first day from `arrives` until the store is empty with room for the least the lorry brings."""
        holds, least = self.store.holds_kg, self.store.lorry_least_kg
        if holds is None or least == 0:
            return arrives
        for day in range(arrives, out + 1):
            if holds - (self.stock - float(self.kg[self.day : day].sum())) >= least - CLOSE_KG:
                return day
        return max(arrives, out)

    def _live(self, until: int) -> None:
        for day in range(self.day, until):
            self.level[day] = self.stock
            given = min(self.stock, float(self.kg[day]))
            self.missing[day] = self.kg[day] - given
            self.stock -= given
        self.day = until

    def _load(self) -> tuple[float, int | None]:
        fresh = float(self.kg[self.day : self.day + self.keeps].sum()) - self.stock
        if self.store.holds_kg is None:
            to_eat = float(self.kg[self.day :].sum()) - self.stock
            bag = self.store.bag_kg
            bags = int(np.ceil(to_eat / bag - 1e-9)) if to_eat <= fresh + CLOSE_KG else int(fresh // bag)
            return max(bags, 1) * bag, max(bags, 1)
        room = max(self.store.holds_kg - self.stock, 0.0)
        most = min(room, self.store.lorry_most_kg or room)
        return min(most, max(fresh, self.store.lorry_least_kg)), None

    def _order(self, out: int, asked: int, since: int, in_store: float, kg: float, bags: int | None) -> None:
        ahead = self.kg[self.day :]
        stale = _stale(ahead, self.stock + kg, self.keeps) - _stale(ahead, self.stock, self.keeps)
        # What was in store on the day of ordering, for the days it lasts by either reckoning.
        at = min(max(asked, since), self.days - 1)
        stock = in_store - float(self.kg[since:at].sum())
        ordered = max(asked, self.today)
        self.orders.append(
            Order(
                feed=self.store.feed,
                order_by=self.first + timedelta(days=ordered),
                arrives=self.first + timedelta(days=self.day),
                kg=kg,
                bags=bags,
                late=out - self.spare - self.store.delivery_d < self.today,
                stale_kg=stale,
                small=kg < self.store.lorry_least_kg - CLOSE_KG,
                lasts_d=float(out - at),
                naive_d=last_weeks_days(self.kg, at, max(stock, 0.0)) if asked >= since else None,
            )
        )
        self.stock += kg


def _stale(kg: Floats, stock_kg: float, keeps_d: int) -> float:
    """What of a stock is eaten only after `keeps_d` days."""
    return max(min(stock_kg, float(kg.sum())) - float(kg[:keeps_d].sum()), 0.0)


def _spells(missing: Floats, first: date, today: int) -> tuple[Dry, ...]:
    """Unbroken runs of days on which feed is missing, those before today apart."""
    found: list[Dry] = []
    for day in np.flatnonzero(missing > CLOSE_KG).tolist():
        on, past = first + timedelta(days=day), day < today
        if found and found[-1].last == on - timedelta(days=1) and found[-1].past == past:
            found[-1] = Dry(found[-1].first, on, found[-1].kg + float(missing[day]), past)
        else:
            found.append(Dry(on, on, float(missing[day]), past))
    return tuple(found)
