"""Feed, bedding and water ahead, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from leyfold.farm.tables import figure
from leyfold.feed.bedding import Bedding
from leyfold.feed.changeover import Change
from leyfold.feed.haul import Hauled, bleach_ml
from leyfold.feed.lime import Lime
from leyfold.feed.needs import Label
from leyfold.feed.orders import Order, Orders
from leyfold.feed.stores import Filled
from leyfold.nouns.farm import Farm
from leyfold.words import say
from leyfold.words.forms import day, day_and_month, number, significant

__all__ = [
    "amount",
    "bedding_said",
    "changes_said",
    "labels_said",
    "lime_said",
    "note",
    "stores_said",
    "water_said",
]

ENERGY = "energy_kcal_per_kg"


def amount(nutrient: str, value: float, language: str) -> str:
    """A content as a label has it: per cent to three figures, or kcal/kg."""
    if nutrient == ENERGY:
        return f"{number(value, 0, language)} kcal/kg"
    return f"{significant(100 * value, 3, language)} %"


def note(order: Order, language: str) -> str:
    """What is wrong with an order."""
    notes = [say("feed.note_late")] if order.late else []
    if order.stale_kg >= 1:
        notes.append(say("feed.note_stale", kg=number(order.stale_kg, 0, language)))
    if order.small:
        notes.append(say("feed.note_small"))
    return ", ".join(notes)


def stores_said(
    orders: Sequence[Orders],
    empty: Mapping[str, Mapping[str, date | None]],
    hoppers: Sequence[Filled],
    language: str,
) -> Iterator[str]:
    """What is in store and until when, where it runs dry, hoppers, and where last week's use misleads."""
    keeps = figure("kit.feed_keeps_d").value
    for each in orders:
        store = each.store
        if store.has_kg is None:
            yield say("feed.store_unknown", feed=store.feed)
        else:
            read = say("feed.store_records" if store.read == "records" else "feed.store_farm_file")
            kg, on = number(store.has_kg, 0, language), day(store.read_on, language)
            parts = [say("feed.store", feed=store.feed, kg=kg, day=on, read=read)]
            if each.runs_out is None:
                parts.append(say("feed.store_lasts"))
            else:
                parts.append(say("feed.store_runs_out", day=day(each.runs_out, language)))
            ends = empty.get(store.feed, {})
            for name, end in ends.items():
                if len(ends) > 1 and end is not None:
                    bin_name = name or say("feed.bags_name")
                    parts.append(say("feed.bin_empty", bin=bin_name, day=day(end, language)))
            if each.stale_kg >= 1:
                kg = number(each.stale_kg, 0, language)
                parts.append(say("feed.store_stale", kg=kg, days=number(keeps, 0, language)))
            yield " ".join(parts)
        for dry in each.dry:
            yield say(
                "feed.dry_book" if dry.past else "feed.dry",
                feed=store.feed,
                first=day(dry.first, language),
                last=day(dry.last, language),
                kg=number(dry.kg, 0, language),
            )
    for full in hoppers:
        if full.lasts_d is not None and full.worst_on is not None:
            yield say(
                "feed.hopper",
                names=" + ".join(full.hoppers),
                kg=number(full.holds_kg, 0, language),
                feed=full.feed,
                days=number(full.lasts_d, 1, language),
                day=day(full.worst_on, language),
            )
    over = [(o.naive_d - o.lasts_d, o) for each in orders for o in each.orders if o.naive_d is not None]
    if over and max(days for days, _ in over) >= 0.5:
        days, worst = max(over, key=lambda pair: pair[0])
        on = day(worst.order_by, language)
        yield say("feed.naive", days=number(days, 1, language), feed=worst.feed, day=on)


def changes_said(changes: Sequence[Change], language: str) -> Iterator[str]:
    """When each batch goes over to the next feed."""
    for change in changes:
        by_age = day(change.by_age, language)
        kg = None if change.weighs_kg is None else number(change.weighs_kg, 2, language)
        if change.on is None:
            yield say("feed.change_never", batch=change.batch, kg=kg, feed=change.feed, by_age=by_age)
            continue
        shares = ", ".join(number(100 * share, 0, language) for _, share in change.shares)
        said = {
            "batch": change.batch,
            "feed": change.feed,
            "day": day(change.on, language),
            "days": len(change.shares),
            "shares": shares,
        }
        if kg is None:
            yield say("feed.change_age", **said)
        else:
            yield say("feed.change", kg=kg, by_age=by_age, **said)


