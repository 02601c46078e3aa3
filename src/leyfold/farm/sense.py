"""What fits the shape of farm.toml and still cannot be: each refused with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import available_timezones

from leyfold.farm.faults import Page
from leyfold.farm.locate import Path
from leyfold.farm.schema_orders import look_through_orders
from leyfold.farm.schema_planning import look_through_planning
from leyfold.farm.tables import table
from leyfold.nature.growth import by_curve
from leyfold.nouns.clock import is_zone
from leyfold.nouns.farm import Farm
from leyfold.nouns.stock import SEXES, Line

__all__ = ["KINDS", "look_through"]

KINDS = {"incubators": "incubator", "brooders": "brooder", "shelters": "shelter", "houses": "house"}
LIMITED = {**KINDS, "nets": "net"}
"""Tables of what can have limits, and what each holds."""
BIRDS = ("heads", "heads_per_m2", "kg_per_m2")
OF = {
    "incubator": ("eggs",),
    "brooder": (*BIRDS, "floor_share"),
    "shelter": (*BIRDS, "kg_n_per_ha_pass"),
    "house": (*BIRDS, "kg_n_per_ha_pass"),
    "net": ("heads_per_m2", "kg_n_per_ha_pass"),
}
"""What can be limited in each of them."""

LEAST_SIDE_M = 0.5
LEAST_HEIGHT_M = 0.3
"""A grown fowl stands some 0.4 m high and long; anything tighter is a slip of the pen."""

MOST_HATCH_KG = 0.25
"""No chick weighs as much: chicks are about two thirds of an egg, and the table allows eggs of 90 g."""


def look_through(page: Page, farm: Farm) -> None:
    """Note everything in `farm` that contradicts itself or names what is not there."""
    _zone(page, farm)
    for line in farm.lines.values():
        _ages(page, line)
        _curves(page, line)
        _feeding(page, line)
    _owned(page)
    _places(page)
    _shelters(page, farm)
    _lamps(page, farm)
    _references(page, farm)
    _stores(page, farm)
    _wishes(page, farm)
    look_through_orders(page, farm)
    look_through_planning(page, farm)
    _limits(page, farm)
    _allowance(page, farm)


def _zone(page: Page, farm: Farm) -> None:
    zone = farm.holding.zone
    if not is_zone(zone):
        page.refers(("holding", "zone"), zone, sorted(available_timezones()), "zone")
    if farm.weather.zone is not None and not is_zone(farm.weather.zone):
        page.refers(("weather", "zone"), farm.weather.zone, sorted(available_timezones()), "zone")
    beside: list[tuple[tuple[str | int, ...], str]] = [
        (("weather", "files", i), name) for i, name in enumerate(farm.weather.files)
    ]
    beside += [(("land", "heights"), farm.heights)] if farm.heights is not None else []
    for path, name in beside:
        if "/" in name or "\\" in name or name.startswith("."):
            page.fault(path, "weather_file_path", name=name)


# Hens may well come into lay before they are moved: house and point_of_lay stand in no order.
_ORDER = (
    ("turnout", "turnout_d", "sort", "sort_d"),
    ("sort", "sort_d", "kill", "kill_d"),
    ("sort", "sort_d", "house", "house_d"),
    ("storage_free", "storage_free_d", "storage_late_from", "storage_late_from_d"),
    ("storage_late_from", "storage_late_from_d", "storage_most", "storage_most_d"),
)


def _ages(page: Page, line: Line) -> None:
    path: Path = ("lines", line.id)
    for key, name, later_key, later_name in _ORDER:
        age, later = getattr(line, name).value, getattr(line, later_name).value
        if age > later:
            given = key if page.has((*path, key)) else later_key
            page.fault(
                (*path, given),
                "ages_order",
                first=key,
                first_d=f"{age:g}",
                then=later_key,
                then_d=f"{later:g}",
            )
    hen = line.hen
    if hen.light_dark_h.value >= hen.light_full_h.value:
        key = "light_full" if page.has((*path, "hen", "light_full")) else "light_dark"
        page.fault(
            (*path, "hen", key),
            "light_order",
            dark=f"{hen.light_dark_h.value:g}",
            full=f"{hen.light_full_h.value:g}",
        )
    if hen.egg_q_g.value >= hen.egg_p_g.value:
        key = "egg_q" if page.has((*path, "hen", "egg_q")) else "egg_p"
        page.fault((*path, "hen", key), "egg_weights")


def _curves(page: Page, line: Line) -> None:
    for sex in SEXES:
        own: Path = ("lines", line.id, sex, "growth")
        path = own if page.has(own) else ("lines", line.id, "growth")
        hatch = float(by_curve(line.of(sex).growth, 0.0))
        if hatch > MOST_HATCH_KG:
            page.fault(path, "hatch_weight", sex=sex, weighs=f"{hatch:.2f}")


def _feeds(page: Page) -> list[str]:
    return list(dict.fromkeys((*page.names("feeds"), *table("feeds"))))


def _feeding(page: Page, line: Line) -> None:
    path: Path = ("lines", line.id, "feeding")
    for i, phase in enumerate(line.feeding):
        page.refers((*path, i, "feed"), phase.feed, _feeds(page), "feed")
        if any(p.from_d == phase.from_d and p.sex == phase.sex for p in line.feeding[:i]):
            page.fault((*path, i), "feeding_twice", days=phase.from_d)
    for sex in SEXES:
        first = min((p.from_d for p in line.feeding if p.sex in (None, sex)), default=None)
        if first != 0:
            page.fault(path, "feeding_hunger", sex=sex)
            break


def _owned(page: Page) -> None:
    for path, thing in page.things():
        since, until = thing.get("from"), thing.get("until")
        if since is not None and until is not None and since >= until:
            page.fault((*path, "until"), "owned_order", since=since, until=until)


def _places(page: Page) -> None:
    seen: dict[str, str] = {}
    for kinds, kind in LIMITED.items():
        for name in page.names(kinds):
            if name in LIMITED.values():
                page.fault((kinds, name), "place_kind", name=name)
            elif name in seen:
                page.fault((kinds, name), "place_twice", name=name, other=seen[name])
            seen.setdefault(name, kind)


def _shelters(page: Page, farm: Farm) -> None:
    for shelter in farm.shelters.values():
        path: Path = ("shelters", shelter.id)
        if min(shelter.length_m, shelter.width_m) < LEAST_SIDE_M:
            page.fault((*path, "sides"), "shelter_small", least=f"{LEAST_SIDE_M:g}")
        if shelter.height_m < LEAST_HEIGHT_M:
            page.fault((*path, "height"), "shelter_low", least=f"{LEAST_HEIGHT_M:g}")


def _lamps(page: Page, farm: Farm) -> None:
    for brooder in farm.brooders.values():
        for i, lamp in enumerate(brooder.lamps):
            fuses = page.names("brooders", brooder.id, "fuses")
            page.refers(("brooders", brooder.id, "lamps", i, "fuse"), lamp.fuse, fuses, "fuse")


def _references(page: Page, farm: Farm) -> None:
    lines, feeds = page.names("lines"), _feeds(page)
    buckets, houses = page.names("buckets"), page.names("houses")
    wanted: tuple[tuple[Path, str | None, Sequence[str], str], ...] = (
        *((("pens", k, "line"), p.line, lines, "line") for k, p in farm.pens.items()),
        *((("shelters", k, "bucket"), s.header_bucket, buckets, "bucket") for k, s in farm.shelters.items()),
        *((("nets", k, "house"), n.house, houses, "house") for k, n in farm.nets.items()),
        *((("bins", k, "feed"), b.feed, feeds, "feed") for k, b in farm.bins.items()),
        *((("hoppers", k, "feed"), b.feed, feeds, "feed") for k, b in farm.hoppers.items()),
        *((("wishes", i, "line"), w.line, lines, "line") for i, w in enumerate(farm.wishes)),
    )
    for path, name, known, what in wanted:
        if name is not None:
            page.refers(path, name, known, what)


def _stores(page: Page, farm: Farm) -> None:
    for store in farm.bins.values():
        if store.has_kg is not None and store.has_kg > store.holds_kg:
            page.fault(
                ("bins", store.id, "has"), "bin_over", has=f"{store.has_kg:g}", holds=f"{store.holds_kg:g}"
            )
        least, most = store.lorry_least_kg, store.lorry_most_kg
        if least is not None and most is not None and least > most:
            page.fault(("bins", store.id, "lorry_least"), "lorry_order", least=f"{least:g}", most=f"{most:g}")
        elif least is not None and least > store.holds_kg:
            page.fault(
                ("bins", store.id, "lorry_least"),
                "lorry_over",
                least=f"{least:g}",
                holds=f"{store.holds_kg:g}",
            )


def _wishes(page: Page, farm: Farm) -> None:
    page.no_doubles("wishes", [w.id for w in farm.wishes])
    for i, wish in enumerate(farm.wishes):
        if wish.aged_d and wish.what != "pullets":
            page.fault(("wishes", i, "age"), "wish_age", what=wish.what)
        if wish.until is not None and wish.until < wish.on:
            page.fault(("wishes", i, "until"), "dates_order", first=wish.on, then=wish.until)


def _limits(page: Page, farm: Farm) -> None:
    places = {name: kind for kinds, kind in LIMITED.items() for name in page.names(kinds)}
    given = page.data.get("limits", [])
    page.no_doubles("limits", [limit.get("id") for limit in given])
    seen: set[tuple[str, str]] = set()
    for i, limit in enumerate(given):
        scope, quantity = limit["scope"], limit["quantity"]
        kind = places.get(scope, scope)
        if kind not in LIMITED.values():
            page.refers(("limits", i, "scope"), scope, [*LIMITED.values(), *places], "place")
        elif quantity not in OF[kind]:
            page.fault(("limits", i, "quantity"), "limit_kind", quantity=quantity, kind=kind)
        elif kind == "net" and not any(net.house for net in farm.nets.values() if scope in (kind, net.id)):
            page.fault(("limits", i, "scope"), "limit_net_house", scope=scope)
        if (quantity, scope) in seen:
            page.fault(("limits", i), "limit_twice", quantity=quantity, scope=scope)
        seen.add((quantity, scope))


def _allowance(page: Page, farm: Farm) -> None:
    ages = [until for until, _ in farm.floor_allowance]
    for i in range(1, len(ages)):
        if ages[i] <= ages[i - 1]:
            page.fault(("brooder_floor", i, "until"), "allowance_order", age=ages[i], before=ages[i - 1])
