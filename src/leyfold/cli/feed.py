"""`leyfold feed`: what to order and when, bedding and water, and the farm's own mix at the least cost."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, print_json, table
from leyfold.words import say

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.services.feed import FeedAnswer, RationAnswer

__all__ = ["feed"]

NO_MIX_FITS = 3


def feed(farm: Path, *, ration: str | None = None, json: bool = False) -> int:
    """Show what feed to order and when, when birds go over to the next, bedding and water to haul.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    ration
        Also show the cheapest mix of the farm's ingredients for this ration: one of the farm file, or a
        cited requirement such as pullet_white_6_12.
    json
        Print one JSON object.
    """
    from leyfold.services.feed import feed_of

    answer = feed_of(farm, datetime.now(UTC), ration)
    if json:
        print_json("feed", _plain(_data(answer)), inputs_sha256=answer.inputs_sha256)
    else:
        _show(answer)
    return NO_MIX_FITS if answer.ration is not None and answer.ration.clash is not None else 0


def _show(answer: FeedAnswer) -> None:
    from leyfold.paper import feed_sheet as sheet

    page, language = console(), answer.farm.holding.language
    page.print(_orders(answer))
    for sentence in (
        *sheet.stores_said(answer.orders, answer.empty_on, answer.hoppers, language),
        *sheet.changes_said(answer.changes, language),
        *sheet.lime_said(answer.lime, answer.no_calcium, language),
        *sheet.labels_said(answer.labels, language),
        *sheet.bedding_said(answer.bedding, language),
        *sheet.water_said(answer.farm, answer.hauled, language),
    ):
        page.print(sentence, soft_wrap=True, markup=False)
    if answer.ration is not None:
        page.print()
        _show_ration(answer, answer.ration)


def _orders(answer: FeedAnswer) -> Table | str:
    from leyfold.paper.feed_sheet import note
    from leyfold.words.forms import day, number

    language = answer.farm.holding.language
    orders = sorted(
        (o for each in answer.orders for o in each.orders), key=lambda o: (o.order_by, o.arrives, o.feed)
    )
    if not orders:
        return say("feed.nothing_to_order")
    names = ("order_by", "arrives", "feed", "kg", "bags", "lasts", "naive", "note")
    numeric = {"kg", "bags", "lasts", "naive"}
    heads = [(say(f"feed.column_{name}"), name in numeric) for name in names]
    page = table(say("feed.title", farm=answer.farm.holding.name), heads)
    for o in orders:
        naive = "" if o.naive_d is None else number(o.naive_d, 1, language)
        page.add_row(
            day(o.order_by, language),
            day(o.arrives, language),
            o.feed,
            number(o.kg, 0, language),
            "" if o.bags is None else number(o.bags, 0, language),
            number(o.lasts_d, 0, language),
            naive,
            note(o, language),
        )
    return page


def _show_ration(answer: FeedAnswer, found: RationAnswer) -> None:
    from leyfold.paper import ration_sheet as sheet
    from leyfold.words.forms import number

    page, holding = console(), answer.farm.holding
    language, currency = holding.language, holding.currency
    used = tuple(answer.farm.ingredients.values())
    if found.clash is not None:
        page.print(sheet.clash_said(found.clash, used, language), soft_wrap=True, markup=False)
    if found.mix is None or found.batch is None:
        return
    names = ("ingredient", "share", "batch_kg", "batch_bags", "scale")
    heads = [(say(f"feed.column_{name}"), name != "ingredient") for name in names]
    price = number(1000 * found.mix.price_per_kg, 2, language)
    rows = table(say("feed.ration_title", name=found.ration.id, price=price, currency=currency), heads)
    for line in found.batch.lines:
        rows.add_row(
            line.ingredient,
            number(100 * line.kg / found.batch.kg, 2, language),
            number(line.kg, 1, language),
            "" if line.bags is None else number(line.bags, 0, language),
            number(line.scale_kg, 1, language),
        )
    page.print(rows)
    for sentence in (
        *sheet.mix_said(found.mix, used, currency, language),
        *sheet.batch_said(found.batch, currency, language),
    ):
        page.print(sentence, soft_wrap=True, markup=False)


def _data(answer: FeedAnswer) -> dict[str, Any]:
    from dataclasses import asdict

    stores = [
        {
            "feed": each.store.feed,
            "has_kg": each.store.has_kg,
            "read_on": each.store.read_on if each.store.known else None,
            "read": each.store.read,
            "runs_out": each.runs_out,
            "empty_on": answer.empty_on[each.store.feed],
            "stale_kg": each.stale_kg,
            "left_kg": each.left_kg,
            "dry": [asdict(dry) for dry in each.dry],
            "orders": [asdict(order) for order in each.orders],
        }
        for each in answer.orders
    ]
    names = ("hoppers", "changes", "lime", "labels", "bedding", "hauled")
    rest = {name: [asdict(one) for one in getattr(answer, name)] for name in names}
    ration = None if answer.ration is None else asdict(answer.ration)
    return {"stores": stores, **rest, "no_calcium": answer.no_calcium, "ration": ration}


def _plain(value: Any) -> Any:
    """ISO dates and hours, lists for tuples."""
    if isinstance(value, dict):
        return {key: _plain(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    return value.isoformat() if isinstance(value, date) or hasattr(value, "isoformat") else value
