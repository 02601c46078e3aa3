"""What the entries of a reckoning come to: by batch, class, month and week, for one unit, and in cash."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.reckoning import CLASSES, Class, Entry, Reckoning
from leyfold.reckoning.quantities import load_kg

__all__ = ["MAIN", "Part", "Unit", "by", "by_month", "by_rate", "cash_by_week", "units"]

Floats = NDArray[np.float64]

MAIN: Mapping[Class, tuple[str, ...]] = {
    "table": ("carcass",),
    "pullets": ("pullet_out",),
    "eggs": ("egg", "hatching_egg_out"),
}
"""What each class is kept for; all else it brings is taken off its costs."""

SELLS: Mapping[Class, str] = {"table": "prices.carcass", "pullets": "prices.pullet", "eggs": "prices.egg"}
DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class Part:
    """`cost` and `takings` both above zero; `margin` is what is left."""

    cost: float
    takings: float

    @property
    def margin(self) -> float:
        return self.takings - self.cost


@dataclass(frozen=True, slots=True)
class Unit:
    """One kg of carcass, pullet or egg: how many there are, what one costs (what the class brings besides is
    taken off), the farm's price for it, and the price at which the class has a margin of nothing. None where
    there are none of them."""

    kind: Class
    number: float
    cost: float | None
    price: float | None
    break_even: float | None


def part(entries: list[Entry]) -> Part:
    """What some entries cost and bring, both above zero."""
    money = [e.sum for e in entries]
    return Part(-sum(m for m in money if m < 0), sum(m for m in money if m > 0))


def by(reckoning: Reckoning, key: Callable[[Entry], str]) -> dict[str, Part]:
    """Cost and takings by what `key` says of each entry, in the order they come."""
    groups: dict[str, list[Entry]] = {}
    for entry in reckoning.entries:
        groups.setdefault(key(entry), []).append(entry)
    return {name: part(entries) for name, entries in groups.items()}


def by_rate(reckoning: Reckoning, kind: Class | None = None) -> dict[str, float]:
    """Money by rate, of one class or of all."""
    found: dict[str, float] = {}
    for entry in reckoning.entries:
        if kind in (None, entry.kind):
            found[entry.rate.id] = found.get(entry.rate.id, 0.0) + entry.sum
    return found


def by_month(reckoning: Reckoning) -> dict[str, float]:
    """Margin of each month, by "2027-03"."""
    daily = sum((e.money for e in reckoning.entries), np.zeros(reckoning.days))
    found: dict[str, float] = {}
    for i, money in enumerate(daily):
        month = f"{reckoning.first + timedelta(days=i):%Y-%m}"
        found[month] = found.get(month, 0.0) + float(money)
    return found


def units(reckoning: Reckoning) -> tuple[Unit, ...]:
    """One row a class."""
    number: dict[Class, float] = {
        "table": reckoning.carcass_kg,
        "pullets": reckoning.pullets,
        "eggs": reckoning.eggs,
    }
    rows = []
    for kind in CLASSES:
        entries = [e for e in reckoning.entries if e.kind == kind]
        besides = sum(e.sum for e in entries if e.rate.id not in MAIN[kind])
        sold = [e for e in entries if e.rate.price == SELLS[kind]]
        price = sold[0].rate.figure.value if sold else None
        # The margin is linear in the price: each unit moves it by one, or takes it back.
        slope = sum((1.0 if e.rate.takes else -1.0) * float(e.quantity.sum()) for e in sold)
        margin = sum(e.sum for e in entries)
        there = number[kind] > 0
        rows.append(
            Unit(
                kind,
                number[kind],
                -besides / number[kind] if there else None,
                price,
                price - margin / slope if price is not None and slope > 0 and there else None,
            )
        )
    return tuple(rows)


def cash_by_week(farm: Farm, reckoning: Reckoning) -> tuple[tuple[date, float], ...]:
    """(Monday, money that changes hands in its week): without the farm's own hours, what classes hand to each
    other and the worth of birds. Feed kept in a bin is paid by the load, when the bin is empty; other feed
    as it is eaten. Killing, carcasses and eggs are paid on their day."""
    daily = np.zeros(reckoning.days)
    for entry in reckoning.entries:
        if entry.rate.own_hours or entry.rate.inside or entry.rate.stock:
            continue
        money = entry.money
        if not entry.rate.id.startswith("feed."):
            daily += money
    for feed in farm.feeds:
        entries = [e for e in reckoning.entries if e.rate.id == f"feed.{feed}"]
        if entries:
            eaten: Floats = np.sum([e.quantity for e in entries], axis=0)
            daily -= entries[0].rate.figure.value * _paid_kg(farm, feed, eaten)
    weekly = daily.reshape(-1, DAYS_A_WEEK).sum(axis=1)
    return tuple((reckoning.first + timedelta(days=DAYS_A_WEEK * i), float(m)) for i, m in enumerate(weekly))


def _paid_kg(farm: Farm, feed: str, eaten: Floats) -> Floats:
    """[day] kg paid for: whole loads, each on the day the bins of this feed are empty."""
    bins = [store for store in farm.bins.values() if store.feed == feed]
    if not bins:
        return eaten
    load, has = load_kg(farm, feed), sum(b.has_kg or 0.0 for b in bins)
    gone = np.cumsum(eaten)
    loads = np.array([max(ceil((kg - has) / load - 1e-9), 0) for kg in gone])
    paid: Floats = np.diff(loads, prepend=0) * load
    return paid
