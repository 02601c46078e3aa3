"""Promises mended by people: a customer rung, bags fetched, a neighbour, water carried, hay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

from leyfold.farm.tables import figure
from leyfold.nouns.replanned import Broken, Term
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending.idea import Idea, price, tell, term
from leyfold.reckoning.orders import filled, supplies
from leyfold.words import say

__all__ = ["for_feed", "for_hands", "for_order", "for_water"]

CARRY_H = 0.5
"""Hours to free a drinker or carry water to one place. A guess."""
SPARE_D = 2
HALF = 0.5


def for_order(now: Look, broken: Broken) -> Iterator[Idea]:
    """Ring the customer: a later day where there is one, else what there is by the day, the deposit back."""
    case = now.case
    order = next((o for o in case.farm.orders if f"order:{o.id}" == broken.id), None)
    if order is None:
        return
    told = tell(case)
    rest = tuple(o for o in case.farm.orders if o.id != order.id)
    found = supplies(case.farm, now.season)
    days = sorted({s.on for s in found})
    after = [d for d in days if d > order.on]
    today = (say("replan.today_ring", customer=order.customer, order=order.id),)
    alone = replace(case.farm, orders=(*(o for o in rest if days and o.on >= days[0]), order))
    ready = None
    if days and order.on >= days[0]:
        ready = next((f.ready_on for f in filled(alone, now.season, found) if f.order.id == order.id), None)
    ready = ready or (after[0] if after else None)
    for on in dict.fromkeys(d for d in (ready, after[1] if len(after) > 1 else None) if d is not None):
        farm = replace(case.farm, orders=(*rest, replace(order, on=on)))
        said = say("replan.mend_later", customer=order.customer, order=order.id, on=told.day(on))
        yield Idea("order_later", said, replace(case, farm=farm), now.plan, today=today)
    less = int(broken.has)
    orders = (*rest, replace(order, number=less)) if less > 0 else rest
    back = 0.0 if order.deposit is None else order.deposit * (1.0 - less / order.number)
    said = say(
        "replan.mend_less", customer=order.customer, order=order.id, number=less, wanted=order.number,
        on=told.day(order.on),
    )  # fmt: skip
    farm = replace(case.farm, orders=orders)
    yield Idea("order_less", said, replace(case, farm=farm), now.plan, (Term("deposit", back),), 1, today)


def for_feed(now: Look, broken: Broken) -> Iterator[Idea]:
    """Feed that is not there: bags fetched, enough until the lorry comes and two days to spare."""
    case, feed = now.case, broken.what
    days = (broken.last - broken.first).days + 1
    bag = case.farm.feeds[feed].bag_kg or figure("kit.feed_bag_kg").value
    bags = ceil(broken.wanted * (1.0 + SPARE_D / days) / bag - 1e-9)
    known = {**case.state.bins_kg}
    bin_ = next((b.id for b in case.farm.bins.values() if b.feed == feed and b.owned(case.day)), None)
    name = bin_ or feed
    read = known.get(name)
    if read is None and bin_ is not None:
        has = case.farm.bins[bin_].has_kg
        read = None if has is None else (case.day, has)
    if read is None:
        has = case.farm.feeds[feed].has_kg or 0.0
        read = (case.day, has)
    known[name] = (read[0], read[1] + bags * bag)
    told = tell(case)
    said = say("replan.mend_bags", bags=bags, kg=told.n(bags * bag), feed=feed, by=told.day(broken.first))
    terms = (term(case, "delivery", "delivery", 1.0),)
    if price(case, "delivery") is None:
        terms = (term(case, "delivery", "labour", 2.0, guess=True),)
    state = replace(case.state, bins_kg=known)
    today = (say("replan.today_bags", bags=bags, feed=feed),)
    yield Idea("bags", said, replace(case, state=state), now.plan, terms, 1, today)


def for_hands(now: Look, broken: Broken) -> Iterator[Idea]:
    """Hours that nobody has: a neighbour or paid help, for as long as the farmer is away."""
    case = now.case
    hours = ceil((broken.wanted - broken.has) / HALF - 1e-9) * HALF
    away = case.of("away")
    days = max(((s.until - max(s.first, case.day)).days for s in away if s.until is not None), default=7)
    said = say("replan.mend_neighbour", hours=tell(case).n(hours, 1), days=days)
    # Own hours that are not worked cost nothing: the helper's cost what the farm's hours do.
    pay = term(case, "help", "labour", hours * days)
    pay = replace(pay, guess=True)
    today = (say("replan.today_neighbour"),)
    yield Idea("neighbour", said, replace(case, helpers_h=case.helpers_h + hours), now.plan, (pay,), 1, today)


def for_water(now: Look, broken: Broken) -> Iterator[Idea]:
    """A drinker that is blocked or frozen: freed, or water carried there."""
    case = now.case
    supposed = tuple(s for s in case.supposed if s.kind != "no_water")
    litres = tell(case).n(broken.wanted)
    key = "tank" if broken.where in case.farm.tanks else "drinker"
    said = say(f"replan.mend_{key}", litres=litres, where=broken.where or "")
    pay = term(case, "carrying", "labour", CARRY_H, guess=True)
    today = (say(f"replan.today_{key}", litres=litres, where=broken.where or ""),)
    yield Idea("carry", said, replace(case, supposed=supposed), now.plan, (pay,), 1, today)
