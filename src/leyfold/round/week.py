"""The week ahead: turning out, dated work, eggs to set, feed and light."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.feed.demand import Demand
from leyfold.feed.stores import empty_on, stores
from leyfold.nature.sun import day_length_h
from leyfold.nouns.ahead import Due, FeedLeft, Flock, Laying, Settable, Turnout, TurnoutDay
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.round.figures import cold_rule
from leyfold.round.nights import under_floor
from leyfold.round.tried import Tried

__all__ = ["due", "feed_left", "laying", "settable", "turnouts"]

Floats = NDArray[np.float64]

NIGHTS = 5
SMALL_CHANCE = 0.2
"""A turnout is fair where no more than one draw in five has a night under the floor: a guess."""
ASKED_FROM_D = 14
DUE_D = 7
CANDLE_D = (7, 18)
FIRST_WEEKS_OF_LAY = 6.0
SAFETY_D = 2
"""Days kept in hand when feed is ordered: common practice."""


def turnouts(
    farm: Farm, season: Season, flocks: Sequence[Flock], run: Tried, air: Floats,
    spans: Sequence[tuple[datetime, datetime]], day: date,
) -> tuple[Turnout, ...]:  # fmt: skip
    """For every flock in a brooder from two weeks on: each day of the week as the day of turning out, with
    the chance of a night under their floor in the five after it, against floor and lamps if they wait."""
    rule = cold_rule(farm)
    batches = {b.id: b for b in season.plan.batches}
    found = []
    for flock in flocks:
        planned = batches[flock.batch].turnout_on if flock.batch in batches else None
        if flock.kind != "brooder" or flock.age_d < ASKED_FROM_D or planned is None:
            continue
        under = [under_floor(rule, flock, flock.age_d + k, run, air, span) for k, span in enumerate(spans)]
        kit = farm.brooders[flock.place]
        a_day = sum(lamp.watts for lamp in kit.lamps) * 24 / 1000 * farm.prices.get("electricity", np.nan)
        days = []
        for k in range(min(DUE_D, len(spans))):
            nights = under[k : k + NIGHTS]
            i = season.index(day) + k
            share = float(season.places[flock.place].floor_share[i]) if i < season.days else 0.0
            cost = None if np.isnan(a_day) else k * a_day
            chance = float(np.any(nights, axis=0).mean())
            days.append(TurnoutDay(day + timedelta(days=k), chance, len(nights), share, cost))
        best = next((d.day for d in days if d.chance <= SMALL_CHANCE), None)
        found.append(Turnout(flock.batch, flock.place, flock.heads, planned, tuple(days), best))
    return tuple(found)


def due(season: Season, day: date) -> tuple[Due, ...]:
    """Dated work from `day` up to seven days on, by day."""
    return tuple(sorted(
        (d for d in _dated(season) if day <= d.day < day + timedelta(days=DUE_D)),
        key=lambda d: (d.day, d.what, d.batch),
    ))  # fmt: skip


def _dated(season: Season) -> Iterator[Due]:
    for batch in season.plan.batches:
        eggs = float(batch.eggs or 0)
        if batch.set_on is not None:
            yield Due(batch.set_on, "set", batch.id, eggs)
            for after in CANDLE_D:
                yield Due(batch.set_on + timedelta(days=after), "candle", batch.id, eggs)
            yield Due(batch.hatched_on, "take_off", batch.id, eggs)
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
        for what, on in (("turn_out", batch.turnout_on), ("sort", batch.sort_on), ("house", batch.house_on)):
            if on is not None and on > batch.arrives_on and 0 <= season.index(on) < season.days:
                yield Due(on, what, batch.id, float(season.heads[rows, season.index(on)].sum()))
        killed = season.killed[rows].sum(axis=0)
        for i in np.flatnonzero(killed > 0).tolist():
            yield Due(season.day(i), "kill", batch.id, float(killed[i]))


def settable(farm: Farm, season: Season, flocks: Sequence[Flock], day: date) -> tuple[Settable, ...]:
    """Eggs a day fit to set: of the breeding pens owned, and of flocks of hens six weeks into lay, with the
    settable share of the farm's pens."""
    found = [
        Settable(name, pen.hens * pen.lay_share * pen.settable_share)
        for name, pen in farm.pens.items()
        if pen.owned(day) and pen.lay_share is not None and pen.settable_share is not None
    ]
    kept = [pen.settable_share for pen in farm.pens.values() if pen.settable_share is not None]
    i = season.index(day)
    for flock in flocks if kept and 0 <= i < season.days else ():
        old_d = farm.lines[flock.line].point_of_lay_d.value + 7 * FIRST_WEEKS_OF_LAY
        rows = [
            r for r, lot in enumerate(season.lots) if (lot.batch, lot.place) == (flock.batch, flock.place)
        ]
        eggs = float(season.eggs[rows, i].sum())
        if flock.age_d >= old_d and eggs > 0:
            found.append(Settable(flock.place, eggs * max(kept)))
    return tuple(found)


def feed_left(farm: Farm, wanted: Demand, state: State, day: date) -> tuple[FeedLeft, ...]:
    """Every feed eaten from `day` on, of what is `wanted` each day: what there is, the day it runs out when
    nothing comes, and the day to order by. Nothing is known of a store that by the sum was eaten up before
    that day."""
    i = max((day - wanted.first).days, 0)
    found = []
    for store in stores(farm, state, wanted):
        if not wanted.of(store.feed)[i : i + 14].any():
            continue
        ends = [*empty_on(store, wanted).values()]
        last = ends[-1] if ends else None
        if last is None or last < day:
            # Eaten up by the sum, and yet the birds are fed: feed came that nobody wrote down.
            has = None if last is not None else store.has_kg
            found.append(FeedLeft(store.feed, has, None, None, None))
            continue
        order = last - timedelta(days=store.delivery_d + SAFETY_D)
        kg = (store.has_kg or 0.0) - float(
            wanted.of(store.feed)[max((store.read_on - wanted.first).days, 0) : i].sum()
        )
        found.append(FeedLeft(store.feed, max(kg, 0.0), last, (last - day).days, order))
    return tuple(found)


def laying(farm: Farm, flocks: Sequence[Flock], day: date) -> tuple[Laying, ...]:
    """Flocks at or near point of lay: hours of light they have tomorrow, and those of full lay."""
    of_year = float(day.timetuple().tm_yday)
    daylight = float(day_length_h(farm.holding.latitude_deg, of_year, below_horizon_deg=0.8333))
    found = []
    for flock in flocks:
        line = farm.lines[flock.line]
        if (
            "pullet" not in flock.sexes
            or flock.kind != "house"
            or flock.age_d < line.point_of_lay_d.value - 14
        ):
            continue
        lamps = farm.houses[flock.place].light_h
        light = daylight if lamps is None else max(daylight, lamps)
        found.append(Laying(flock.place, flock.heads, light, line.hen.light_full_h.value))
    return tuple(found)
