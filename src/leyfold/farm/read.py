"""farm.toml as a Farm: its shape (`schema`), then nouns with cited figures for what is absent, then sense."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any, cast

from leyfold import units
from leyfold.farm.faults import Page, open_page
from leyfold.farm.feedstuffs import read_ingredients, read_rations
from leyfold.farm.lines import read_line
from leyfold.farm.normals import guessed_temperatures
from leyfold.farm.quantity import Strict
from leyfold.farm.schema import MONTHS, PRICES, FarmTable, KitTable
from leyfold.farm.schema_feed import FeedTable
from leyfold.farm.schema_land import GrazingTable
from leyfold.farm.schema_planning import read_planning
from leyfold.farm.sense import look_through
from leyfold.farm.tables import all_figures, figure, table
from leyfold.farm.texts import Text, Texts
from leyfold.nouns.farm import (
    Bin,
    BreedingPen,
    Brooder,
    Cattle,
    Farm,
    Generator,
    Grazing,
    HeaderBucket,
    Holding,
    Hopper,
    Incubator,
    Lamp,
    MobileHouse,
    Net,
    Person,
    Shelter,
    Tank,
    Wish,
)
from leyfold.nouns.figure import Figure
from leyfold.nouns.limits import QUANTITIES, Limit, Quantity
from leyfold.nouns.orders import Order, WeightClass
from leyfold.nouns.stock import Feed, Line
from leyfold.nouns.weather import Source

__all__ = ["FARM_FILE", "read_farm"]

FARM_FILE = "farm.toml"


def read_farm(texts: Texts) -> Farm:
    """The farm as described in farm.toml. BadInput with every fault found."""
    return _read(texts.read(FARM_FILE))


@lru_cache(maxsize=1)
def _read(text: Text) -> Farm:
    page = open_page(text)
    measures = _measures(page)
    holding = page.data.get("holding")
    currency = holding.get("currency", "EUR") if isinstance(holding, dict) else "EUR"
    given = page.fits(FarmTable, {"measures": measures, "currency": currency})
    farm = None if given is None else _farm(page, given, measures)
    if farm is not None:
        look_through(page, farm)
    page.done()
    return cast(Farm, farm)


def _measures(page: Page) -> dict[str, str]:
    """The farm's own measures that make sense; the others are noted."""
    given = page.data.get("measures")
    texts = {k: v for k, v in given.items() if isinstance(v, str)} if isinstance(given, dict) else {}
    wrong = units.check_measures(texts)
    for name, error in wrong.items():
        page.fault_of_unit(("measures", name), error)
    return {name: text for name, text in texts.items() if name not in wrong}


def _farm(page: Page, given: FarmTable, measures: Mapping[str, str]) -> Farm:
    lines = {name: read_line(page, name, line) for name, line in given.lines.items()}
    known = {name: line for name, line in lines.items() if line is not None}
    h = given.holding
    return Farm(
        holding=Holding(h.name, h.latitude, h.longitude, h.zone, h.language, h.currency, h.lengths),
        lines=known,
        feeds=_feeds(page, given, known),
        temperature_C=_temperatures(page, given),
        people={k: Person(k, p.name or k, p.role, p.hours_per_day) for k, p in given.people.items()},
        **_kit(given),
        wishes=tuple(
            Wish(w.id, w.what, w.number, w.on, w.chance, w.line, _whole(w.every), w.until, _whole(w.age) or 0)
            for w in given.wishes
        ),
        prices={name: price for name in PRICES if (price := getattr(given.prices, name)) is not None},
        weight_classes=tuple(
            sorted(
                (WeightClass(name, kg) for name, kg in given.weight_classes.items()), key=lambda c: c.least_kg
            )
        ),
        orders=tuple(
            Order(o.id, o.customer, o.number, o.on, o.weight_class, o.deposit) for o in given.orders
        ),
        limits=(*_limits(page, given), *_default_limits(given)),
        floor_allowance=_allowance(page, given),
        work=_own(page, given.work, "work"),
        killing=_own(page, given.killing, "killing"),
        risks=_own(page, given.risks, "risks"),
        measures=dict(measures),
        planning=read_planning(given.planning),
        weather=_weather(page, given),
        heights=given.land.heights,
        tonight=_own(page, given.tonight, "tonight"),
        ingredients=read_ingredients(page, given.ingredients),
        rations=read_rations(page, given.rations),
    )