def lime_said(found: Sequence[Lime], unknown: Sequence[str], language: str) -> Iterator[str]:
    """Who would get layers' lime too early."""
    for each in found:
        said = {
            "batch": each.batch,
            "sex": each.sex,
            "feed": each.feed,
            "calcium": significant(100 * each.calcium, 2, language),
            "first": day(each.first, language),
            "last": day(each.last, language),
        }
        if each.beside is not None:
            yield say("feed.lime_beside", place=each.place, **said)
        elif each.sex == "cockerel":
            yield say("feed.lime_fed_cock", **said)
        else:
            yield say("feed.lime_fed", age=f"{each.from_d} d", **said)
    if unknown:
        yield say("feed.lime_unknown", feeds=", ".join(unknown))
    if not found and not unknown:
        yield say("feed.lime_none")


def labels_said(labels: Sequence[Label], language: str) -> Iterator[str]:
    """What the feeds bought lack by their labels."""
    for label in labels:
        for short in label.short:
            nutrient = short.need.nutrient
            yield say(
                "feed.label_short",
                feed=label.feed,
                holds=amount(nutrient, short.holds, language),
                nutrient=say(f"feed.nutrient_{nutrient}"),
                stage=label.stage,
                needs=amount(nutrient, short.need.value, language),
            )
        if label.unknown:
            names = ", ".join(say(f"feed.nutrient_{n}") for n in label.unknown)
            yield say("feed.label_unknown", feed=label.feed, nutrients=names, stage=label.stage)
    if not any(label.short or label.unknown for label in labels):
        yield say("feed.label_good")


def bedding_said(weeks: Sequence[Bedding], language: str) -> Iterator[str]:
    """Bales by week."""
    if any(week.bales for week in weeks):
        taken = [
            say("feed.bales_week", week=day_and_month(week.monday, language), bales=week.bales)
            for week in weeks
            if week.bales
        ]
        yield say(
            "feed.bales",
            kg=number(sum(week.kg for week in weeks), 0, language),
            bales=sum(week.bales for week in weeks),
            bale_kg=number(figure("feeding.bale_kg").value, 0, language),
            weeks=", ".join(taken),
        )


def water_said(farm: Farm, days: Sequence[Hauled], language: str) -> Iterator[str]:
    """The day most water is hauled, and what goes into it from a lake."""
    most = max(days, key=lambda d: d.birds_l)
    parts = [
        say(
            "feed.water",
            day=day(most.day, language),
            litres=number(most.birds_l, 0, language),
        )
    ]
    tank = max((t.holds_l for t in farm.tanks.values() if t.owned(most.day)), default=None)
    if tank is not None:
        holds = number(tank, 0, language)
        parts.append(say("feed.water_trips", trips=most.trips, tank=holds))
    if most.last is not None:
        parts.append(say("feed.water_last", hour=f"{most.last:%H:%M}"))
    with_cattle = max(days, key=lambda d: (d.cattle_l > 0, d.birds_l + d.cattle_l))
    if with_cattle.cattle_l > 0:
        litres_a_day = number(with_cattle.cattle_l, 0, language)
        parts.append(say("feed.water_cattle", litres=litres_a_day))
        if with_cattle.trips_all is not None:
            words = {"trips": with_cattle.trips_all, "day": day(with_cattle.day, language)}
            parts.append(say("feed.water_cattle_trips", **words))
    yield " ".join(parts)
    litres = tank or 1000.0
    mg, share = figure("feeding.chlorine_mg_per_l").value, figure("feeding.bleach_share").value
    yield say(
        "feed.water_dose",
        mg=number(mg, 0, language),
        ml=number(bleach_ml(litres, chlorine_mg_per_l=mg, bleach_share=share), 0, language),
        percent=number(100 * share, 0, language),
        litres=number(litres, 0, language),
        minutes=number(figure("feeding.chlorine_wait_min").value, 0, language),
    )
