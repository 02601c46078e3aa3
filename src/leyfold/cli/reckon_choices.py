"""Choices and promises on the page of a reckoning, each with its sum."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from leyfold.cli.answer import table
from leyfold.words import say
from leyfold.words.forms import day, day_and_month
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from leyfold.reckoning.keeping import Hens
    from leyfold.reckoning.orders import Filled
    from leyfold.reckoning.room import Pinch, Way
    from leyfold.services.reckon import ReckonAnswer

__all__ = ["choices", "promised"]

WEEK = 7


def choices(answer: ReckonAnswer) -> Iterator[RenderableType]:
    """What each choice is worth: a later killing, pullets to keep, old hens, more shelters."""
    if answer.keepings:
        yield _keeping(answer)
        if any(keep.capped for keep in answer.keepings):
            yield say("reckoning.keeping_capped")
    if answer.hatches:
        yield _hatches(answer)
    for flock in answer.hens:
        yield from _hens(answer, flock)
    for pinch in answer.pinches:
        yield from _pinch(answer, pinch)


def _keeping(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.keeping"),
        [
            ("", False),
            (say("reckoning.column_planned"), True),
            (say("reckoning.column_next_day"), True),
            (say("reckoning.column_sum"), True),
            (say("reckoning.column_week_sooner"), True),
            (say("reckoning.column_week_later"), True),
            (say("reckoning.column_latest"), True),
        ],
    )
    for keep in answer.keepings:
        last = next((d for d in keep.days if d.age_d == keep.planned_d), None)
        if last is None:
            continue

        def money(value: float) -> str:
            return spoken(value, 2, language)

        terms = (last.takings, last.feed, last.water, last.labour, last.loss)
        page.add_row(
            keep.batch,
            say("reckoning.age_on", age=keep.planned_d, on=day_and_month(keep.planned_on, language)),
            spoken(last.earns, 3, language),
            " - ".join(spoken(x, 3, language) for x in terms),
            money(-keep.over(keep.planned_d - WEEK, keep.planned_d)),
            money(keep.over(keep.planned_d, keep.planned_d + WEEK)),
            say("reckoning.never")
            if keep.latest_d is None
            else say("reckoning.latest_capped" if keep.capped else "reckoning.latest", age=keep.latest_d),
        )
    return page


def _hatches(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.hatches"),
        [
            ("", False),
            (say("reckoning.column_hatched"), True),
            (say("reckoning.column_day_h"), True),
            (say("reckoning.column_first_egg"), True),
            (say("reckoning.column_pullets"), True),
            (say("reckoning.column_eggs"), True),
            (say("reckoning.column_earns"), True),
            (say("reckoning.column_worth_left"), True),
            (say("reckoning.column_pays"), True),
        ],
    )
    for hatch in answer.hatches:
        first = hatch.first_egg_on
        page.add_row(
            hatch.batch,
            day(hatch.hatched_on, language),
            spoken(hatch.day_h, 1, language),
            say("reckoning.not_yet") if first is None else day(first, language),
            spoken(hatch.pullets, 0, language),
            spoken(hatch.eggs, 0, language),
            *(spoken(x, 2, language) for x in (hatch.earns, hatch.worth_left, hatch.pays)),
        )
    return page


def _hens(answer: ReckonAnswer, flock: Hens) -> Iterator[str]:
    language = answer.farm.holding.language

    def money(value: float) -> str:
        return spoken(value, 2, language)

    now = flock.days[0]
    yield say(
        "reckoning.hens",
        batch=flock.batch,
        on=day(now.on, language),
        earns=spoken(now.earns, 3, language),
        takings=spoken(now.takings, 3, language),
        costs=spoken(now.takings - now.earns, 3, language),
    )
    if flock.best_on <= now.on:
        yield "  " + say("reckoning.hens_never")
    elif flock.out_on is None:
        yield "  " + say("reckoning.hens_best", on=day(flock.best_on, language), best=money(flock.until_best))
    if flock.out_on is not None:
        yield "  " + say(
            "reckoning.hens_out",
            on=day(flock.out_on, language),
            until=money(flock.until_out),
            best_on=day(flock.best_on, language),
            best=money(flock.until_best),
        )
    if flock.waiting is not None:
        yield "  " + say("reckoning.hens_waiting", waiting=spoken(flock.waiting, 3, language))


def _pinch(answer: ReckonAnswer, pinch: Pinch) -> Iterator[str]:
    language = answer.farm.holding.language
    yield say(
        "reckoning.pinch",
        birds=spoken(pinch.birds, 0, language),
        first=day(pinch.first, language),
        last=day(pinch.last, language),
        where=", ".join(pinch.where),
    )
    for way in pinch.ways:
        cost = "" if way.cost is None else spoken(way.cost, 0, language)
        key = "way_lacking" if way.cost is None else "way"
        yield "  " + say(
            f"reckoning.{key}",
            how=say(f"reckoning.way_{way.how}", shelters=pinch.shelters),
            cost=cost,
            sum=_sum(way, language),
            lacking=", ".join(way.lacking),
        )


def _sum(way: Way, language: str) -> str:
    def term(what: str, amount: float, each: float) -> str:
        name = what if way.how == "sooner" else say(f"reckoning.term_{what}")
        return f"{name} {spoken(amount, 2, language)} x {spoken(each, 2, language)}"

    return " + ".join(term(*one) for one in way.terms)


def promised(answer: ReckonAnswer) -> Iterator[RenderableType]:
    """What can be promised by weight class and killing day, and whom to ring first when a day slips."""
    if not answer.promises or not (answer.farm.weight_classes or answer.farm.orders):
        return
    language = answer.farm.holding.language
    page = table(
        say("reckoning.promises"),
        [
            (say("reckoning.column_killing"), False),
            (say("reckoning.column_class"), False),
            (say("reckoning.column_that_day"), True),
            (say("reckoning.column_mean"), True),
            (say("reckoning.column_safe"), True),
            (say("reckoning.column_ordered"), True),
            (say("reckoning.column_free"), True),
        ],
    )
    before = None
    for row in answer.promises:
        if before not in (None, row.on):
            page.add_section()
        shown = "" if row.on == before else day(row.on, language)
        before = row.on
        page.add_row(
            shown,
            row.weight_class or say("reckoning.any_weight"),
            spoken(row.killed, 0, language),
            spoken(row.mean, 0, language),
            "" if row.safe is None else spoken(row.safe, 0, language),
            str(row.ordered),
            spoken(row.free, 0, language),
            style=None if row.free >= 0 else "bold red",
        )
    yield page
    for order in answer.orders:
        if order.short:
            yield _short(order, "order_short", language)
    if answer.orders and not any(order.short for order in answer.orders):
        yield say("reckoning.orders_met", orders=len(answer.orders))
    if answer.ring is not None:
        values = {"days": answer.ring.days, "on": day(answer.ring.slips_on, language)}
        yield say("reckoning.ring" if answer.ring.orders else "reckoning.ring_nobody", **values)
        for order in answer.ring.orders:
            yield "  " + _short(order, "ring_one", language)


def _short(filled: Filled, key: str, language: str) -> str:
    order = filled.order
    ready = filled.ready_on
    return say(
        f"reckoning.{key}",
        customer=order.customer,
        order=order.id,
        number=order.number,
        weight_class=order.weight_class or say("reckoning.any_weight"),
        on=day(order.on, language),
        short=filled.short,
        then=say("reckoning.ready_never")
        if ready is None
        else say("reckoning.ready_on", ready=day(ready, language)),
    )
