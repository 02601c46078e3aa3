"""Feed and water: what there is, how long it lasts, who may eat what, when each place was last seen full."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from leyfold.feed.orders import plan_orders
from leyfold.feed.stores import runs_out, stores
from leyfold.nouns.clock import civil, wall
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.needs import eaten
from leyfold.plan.replan.numbers.view import View
from leyfold.plan.replan.today import HEAT_C

__all__ = ["feed_left", "water_seen"]

HOT_C = 30.0
HOUR_S = 3600.0
READ = ("feed read", "delivered")


def feed_left(view: View) -> Iterator[Number]:
    """Every feed eaten today: what is there, how long it lasts, who may eat another instead."""
    season, at = view.now.season, view.today()
    wanted = eaten(view.case, season)
    there: dict[str, float] = {}
    lasts: dict[str, int | None] = {}
    for store in stores(view.case.farm, view.case.state, wanted):
        kg = wanted.of(store.feed)
        stock = float(plan_orders(store, wanted, view.day).stock_kg[at]) if store.has_kg is not None else None
        if stock is not None:
            there[store.feed] = stock
            out = runs_out(kg, at, stock)
            lasts[store.feed] = None if out is None else out - at
    if there and not any(r.kind in READ for r in view.records):
        yield view.number("feed_by_plan", None, None, view.day)
    for feed in wanted.feeds:
        a_day = float(wanted.of(feed)[at])
        if a_day <= 0:
            continue
        words = {"feed": feed, "a_day": view.tell.n(a_day, 1), "who": ", ".join(_eaters(view, feed))}
        if feed not in there:
            yield view.number("feed_unread_kg", None, feed, view.day, **words)
            continue
        days = lasts[feed]
        if days is None:
            yield view.number("feed_season_kg", there[feed], feed, None, kg=there[feed], **words)
            continue
        ends = view.day + timedelta(days=days)
        yield view.number(
            "feed_lasts_d", float(days), feed, ends, kg=there[feed], days=days, ends=ends, **words
        )
        yield from _instead(view, feed, a_day, there)


def _eaters(view: View, feed: str) -> list[str]:
    """Batches that eat a feed today."""
    season, at = view.now.season, view.today()
    kind = season.feeds.index(feed)
    rows = [i for i in range(len(season.lots)) if season.feed_kind[i, at] == kind and season.heads[i, at] > 0]
    return list(dict.fromkeys(season.lots[i].batch for i in rows))


def _instead(view: View, feed: str, a_day: float, there: dict[str, float]) -> Iterator[Number]:
    """A feed meant for younger birds may be eaten by older ones for some days; never one meant for older."""
    lines = {view.case.state.batches[b].line for b in _eaters(view, feed) if b in view.case.state.batches}
    for name in sorted(lines):
        phases = sorted(view.case.farm.lines[name].feeding, key=lambda p: p.from_d)
        feeds = list(dict.fromkeys(p.feed for p in phases))
        younger = feeds[: feeds.index(feed)] if feed in feeds else []
        for other in reversed(younger):
            if there.get(other, 0.0) >= a_day:
                days = int(there[other] / a_day)
                yield view.number(
                    "feed_instead_d",
                    float(days),
                    feed,
                    view.day,
                    feed=feed,
                    other=other,
                    kg=there[other],
                    days=days,
                )
                return


def water_seen(view: View) -> Iterator[Number]:
    """When each place with birds was last filled, those longest ago first, and what the dry ones want."""
    zone = view.case.farm.holding.zone
    dry = dict.fromkeys(p for s in view.case.of("no_water") for p in view.case.dry(s))
    for place in dry:
        groups = view.groups((place,))
        litres = sum(g.heads * view.of_one(view.now.season.water_l, g) for g in groups)
        hot = sum(g.heads * view.of_one(view.now.season.water_l, g) * _hotter(view, g.batch) for g in groups)
        if litres > 0 and view.case.farm.temperature_C[view.day.month - 1].value > HEAT_C:
            yield view.number(
                "water_hot_l", hot, place, view.day, where=place, litres=view.tell.n(litres, 0), hot=hot
            )
    seen = view.case.state.watered
    places = sorted({g.place for g in view.groups()}, key=lambda p: (p not in dry, p))
    never = [p for p in places if p not in seen]
    for place in sorted((p for p in places if p in seen), key=lambda p: seen[p].at):
        hours = (view.case.at - seen[place].at).total_seconds() / HOUR_S
        clock = f"{wall(seen[place].at, zone):%H:%M}"
        yield view.number(
            "water_last_h",
            hours,
            place,
            seen[place].on,
            where=place,
            on=civil(seen[place].at, zone),
            clock=clock,
            hours=hours,
        )
    if never:
        yield view.number("water_never", None, None, view.day, which=", ".join(never))


def _hotter(view: View, batch: str) -> float:
    """Water drunk on a day of 30 °C over what is drunk at the month's mean."""
    line = view.case.farm.lines[view.case.state.batches[batch].line]
    usual = view.case.farm.temperature_C[view.day.month - 1].value
    slope, base = line.pullet.water_slope_per_K.value, line.pullet.water_base_C.value
    return (1 + slope * max(HOT_C - base, 0.0)) / (1 + slope * max(usual - base, 0.0))