def _grazing(given: GrazingTable | None) -> Grazing | None:
    return None if given is None else (given.since, given.until)


def _kit(given: FarmTable) -> dict[str, Any]:
    def owned(table: KitTable) -> Any:
        return {"since": table.since, "until": table.until}

    return {
        "pens": {
            k: BreedingPen(k, p.line, p.hens, p.cocks, p.lay, p.settable, **owned(p))
            for k, p in given.pens.items()
        },
        "incubators": {
            k: Incubator(k, i.eggs, i.hatcher, i.power, **owned(i)) for k, i in given.incubators.items()
        },
        "brooders": {
            k: Brooder(k, b.floor, tuple(Lamp(x.watts, x.fuse) for x in b.lamps), dict(b.fuses), **owned(b))
            for k, b in given.brooders.items()
        },
        "shelters": {
            k: Shelter(
                id=k,
                length_m=s.sides[0],
                width_m=s.sides[1],
                height_m=s.height,
                mass_kg=s.mass,
                moves_per_day=_or_kit(s.moves_per_day, "shelter_moves_per_d"),
                header_bucket=s.bucket,
                **owned(s),
            )
            for k, s in given.shelters.items()
        },
        "houses": {
            k: MobileHouse(k, m.floor, m.perch, m.nests, m.light, **owned(m)) for k, m in given.houses.items()
        },
        "nets": {
            k: Net(k, n.rolls, _or_kit(n.roll, "net_roll_m"), _whole(n.shift), n.house, **owned(n))
            for k, n in given.nets.items()
        },
        "cattle": {
            k: Cattle(k, c.heads, c.intake, _grazing(c.grazing), **owned(c)) for k, c in given.cattle.items()
        },
        "bins": {
            k: Bin(k, b.feed, b.holds, b.has, _whole(b.delivery), b.lorry_least, b.lorry_most, **owned(b))
            for k, b in given.bins.items()
        },
        "hoppers": {k: Hopper(k, b.feed, b.holds, **owned(b)) for k, b in given.hoppers.items()},
        "tanks": {k: Tank(k, t.holds, **owned(t)) for k, t in given.tanks.items()},
        "generators": {k: Generator(k, g.power, **owned(g)) for k, g in given.generators.items()},
        "buckets": {
            k: HeaderBucket(k, b.holds, b.colour, b.diameter, b.height, **owned(b))
            for k, b in given.buckets.items()
        },
    }


def _or_kit(given: float | None, name: str) -> float:
    return figure(f"kit.{name}").value if given is None else given


def _whole(number: float | None) -> int | None:
    return None if number is None else round(number)


_CONTENTS = {
    "protein": "protein",
    "energy": "energy_kcal_per_kg",
    "phosphorus": "phosphorus",
    "potassium": "potassium",
}


def _feeds(page: Page, given: FarmTable, lines: Mapping[str, Line]) -> dict[str, Feed]:
    """The feeds declared, and the cited ones that a line eats without their being declared."""
    eaten = [phase.feed for line in lines.values() for phase in line.feeding]
    names = [*given.feeds, *(f for f in eaten if f not in given.feeds and f in table("feeds"))]
    feeds = {}
    for name in dict.fromkeys(names):
        own = given.feeds.get(name)
        contents: dict[str, Any] = {}
        for key, content in _CONTENTS.items():
            value = getattr(own, key, None)
            if value is not None:
                unit = "kcal/kg" if key == "energy" else "share"
                contents[content] = Figure(value, unit, page.source("feeds", name, key), "farm file")
            elif name in table("feeds"):
                contents[content] = figure(f"feeds.{name}.{content}")
            else:
                page.fault(("feeds", name), "feed_lacks", key=key, names=", ".join(table("feeds")))
        if len(contents) == len(_CONTENTS):
            feeds[name] = Feed(name, **contents, calcium=_calcium(page, name, own), **_of_store(own))
    return feeds


