"""A maker of farms: of any size, at random and yet such as might be, the same for the same seed.

Farms come as the texts of farm.toml and plan.toml and are read like any other. Figures are drawn within what
the table of figures allows; kit is sized after the machines, wishes after the kit, so that most farms have a
plan and some have none.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any, Literal, cast

from leyfold.farm.plan_file import parse_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Text, Texts
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planning import WEEKDAYS

Size = Literal["tiny", "small", "middle", "large", "year"]


@dataclass(frozen=True)
class Scale:
    """From and to: how many of each there are; `weeks` of setting, `length` weeks of plan."""

    shelters: tuple[int, int]
    lines: tuple[int, int]
    brooders: tuple[int, int]
    incubators: tuple[int, int]
    houses: tuple[int, int]
    weeks: tuple[int, int]
    length: tuple[int, int]
    places: tuple[int, int]


SCALES: dict[Size, Scale] = {
    "tiny": Scale((2, 4), (1, 1), (1, 1), (1, 1), (0, 1), (2, 3), (40, 46), (24, 60)),
    "small": Scale((3, 6), (1, 2), (1, 2), (1, 2), (0, 1), (3, 6), (44, 53), (48, 120)),
    "middle": Scale((6, 12), (1, 3), (1, 2), (1, 2), (1, 1), (6, 14), (50, 60), (96, 200)),
    "large": Scale((12, 20), (2, 3), (2, 3), (2, 3), (1, 2), (20, 30), (53, 60), (150, 300)),
    "year": Scale((20, 20), (3, 3), (2, 3), (2, 3), (1, 2), (20, 30), (53, 53), (150, 300)),
}
NAMES = ("alder", "birch", "cherry")


@dataclass(frozen=True)
class Made:
    """The two texts, the noun of each, and the instant from which a plan is made."""

    seed: int
    size: Size
    farm_toml: str
    plan_toml: str

    @property
    def farm(self) -> Farm:
        return read_farm(cast(Texts, _Held({"farm.toml": self.farm_toml})))

    def plan(self, farm: Farm) -> Plan:
        return parse_plan(_text("plan.toml", self.plan_toml), farm)

    def at(self, plan: Plan) -> datetime:
        assert plan.first is not None
        return datetime.combine(plan.first, time(6), UTC)


class _Held:
    """Texts that lie in no folder."""

    def __init__(self, texts: dict[str, str]) -> None:
        self.texts = texts

    def has(self, name: str) -> bool:
        return name in self.texts

    def read(self, name: str) -> Text:
        return _text(name, self.texts[name])


def _text(name: str, text: str) -> Text:
    return Text(name, text, hashlib.sha256(text.encode()).hexdigest())


def random_farm(seed: int, size: Size = "small") -> Made:
    """One farm with its open plan."""
    rng = Random(f"{size} {seed}")
    scale = SCALES[size]
    first = date(2027, 1, 4) + timedelta(weeks=rng.randrange(12))
    last = first + timedelta(weeks=rng.randint(*scale.length))
    lines = NAMES[: rng.randint(*scale.lines)]
    places = [_tray(rng.randint(*scale.places)) for _ in range(rng.randint(*scale.incubators))]
    houses = {
        f"h{i + 1}": max(8.0, max(places) / 6 * rng.uniform(1.0, 2.5))
        for i in range(rng.randint(*scale.houses))
    }
    old = rng.randint(6, int(4 * houses["h1"])) if houses and rng.random() < 0.6 else 0
    shelters = rng.randint(*scale.shelters)
    people = list(_people(rng, scale))
    farm = [
        *_holding(rng),
        *(part for line in lines for part in _line(rng, line)),
        *_machines(rng, places),
        *_brooders(rng, max(places), rng.randint(*scale.brooders)),
        *_shelters(rng, first, shelters),
        *(part for name, floor in houses.items() for part in _house(rng, name, floor)),
        *_pens(rng, lines, max(places)),
        *people,
        *_wishes(rng, first, last, lines, places, shelters, old, scale),
        *_limits(rng),
        *_planning(rng, first, scale, bool(people)),
    ]
    plan = [f"first = {first}", f"last = {last}"]
    if old:
        plan += ["[[present]]", 'id = "old"', f'line = "{lines[0]}"', f"on = {first}"]
        plan += [f'age = "{rng.randint(35, 60)} weeks"', f"hens = {old}", 'place = "h1"']
    return Made(seed, size, "\n".join(farm) + "\n", "\n".join(plan) + "\n")


def _tray(eggs: int) -> int:
    return eggs // 12 * 12


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    return f"[{', '.join(map(_value, value))}]" if isinstance(value, list) else str(value)


def _table(name: str, /, **keys: Any) -> Iterator[str]:
    """A table of TOML, "[name]" for one of several; what is None is left out."""
    yield f"[{name}]"
    for key, value in keys.items():
        if value is not None:
            yield f"{key.removesuffix('_')} = {_value(value)}"


def _holding(rng: Random) -> Iterator[str]:
    latitude = round(rng.uniform(42, 60), 1)
    yield from _table(
        "holding", name="Made Up", latitude=latitude, longitude=12.0, zone="Europe/Stockholm", currency="EUR"
    )
    winter, summer = rng.uniform(-6, 5), rng.uniform(14, 20)
    year = (0.0, 0.05, 0.2, 0.42, 0.68, 0.9, 1.0, 0.95, 0.72, 0.47, 0.22, 0.06)
    yield from _table("temperatures", mean=[f"{winter + (summer - winter) * part:.1f} C" for part in year])
    yield from _table(
        "prices",
        carcass=f"{rng.uniform(11, 20):.2f} EUR/kg",
        pullet=f"{rng.uniform(20, 35):.2f} EUR",
        old_hen=f"{rng.uniform(2, 8):.2f} EUR",
        egg=f"{rng.uniform(0.25, 0.6):.2f} EUR",
        hatching_egg=f"{rng.uniform(0.5, 1.5):.2f} EUR",
        day_old=f"{rng.uniform(2, 5):.2f} EUR",
        killing=f"{rng.uniform(2, 5):.2f} EUR" if rng.random() < 0.6 else None,
        labour=f"{rng.uniform(3, 14):.2f} EUR/h" if rng.random() < 0.5 else None,
        electricity="0.25 EUR/kWh" if rng.random() < 0.5 else None,
    )
    for feed in ("starter", "grower", "layers"):
        yield from _table(f"feeds.{feed}", price=f"{rng.uniform(400, 800):.0f} EUR/t")


def _line(rng: Random, name: str) -> Iterator[str]:
    sort_d = rng.randint(45, 63)
    kill_d = rng.randint(sort_d + 30, 125)
    house_d = rng.randint(max(sort_d + 40, 110), 140)
    yield from _table(
        f"lines.{name}",
        fertility=f"{rng.uniform(80, 95):.1f} %",
        hatch_of_fertile=f"{rng.uniform(70, 88):.1f} %",
        hatch_concentration=f"{rng.randint(40, 200)} eggs",
        turnout=f"{rng.randint(24, 42)} days",
        sort=f"{sort_d} days",
        kill=f"{kill_d} days",
        house=f"{house_d} days",
        point_of_lay=f"{rng.randint(140, 155)} days",
    )
    rooster = rng.uniform(2.8, 4.2)
    for sex, mature in (("pullet", rooster * rng.uniform(0.65, 0.8)), ("cockerel", rooster)):
        yield f"[lines.{name}.{sex}]"
        weighs = mature * rng.uniform(0.6, 0.75)
        known = f'at = "105 days", weighs = "{weighs:.2f} kg"'
        yield f'growth = {{ mature = "{mature:.2f} kg", hatch = "40 g", {known} }}'


def _machines(rng: Random, places: list[int]) -> Iterator[str]:
    for i, eggs in enumerate(places):
        hatcher = _tray(int(eggs * rng.uniform(0.8, 1.0))) if rng.random() < 0.2 else None
        yield from _table(f"incubators.m{i + 1}", eggs=eggs, hatcher=hatcher or None, power="200 W")


def _brooders(rng: Random, most_eggs: int, count: int) -> Iterator[str]:
    for i in range(count):
        floor = max(2.0, most_eggs * 0.7 / 10 * rng.uniform(0.7, 1.6))
        lamps = max(2, round(most_eggs * 0.7 / 45 * rng.uniform(1.0, 2.0)))
        with_lamps = rng.random() < 0.7
        yield from _table(f"brooders.b{i + 1}", floor=f"{floor:.1f} m2")
        if with_lamps:
            fuses = max(1, -(-lamps // 8))
            yield "fuses = { " + ", ".join(f'f{k} = "10 A"' for k in range(fuses)) + " }"
            burning = (f'{{ watts = 250, fuse = "f{k % fuses}" }}' for k in range(lamps))
            yield "lamps = [" + ", ".join(burning) + "]"


def _shelters(rng: Random, first: date, count: int) -> Iterator[str]:
    sorts = [(round(rng.uniform(2.2, 3.4), 1), round(rng.uniform(2.6, 4.4), 1)) for _ in range(3)]
    kinds = rng.randint(1, 3)
    for i in range(count):
        along, across = sorts[rng.randrange(kinds)]
        kind = sorts.index((along, across))
        since = first + timedelta(weeks=rng.randint(8, 20)) if rng.random() < 0.1 else None
        until = first + timedelta(weeks=rng.randint(26, 40)) if rng.random() < 0.05 else None
        yield from _table(
            f"shelters.s{i + 1}",
            from_=since,
            until=until,
            sides=f"{along} x {across} m",
            height="0.7 m",
            moves_per_day=2 if kind == 1 else None,
            most_heads=round(along * across * 6) if kind == 2 else None,
        )


def _house(rng: Random, name: str, floor: float) -> Iterator[str]:
    light = f"{rng.randint(12, 15)} h" if rng.random() < 0.4 else None
    yield from _table(f"houses.{name}", floor=f"{floor:.1f} m2", light=light)


def _pens(rng: Random, lines: tuple[str, ...], most_eggs: int) -> Iterator[str]:
    for line in lines:
        if rng.random() < 0.5:
            hens = max(6, round(most_eggs / 7 / 0.45 * rng.uniform(0.8, 2.0)))
            yield from _table(
                f"pens.{line}-pen", line=line, hens=hens, cocks=max(1, hens // 9), lay="60 %", settable="85 %"
            )


def _people(rng: Random, scale: Scale) -> Iterator[str]:
    if rng.random() < 0.6:
        hours = round(1.5 + scale.shelters[1] * 0.25 * rng.uniform(0.8, 2.0), 1)
        yield from _table("people.asa", role="farmer", hours_per_day=min(hours, 12.0))
        yield from _table("people.bo", role="helper", hours_per_day=round(rng.uniform(0.5, 4), 1))


def _wishes(
    rng: Random,
    first: date,
    last: date,
    lines: tuple[str, ...],
    places: list[int],
    shelters: int,
    old: int,
    scale: Scale,
) -> Iterator[str]:
    line = rng.choice(lines)
    eggs = min(min(places), 30 * shelters) * min(scale.weeks[0] / 3, 2.0)
    chance = f"{rng.choice((50, 75, 80, 90))} %"
    if rng.random() < 0.7:
        on = min(first + timedelta(weeks=rng.randint(34, 40)), last - timedelta(days=8))
        number = max(1, int(eggs * 0.3 * rng.uniform(0.1, 0.6)))
        yield from _table(
            "[wishes]", id="flock", what="pullets", number=number, on=on, chance=chance, line=line
        )
    if rng.random() < 0.6:
        on = min(first + timedelta(weeks=rng.randint(34, 40)), last - timedelta(days=8))
        number = max(1, int(eggs * 0.3 * rng.uniform(0.1, 0.5)))
        yield from _table("[wishes]", id="table", what="table birds", number=number, on=on, chance=chance)
    if old and rng.random() < 0.5:
        number = max(1, int(old * rng.uniform(0.05, 0.25)))
        until = first + timedelta(weeks=rng.randint(10, 20))
        yield from _table(
            "[wishes]", id="eggs", what="eggs a day", number=number, on=first, until=until, chance="75 %"
        )


def _limits(rng: Random) -> Iterator[str]:
    if rng.random() < 0.5:
        yield from _table(
            "[limits]", id="room", quantity="kg_per_m2", scope="shelter",
            at_most=round(rng.uniform(12, 24), 1), source="Own rule",
        )  # fmt: skip
    if rng.random() < 0.3:
        yield from _table(
            "[limits]", id="dung", quantity="kg_n_per_ha_pass", scope="shelter",
            at_most=round(rng.uniform(110, 200)), source="Own rule",
        )  # fmt: skip


def _planning(rng: Random, first: date, scale: Scale, people: bool) -> Iterator[str]:
    def some(chance: float, value: Any) -> Any:
        return value if rng.random() < chance else None

    start = first + timedelta(weeks=rng.randint(0, 8))
    yield from _table(
        "planning",
        tray=12,
        stored=some(0.5, f"{rng.randint(4, 9)} days"),
        set_from=start,
        set_until=start + timedelta(weeks=rng.randint(*scale.weeks)),
        set_weekdays=some(0.6, sorted(rng.sample(WEEKDAYS, rng.randint(1, 3)))),
        grass_from=some(0.4, first + timedelta(weeks=rng.randint(12, 18))),
        grass_until=some(0.3, first + timedelta(weeks=rng.randint(40, 46))),
        kill_weekdays=some(0.5, sorted(rng.sample(WEEKDAYS, rng.randint(1, 4)))),
        kill_a_day=some(0.4, rng.randint(15, 80)),
        closed=some(0.4, [first + timedelta(days=rng.randint(100, 280)) for _ in range(3)]),
        freezer=some(0.3, f"{rng.randint(30, 150)} kg"),
        mixed_ages=some(0.5, f"{rng.randint(14, 40)} days"),
        cold_group=some(0.3, rng.randint(35, 80)),
        ground=some(0.3, f"{scale.shelters[1] * rng.randint(1500, 4000)} m2"),
        heat_without=some(0.3, "lamp"),
    )
    if people and rng.random() < 0.5:
        hay = first + timedelta(days=rng.randint(140, 190))
        yield from _table(
            "[planning.busy]", from_=hay, to=hay + timedelta(days=rng.randint(2, 9)), person="bo",
            hours_per_day=rng.choice((0, 0.5)),
        )  # fmt: skip
