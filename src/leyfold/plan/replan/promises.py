"""Promises to others and to the birds that a plan breaks: limits, wishes, orders, killing days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.draws import Draws, WishChance
from leyfold.nouns.orders import Order
from leyfold.nouns.replanned import Broken
from leyfold.nouns.season import Season
from leyfold.plan.replan.case import Case, take
from leyfold.plan.replan.told import Told
from leyfold.plan.replan.tonight import NO_FLOOR_M2
from leyfold.reckoning.orders import filled, supplies
from leyfold.season.wished import wish_chances
from leyfold.words import say

__all__ = ["chances_of", "killing", "limits_of", "orders_of", "wishes_of"]

HELD_D, SOON_D = 14, 7
"""A killing day that was lost counts as held again when the batch is killed within a fortnight of it, or
within a week of the first day on which it may be."""
LOOKED_D = 366
SOMEBODY = 0.5
WEEK = 7


def limits_of(case: Case, season: Season) -> Iterator[Broken]:
    """Limits that the season passes from the day of the case on."""
    tell = Told(case.farm.holding.language)
    for b in season.breaches:
        if b.last < case.day:
            continue
        limit = b.limit
        first = max(b.first, case.day)
        digits = 2 if limit.quantity == "floor_share" else 0 if limit.quantity in ("heads", "eggs") else 1
        kit = case.farm.brooders.get(b.where)
        key = "no_floor" if kit is not None and kit.floor_m2 == NO_FLOOR_M2 else limit.quantity
        said = say(
            f"replan.limit_{key}",
            where=b.where,
            first=tell.day(first),
            last=tell.day(b.last),
            worst=tell.n(b.worst, digits),
            most=tell.n(limit.at_most, digits),
            on=tell.day(b.worst_on),
        )
        name = f"limit:{limit.id}:{b.where}"
        yield Broken("limit", name, limit.quantity, b.where, first, b.last, limit.at_most, b.worst, said)


def chances_of(case: Case, season: Season, draws: Draws | None) -> Iterator[WishChance]:
    """By bird wishes exactly; eggs a day by draws, else sure or hopeless by the mean of the worst week."""
    farm = case.farm
    if draws is not None:
        yield from wish_chances(farm, season.plan, draws)
        return
    sure = replace(farm, wishes=tuple(w for w in farm.wishes if w.what != "eggs a day"))
    exact = {c.wish: c for c in wish_chances(sure, season.plan)} if sure.wishes else {}
    eggs = season.eggs.sum(axis=0)
    for wish in farm.wishes:
        if wish.id in exact:
            yield exact[wish.id]
            continue
        first = max(season.index(max(wish.on, case.day)), 0)
        last = season.days if wish.until is None else min(season.index(wish.until) + 1, season.days)
        laid = eggs[first : max(last, first + 1)]
        weeks = np.convolve(laid, np.ones(min(WEEK, laid.size)), "valid") / min(WEEK, laid.size)
        least = float(weeks.min()) if weeks.size else 0.0
        on = season.day(first + int(weeks.argmin())) if weeks.size else wish.on
        chance = 1.0 if least >= wish.number else 0.0
        yield WishChance(wish.id, on, chance, least, least, least, least, chance < wish.chance)


def wishes_of(case: Case, chances: Sequence[WishChance]) -> Iterator[Broken]:
    """Wishes that are less sure than asked for."""
    tell = Told(case.farm.holding.language)
    wishes = {w.id: w for w in case.farm.wishes}
    for c in chances:
        wish = wishes[c.wish]
        if c.short:
            said = say(
                "replan.wish",
                number=wish.number,
                what=say(f"replan.what_{wish.what.replace(' ', '_')}"),
                on=tell.day(c.on),
                wish=wish.id,
                chance=f"{100 * c.chance:.0f}",
                wished=f"{100 * wish.chance:g}",
                mean=tell.n(c.mean, 0),
            )
            first = max(c.on, case.day)
            yield Broken(
                "wish", f"wish:{wish.id}", wish.what, None, first, first, wish.chance, c.chance, said
            )


def orders_of(case: Case, season: Season, draws: Draws | None) -> Iterator[Broken]:
    """Orders short by their day, first due first: carcasses that are there already go to them first."""
    farm, stock = case.farm, dict(case.stock)
    asked = sorted((o for o in farm.orders if o.on >= case.day), key=lambda o: o.on)
    wanted = {o.id: o.number - take(stock, o.weight_class, o.number) for o in asked}
    asked = [o for o in asked if wanted[o.id] > 0]
    if not asked:
        return
    found = supplies(farm, season, draws)
    days = sorted({s.on for s in found})
    for order in asked:
        if not days or order.on < days[0]:
            yield _short(case, order, wanted[order.id], days[0] if days else None)
    later = tuple(replace(o, number=wanted[o.id]) for o in asked if days and o.on >= days[0])
    whole = {o.id: o for o in asked}
    for row in filled(replace(farm, orders=later), season, found) if later else ():
        if row.short:
            yield _short(case, whole[row.order.id], row.short, row.ready_on)


def _short(case: Case, order: Order, short: int, ready: date | None) -> Broken:
    tell = Told(case.farm.holding.language)
    then = say("replan.ready", on=tell.day(ready)) if ready else say("replan.never")
    said = say(
        "replan.order",
        order=order.id,
        customer=order.customer,
        short=short,
        number=order.number,
        on=tell.day(order.on),
        then=then,
    )
    return Broken(
        "order",
        f"order:{order.id}",
        order.id,
        None,
        order.on,
        order.on,
        order.number,
        order.number - short,
        said,
    )


def killing(case: Case, season: Season) -> Iterator[Broken]:
    """Killing days of the plan that cannot be held, unless the birds are killed about then all the same; and
    birds killed on a day on which they may not be."""
    tell = Told(case.farm.holding.language)
    planned = {b.id: b for b in case.plan.batches}
    for batch in season.plan.batches:
        rows = [i for i, x in enumerate(season.lots) if x.batch == batch.id and x.sex == "cockerel"]
        days = [season.day(int(d)) for d in np.flatnonzero(season.killed[rows].sum(axis=0) >= SOMEBODY)]
        bad = [d for d in days if case.shut(d) or case.stopped(batch.id, d)]
        for on in bad:
            said = say("replan.killing_forbidden", batch=batch.id, on=tell.day(on))
            yield Broken("killing", f"forbidden:{batch.id}", batch.id, None, on, on, 0.0, 1.0, said)
        good = [d for d in days if d not in bad]
        before = planned.get(batch.id)
        for draft in before.drafts if before is not None else ():
            lost = case.shut(draft.on) or case.stopped(batch.id, draft.on) is not None
            again = _open_again(case, batch.id, draft.on) + timedelta(days=SOON_D)
            held = any(abs((d - draft.on).days) <= HELD_D or draft.on <= d <= again for d in good)
            if lost and draft.share > 0 and draft.on >= case.day and not held and rows:
                said = say("replan.killing", batch=batch.id, on=tell.day(draft.on))
                yield Broken(
                    "killing", f"killing:{batch.id}", batch.id, None, draft.on, draft.on, 1.0, 0.0, said
                )


def _open_again(case: Case, batch: str, on: date) -> date:
    """The first day from `on` on when a batch may be killed."""
    days = (on + timedelta(days=i) for i in range(LOOKED_D))
    return next((d for d in days if not case.shut(d) and case.stopped(batch, d) is None), on)