def _calcium(page: Page, name: str, own: FeedTable | None) -> Figure | None:
    if own is not None and own.calcium is not None:
        return Figure(own.calcium, "share", page.source("feeds", name, "calcium"), "farm file")
    return all_figures("feeds").get(f"feeds.{name}.calcium")


def _of_store(own: FeedTable | None) -> dict[str, Any]:
    if own is None:
        return {}
    return {
        "price_per_kg": own.price,
        "bag_kg": own.bag,
        "has_kg": own.has,
        "delivery_d": _whole(own.delivery),
    }


def _temperatures(page: Page, given: FarmTable) -> tuple[Figure, ...]:
    table = given.temperatures
    months = {month: getattr(table, month) for month in MONTHS}
    some = [month for month, value in months.items() if value is not None]
    if table.mean is not None:
        if some:
            page.fault(("temperatures", some[0]), "temperature_twice")
        return tuple(
            Figure(v, "C", page.source("temperatures", "mean", i), "farm file")
            for i, v in enumerate(table.mean)
        )
    if not some:
        return guessed_temperatures(given.holding.latitude)
    lacking = [month for month in MONTHS if month not in some]
    if lacking:
        page.fault(("temperatures",), "temperature_lacks", months=", ".join(lacking))
        return guessed_temperatures(given.holding.latitude)
    return tuple(Figure(months[m], "C", page.source("temperatures", m), "farm file") for m in MONTHS)


def _own(page: Page, given: Strict, name: str, key: str = "") -> dict[str, Figure]:
    """What the table `key` (or `name`) of the farm file puts in place of figures of the cited table."""
    return {
        entry: Figure(value, table(name)[entry]["unit"], page.source(key or name, entry), "farm file")
        for entry, value in given
        if value is not None and entry in table(name)
    }


def _weather(page: Page, given: FarmTable) -> Source:
    w = given.weather
    climate = {name: figure(f"climate.{name}") for name in table("climate")}
    return Source(
        w.forecast_url, w.files, dict(w.columns), w.zone, w.day_first,
        {**climate, **_own(page, w, "climate", "weather")},
    )  # fmt: skip


def _limits(page: Page, given: FarmTable) -> Iterator[Limit]:
    for x in given.limits:
        yield Limit(x.id, x.quantity, x.scope, x.at_most, x.source, x.verified)
    kinds: Mapping[str, tuple[Mapping[str, Strict], Mapping[str, Quantity]]] = {
        "incubators": (given.incubators, {"eggs": "eggs"}),
        "shelters": (
            given.shelters,
            {"most_heads": "heads", "most_kg_per_m2": "kg_per_m2", "most_n_kg_per_ha": "kg_n_per_ha_pass"},
        ),
        "houses": (given.houses, {"most_heads": "heads", "most_heads_per_m2": "heads_per_m2"}),
    }
    for kind, (places, keys) in kinds.items():
        for name, place in places.items():
            for key, quantity in keys.items():
                at_most = getattr(place, key)
                if at_most is not None:
                    source = page.source(kind, name, key)
                    yield Limit(f"{name}.{quantity}", quantity, name, float(at_most), source, True)


def _default_limits(given: FarmTable) -> Iterator[Limit]:
    """The cited limits that hold for a farm that names none for their quantity and kind of place."""
    named = {(limit.quantity, limit.scope) for limit in given.limits}
    for name, entry in table("limits").items():
        quantity, scope = entry["quantity"], entry["scope"]
        if entry.get("default") and quantity in QUANTITIES and (quantity, scope) not in named:
            yield Limit(name, quantity, scope, float(entry["at_most"]), entry["source"], entry["verified"])


def _allowance(page: Page, given: FarmTable) -> tuple[tuple[int, Figure], ...]:
    if given.brooder_floor:
        return tuple(
            (
                round(row.until),
                Figure(
                    row.birds_per_m2, "head/m2", page.source("brooder_floor", i, "birds_per_m2"), "farm file"
                ),
            )
            for i, row in enumerate(given.brooder_floor)
        )
    path = "space.brooder_floor.heads_per_m2."
    return tuple(
        (int(name.removeprefix(path)), found)
        for name, found in all_figures("space").items()
        if name.startswith(path)
    )
