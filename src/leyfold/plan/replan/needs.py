"""What the birds and the people need day by day, and lack: feed, a roof, water, hands, grass."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.feed.demand import Demand, demand
from leyfold.feed.orders import plan_orders
from leyfold.feed.stores import stores
from leyfold.nouns.record import Group
from leyfold.nouns.replanned import Broken
from leyfold.nouns.season import Season
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.told import Told
from leyfold.reckoning.rates import work
from leyfold.words import say

__all__ = ["FED_LESS", "cover", "eaten", "feed", "ground", "ground_used", "hands", "water"]

Floats = NDArray[np.float64]

SOMEBODY = 0.5
SMALL = 1e-6
WEEK = 7
FED_LESS, RAID_FED_D = 0.5, 2
"""Of their feed that survivors of a raid eat, and for how many days. Common practice."""


def eaten(case: Case, season: Season) -> Demand:
    """Feed by day, less what survivors of a raid leave: for two days they eat half."""
    found = demand(season)
    kg = found.kg.copy()
    raided = {p: season.index(s.first) for s in case.of("dead", "missing") for p in s.places}
    for i, lot in enumerate(season.lots):
        if lot.place in case.farm.shelters and lot.place in raided:
            first = raided[lot.place]
            for day in range(max(first, 0), min(first + RAID_FED_D, season.days)):
                if season.feed_kind[i, day] >= 0:
                    kg[season.feed_kind[i, day], day] -= (1.0 - FED_LESS) * season.feed_kg[i, day]
    return replace(found, kg=kg)


def feed(case: Case, season: Season) -> Iterator[Broken]:
    """Days without feed, by what is in store and when the lorry can come. Only feeds whose store is known."""
    tell = Told(case.farm.holding.language)
    wanted = eaten(case, season)
    waits = {s.kit: s.until for s in case.of("no_feed")}
    for store in stores(case.farm, case.state, wanted):
        until = waits.get(store.feed) or waits.get(None)
        if until is not None:
            store = replace(store, delivery_d=max(store.delivery_d, (until - case.day).days))
        if store.has_kg is None:
            continue
        for dry in plan_orders(store, wanted, case.day).dry:
            if dry.past or dry.last < case.day:
                continue
            said = say(
                "replan.feed",
                feed=store.feed,
                first=tell.day(dry.first),
                last=tell.day(dry.last),
                kg=tell.n(dry.kg, 0),
            )
            name = f"feed:{store.feed}"
            yield Broken("feed", name, store.feed, None, dry.first, dry.last, dry.kg, 0.0, said)


def cover(case: Case, season: Season) -> Iterator[Broken]:
    """Birds in shelters that are no roof while a housing order holds."""
    if case.netted or not case.of("housing"):
        return
    tell = Told(case.farm.holding.language)
    out = sum((p.heads for p in season.places.values() if p.kind == "shelter"), np.zeros(season.days))
    days = [d for d in range(season.days) if out[d] >= SOMEBODY and case.roofed(season.day(d))]
    days = [d for d in days if season.day(d) >= case.day]
    if days:
        first, last = season.day(days[0]), season.day(days[-1])
        heads = float(max(out[d] for d in days))
        said = say(
            "replan.cover", heads=tell.n(heads, 0), first=tell.day(first),
            last=tell.day(last),
        )  # fmt: skip
        yield Broken("cover", "cover", "cover", None, first, last, 0.0, heads, said)


def water(case: Case, season: Season) -> Iterator[Broken]:
    """A place without water today, or all that a tank serves: litres that the birds who stand there now drink
    on an average day."""
    tell = Told(case.farm.holding.language)
    for it in case.of("no_water"):
        served = {it.kit: case.dry(it)} if it.kit is not None else {p: (p,) for p in it.places}
        for place, places in served.items():
            here = [g for g in case.state.groups if g.place in places]
            heads = sum(g.heads for g in here)
            litres = sum(g.heads * _drinks(season, g, case.day) for g in here)
            said = say(
                "replan.water",
                where=place,
                litres=tell.n(litres, 0),
                heads=tell.n(heads, 0),
            )
            if litres > 0:
                yield Broken("water", f"water:{place}", "water", place, case.day, case.day, litres, 0.0, said)


def _drinks(season: Season, group: Group, on: date) -> float:
    """Litres a day of one bird of a group, wherever the plan has them on the day."""
    at = season.index(on)
    rows = [
        i
        for i, lot in enumerate(season.lots)
        if lot.batch == group.batch and group.sex in (None, lot.sex) and 0 <= at < season.days
    ]
    heads = float(season.heads[rows, at].sum()) if rows else 0.0
    return float(season.water_l[rows, at].sum()) / heads if heads > 0 else 0.0


def hands(case: Case, season: Season) -> Iterator[Broken]:
    """Weeks whose daily round takes more hours than those who are there have, while somebody is away;
    `wanted` and `has` are those of the week that lacks most."""
    away = case.of("away")
    if not away:
        return
    tell = Told(case.farm.holding.language)
    hours = _hours(case, season)
    found = []
    for start in range(0, season.days, WEEK):
        days = [season.day(d) for d in range(start, min(start + WEEK, season.days))]
        days = [d for d in days if d >= case.day and any(s.holds(d) for s in away)]
        there = sum(
            (p.hours_per_day or 0.0)
            for p in case.farm.people.values()
            for d in days
            if not any(s.person == p.id and s.holds(d) for s in away)
        )
        there += case.helpers_h * len(days)
        wanted = float(sum(hours[season.index(d)] for d in days))
        if wanted > there + SMALL:
            found.append((days[0], days[-1], wanted / len(days), there / len(days)))
    if found:
        first, last = found[0][0], found[-1][1]
        _, _, wanted, there = max(found, key=lambda week: week[2] - week[3])
        said = say("replan.hands", first=tell.day(first), wanted=tell.n(wanted, 1), there=tell.n(there, 1))
        yield Broken("hands", "hands", "hands", None, first, last, wanted, there, said)


def _hours(case: Case, season: Season) -> Floats:
    """[day] hours of the daily round: places with birds in them, and eggs. Killing days have hands of their
    own."""
    total: Floats = season.eggs.sum(axis=0) * work(case.farm, "egg_h")
    for place in season.places.values():
        if place.kind in ("brooder", "shelter", "house"):
            total = total + (place.heads >= SOMEBODY) * work(case.farm, f"{place.kind}_h_per_d")
    return total


def ground_used(case: Case, season: Season) -> Floats:
    """[day] fresh ground under shelters [m2], from the day of the case on."""
    used = np.zeros(season.days)
    for name, kit in case.farm.shelters.items():
        used += (season.places[name].heads >= SOMEBODY) * kit.floor_m2 * kit.moves_per_day
    used[: max(season.index(case.day), 0)] = 0.0
    return used


def ground(case: Case, season: Season) -> Iterator[Broken]:
    """In a drought no stand comes back: the grass there is against every stand still wanted."""
    most = max((grass.m2 for grass in case.farm.planning.fresh), default=None)
    if most is None or not case.of("drought"):
        return
    tell = Told(case.farm.holding.language)
    total = np.cumsum(ground_used(case, season))
    over = np.flatnonzero(total > most)
    if over.size:
        first = season.day(int(over[0]))
        said = say(
            "replan.ground", first=tell.day(first), wanted=tell.n(float(total[-1]), 0),
            there=tell.n(most, 0),
        )  # fmt: skip
        last = season.day(season.days - 1)
        yield Broken("ground", "ground", "ground", None, first, last, float(total[-1]), most, said)
