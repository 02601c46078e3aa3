"""Birds that go on eating: what a day more costs and earns, how heavy their ground gets, and the freezer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.errors import BadInput
from leyfold.nouns.plan import Batch
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.mending.idea import open_days
from leyfold.plan.replan.numbers.view import SOMEBODY, View
from leyfold.reckoning.keeping import keeping
from leyfold.season.dates import dated
from leyfold.season.party import limits_of

__all__ = ["kept_alive", "unsold"]

FORTNIGHT = timedelta(days=14)
LOOKED = timedelta(days=42)
QUANTITIES = ("kg_per_m2", "kg_n_per_ha_pass")


@dataclass(frozen=True, slots=True)
class Late:
    """Cockerels of a batch due on one day and killed on another."""

    batch: Batch
    due: date
    until: date


def kept_alive(view: View) -> Iterator[Number]:
    """Of every killing put off: cost and gain of a bird and a day, ground, freezer, second day."""
    for late in _late(view):
        yield from _a_day(view, late.batch, late.due, late.until)
        yield from _ground(view, late)
        yield from _freezer(view, late.batch, late.due)
        yield from _second(view, late)


def _late(view: View) -> Iterator[Late]:
    now = {b.id: b for b in view.now.season.plan.batches}
    for batch in dated(view.case.farm, view.case.plan):
        for draft in batch.drafts:
            off = view.case.shut(draft.on) or view.case.stopped(batch.id, draft.on) is not None
            if draft.share > 0 and draft.on >= view.day and off and batch.id in now:
                later = [d.on for d in now[batch.id].drafts if d.on > draft.on and d.share > 0]
                if later and _cocks(view, batch.id, draft.on) >= SOMEBODY:
                    yield Late(now[batch.id], draft.on, later[0])
                    break


def _cocks(view: View, batch: str, on: date) -> float:
    at = view.at(on)
    return float(view.now.season.heads[view.rows(batch, "cockerel"), at].sum())


def _a_day(view: View, batch: Batch, due: date, until: date) -> Iterator[Number]:
    """By the reckoning of a bird kept a day longer, over the days from `due` until `until`."""
    try:
        kept = keeping(view.case.farm, view.now.season, batch)
    except BadInput:
        return
    days = [d for d in kept.days if due <= d.on < until] if kept is not None else []
    if not days:
        return
    feed = sum(d.feed for d in days) / len(days)
    rest = sum(d.water + d.labour + d.loss for d in days) / len(days)
    gains = sum(d.takings for d in days) / len(days)
    heads = _cocks(view, batch.id, due)
    tell = view.tell
    yield view.number(
        "day_more",
        feed + rest,
        batch.id,
        due,
        batch=batch.id,
        due=due,
        until=until,
        cost=tell.n(feed + rest, 3),
        feed=tell.n(feed, 3),
        gains=tell.n(gains, 3),
        n=heads,
        all=tell.n(heads * (feed + rest), 2),
        nets=tell.n(heads * (gains - feed - rest), 2),
    )


def _ground(view: View, late: Late) -> Iterator[Number]:
    """kg and nitrogen to the ground on the day that was lost and on the last before the new one."""
    season = view.now.season
    a, b = (view.at(on) for on in (late.due, late.until))
    for place in dict.fromkeys(season.lots[i].place for i in view.rows(late.batch.id, "cockerel")):
        seen = season.places[place]
        if seen.kind != "shelter" or seen.heads[a] < SOMEBODY:
            continue
        most: dict[str, float] = {x.quantity: x.at_most for x in limits_of(view.case.farm, "shelter", place)}
        for quantity in QUANTITIES:
            series = getattr(seen, quantity)
            over = np.flatnonzero(series[a : b + 1] > most.get(quantity, np.inf))
            then = series[max(b - 1, a)]
            words = {
                "where": place,
                "due": late.due,
                "at_first": view.tell.n(float(series[a]), 1),
                "then": view.tell.n(float(then), 1),
                "last": late.until - timedelta(days=1),
                "most": view.tell.n(most[quantity], 0) if quantity in most else "-",
            }
            key = "over" if over.size else "under"
            first = season.day(a + int(over[0])) if over.size else late.until
            yield view.number(f"{quantity}_{key}", float(then), place, first, on=first, **words)


def _freezer(view: View, batch: Batch, on: date) -> Iterator[Number]:
    """Carcasses of the whole batch against the freezer."""
    season, line = view.now.season, view.case.farm.lines[batch.line]
    at = view.at(on)
    rows = view.rows(batch.id, "cockerel")
    kg = float((season.heads[rows, at] * season.weight_kg[rows, at]).sum()) * line.dressing_share.value
    has = view.case.farm.planning.freezer_kg
    words = {"batch": batch.id, "n": _cocks(view, batch.id, on), "kg": kg}
    if has is None:
        yield view.number("freezer_unknown_kg", kg, batch.id, on, **words)
    else:
        fits = int(has / kg * _cocks(view, batch.id, on)) if kg > has else None
        key = "freezer_takes_kg" if fits is None else "freezer_short_kg"
        yield view.number(key, kg, batch.id, on, has=has, fits=fits, **words)


def _second(view: View, late: Late) -> Iterator[Number]:
    """The next open days: one, and one a fortnight later for the rest."""
    days = sorted(open_days(view.case, late.batch.id, late.due, first=late.due, last=late.due + LOOKED))
    if days:
        rest = next((d for d in days if d >= days[0] + FORTNIGHT), days[-1])
        yield view.number(
            "second_day", None, late.batch.id, days[0], batch=late.batch.id, on=days[0], rest=rest
        )


def unsold(view: View) -> Iterator[Number]:
    """Carcasses of an order that is gone: weight and worth, and what keeping those birds costs."""
    gone = {s.order for s in view.case.of("cancelled")}
    for order in view.before.case.farm.orders:
        if order.id not in gone:
            continue
        if order.deposit:
            yield view.number(
                "deposit", order.deposit, order.id, order.on, order=order.id, money=order.deposit
            )
        killed = [
            (d.on, b)
            for b in view.now.season.plan.batches
            for d in b.drafts
            if d.share > 0
            and view.day <= d.on <= order.on
            and _cocks(view, b.id, d.on - timedelta(days=1)) >= 1
        ]
        if not killed:
            yield view.number(
                "unsold_heads", float(order.number), order.id, order.on, order=order.id, n=order.number
            )
            continue
        on, batch = max(killed, key=lambda k: k[0])
        season = view.now.season
        rows, at = view.rows(batch.id, "cockerel"), max(season.index(on) - 1, 0)
        heads = float(season.heads[rows, at].sum())
        mean = float((season.heads[rows, at] * season.weight_kg[rows, at]).sum()) / heads
        kg = order.number * mean * view.case.farm.lines[batch.line].dressing_share.value
        each = view.price("carcass")
        words = {"order": order.id, "n": order.number, "batch": batch.id, "on": on, "kg": view.tell.n(kg, 1)}
        if each is None:
            yield view.number("unsold_kg", kg, order.id, order.on, **words)
        else:
            yield view.number("unsold_worth_kg", kg, order.id, order.on, money=kg * each, **words)
        yield from _a_day(view, batch, on - timedelta(days=1), on + FORTNIGHT)
        yield from _freezer(view, batch, on - timedelta(days=1))
