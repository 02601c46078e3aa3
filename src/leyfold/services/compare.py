"""Two plans side by side: two farms, or two plans of one farm."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Literal

import numpy as np

from leyfold.nouns.draws import WishChance
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.reckoning import Reckoning
from leyfold.nouns.season import Season
from leyfold.reckoning.compare import compare
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import killed_by_line, wish_chances
from leyfold.services.opened import open_side

__all__ = ["CompareAnswer", "Group", "Row", "Side", "compare_plans"]

Group = Literal["dates", "shelters", "feed", "chances", "money"]
Unit = Literal[
    "day", "eggs", "birds", "shelters", "kg", "kg/m2", "kg/ha", "chance", "money", "money/kg", "limits",
    "share",
]  # fmt: skip

LOADS: dict[str, Unit] = {"heads": "birds", "kg_per_m2": "kg/m2", "kg_n_per_ha_pass": "kg/ha"}
SMALL = 1e-9
SOMEBODY = 0.5


@dataclass(frozen=True, slots=True)
class Row:
    """One thing in both. `what` is its kind, `of` the batch, feed, wish or class it is of. None where one
    side has it not."""

    group: Group
    what: str
    of: str
    unit: Unit
    a: float | date | None
    b: float | date | None

    @property
    def differs(self) -> bool:
        if isinstance(self.a, float) and isinstance(self.b, float):
            return abs(self.a - self.b) > SMALL * max(abs(self.a), abs(self.b), 1.0)
        return self.a != self.b

    @property
    def change(self) -> float | None:
        """`b` less `a`, in days for dates; None where one of them is not there."""
        if isinstance(self.a, date) and isinstance(self.b, date):
            return float((self.b - self.a).days)
        if isinstance(self.a, float) and isinstance(self.b, float):
            return self.b - self.a
        return None


@dataclass(frozen=True, slots=True)
class Side:
    """`name` is what it is called: the farm, and the plan's file where it is not the usual one."""

    name: str
    farm: Farm
    season: Season
    chances: tuple[WishChance, ...]
    reckoning: Reckoning
    sha256: str


@dataclass(frozen=True, slots=True)
class CompareAnswer:
    """`rows` in the order of their groups, those that are alike too."""

    a: Side
    b: Side
    rows: tuple[Row, ...]
    seed: int
    inputs_sha256: str

    @property
    def differences(self) -> tuple[Row, ...]:
        return tuple(row for row in self.rows if row.differs)


def compare_plans(a: Path, b: Path, at: datetime, *, seed: int = 0) -> CompareAnswer:
    """`b` held against `a` as of the instant `at`. Each is a farm's folder, its farm.toml, or a plan file: a
    plan file is of the farm in its own folder, else of the other's.

    BadInput with every fault of the two, where neither folder holds a farm, and where the money of the two is
    not of one currency.
    """
    one, two = _both(a, b, at, seed)
    rows = (
        *_dates(one, two),
        *_shelters(one, two),
        *_feed(one, two),
        *_chances(one, two),
        *_money(one, two),
    )
    sha = hashlib.sha256((one.sha256 + two.sha256).encode()).hexdigest()
    return CompareAnswer(one, two, rows, seed, sha)


def _both(a: Path, b: Path, at: datetime, seed: int) -> tuple[Side, Side]:
    sides, faults = [], list[Fault]()
    for where, other in ((a, b), (b, a)):
        try:
            sides.append(_side(where, other, at, seed))
        except BadInput as wrong:
            faults += wrong.faults
    if faults:
        raise BadInput(*dict.fromkeys(faults))
    return sides[0], sides[1]


def _side(where: Path, other: Path, at: datetime, seed: int) -> Side:
    opened, name = open_side(where, other, at, "leyfold compare")
    farm = opened.farm
    season = expect(farm, complete(farm, opened.ahead))
    killed = killed_by_line(opened.state, opened.plan.first)
    chances = wish_chances(farm, season.plan, seed=seed, killed=killed)
    return Side(name, farm, season, chances, reckon(farm, season), opened.sha256)


# --- dates -------------------------------------------------------------------------------------------


def _dates(a: Side, b: Side) -> Iterator[Row]:
    one, two = ({x.id: x for x in side.season.plan.batches} for side in (a, b))
    for name in dict.fromkeys((*one, *two)):
        mine, theirs = _of_batch(a, one.get(name)), _of_batch(b, two.get(name))
        for what in dict.fromkeys((*mine, *theirs)):
            first, second = mine.get(what), theirs.get(what)
            unit: Unit = "eggs" if what == "eggs" else "birds" if what == "heads" else "day"
            yield Row("dates", what, name, unit, first, second)
    outs = [{out.batch: out.on for out in side.season.plan.outs} for side in (a, b)]
    for name in dict.fromkeys((*outs[0], *outs[1])):
        yield Row("dates", "out", name, "day", outs[0].get(name), outs[1].get(name))


def _of_batch(side: Side, batch: Batch | None) -> dict[str, float | date | None]:
    """The dated steps of a batch, and how many eggs or birds it is."""
    if batch is None:
        return {}
    found: dict[str, float | date | None] = {}
    if batch.origin == "set":
        found |= {"set": batch.set_on, "eggs": float(batch.eggs or 0), "hatch": batch.hatched_on}
    else:
        found |= {"comes": batch.arrives_on, "heads": float(sum(batch.heads.values()))}
    young = batch.arrives_on
    for what, on in (("turnout", batch.turnout_on), ("sort", batch.sort_on), ("house", batch.house_on)):
        if on is not None and on > young:
            found[what] = on
    lots = [i for i, x in enumerate(side.season.lots) if x.batch == batch.id and x.sex == "cockerel"]
    killed = side.season.killed[lots].sum(axis=0)
    days = [side.season.day(int(day)) for day in np.flatnonzero(killed >= SOMEBODY)]
    found |= {f"kill{i}": on for i, on in enumerate(days, start=1)}
    return found


# --- shelters, feed, chances, money ------------------------------------------------------------------


def _shelters(a: Side, b: Side) -> Iterator[Row]:
    used = [_in_use(side) for side in (a, b)]
    most = [int(days.argmax()) for days in used]
    yield Row("shelters", "most", "", "shelters", float(used[0][most[0]]), float(used[1][most[1]]))
    on = [
        side.season.day(day) if days[day] else None
        for side, days, day in zip((a, b), used, most, strict=True)
    ]
    yield Row("shelters", "most_on", "", "day", on[0], on[1])
    yield Row("shelters", "shelter_days", "", "shelters", float(used[0].sum()), float(used[1].sum()))
    for kind, unit in LOADS.items():
        yield Row("shelters", kind, "", unit, *(_worst(side, kind) for side in (a, b)))
    floor = [
        max((float(p.floor_share.max(initial=0.0)) for p in side.season.places.values()), default=0.0)
        for side in (a, b)
    ]
    yield Row("shelters", "brooder_floor", "", "share", floor[0], floor[1])
    passed = [float(len(side.season.breaches)) for side in (a, b)]
    yield Row("shelters", "limits_passed", "", "limits", passed[0], passed[1])


def _in_use(side: Side) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """[day] shelters with birds in them."""
    used = np.zeros(side.season.days, dtype=np.int64)
    for place in side.season.places.values():
        if place.kind == "shelter":
            used += place.heads >= SOMEBODY
    return used


def _worst(side: Side, kind: str) -> float:
    values = [getattr(p, kind) for p in side.season.places.values() if p.kind == "shelter"]
    return max((float(v.max(initial=0.0)) for v in values), default=0.0)


def _feed(a: Side, b: Side) -> Iterator[Row]:
    eaten = [
        {
            feed: float((side.season.feed_kg * (side.season.feed_kind == i)).sum())
            for i, feed in enumerate(side.season.feeds)
        }
        for side in (a, b)
    ]
    for feed in dict.fromkeys((*eaten[0], *eaten[1])):
        yield Row("feed", "feed", feed, "kg", eaten[0].get(feed), eaten[1].get(feed))
    yield Row("feed", "all_feed", "", "kg", sum(eaten[0].values()), sum(eaten[1].values()))


def _chances(a: Side, b: Side) -> Iterator[Row]:
    one, two = ({c.wish: c for c in side.chances} for side in (a, b))
    for wish in dict.fromkeys((*one, *two)):
        ends = (one.get(wish), two.get(wish))
        chance = [None if end is None else end.chance for end in ends]
        yield Row("chances", "chance", wish, "chance", chance[0], chance[1])
        safe = [None if end is None else float(end.safe) for end in ends]
        yield Row("chances", "safe", wish, "birds", safe[0], safe[1])


def _money(a: Side, b: Side) -> Iterator[Row]:
    held = compare(a.reckoning, b.reckoning)
    for row in held.margin:
        yield Row("money", "margin", row.name, "money", row.a, row.b)
    for row in held.unit_cost:
        unit: Unit = "money/kg" if row.name == "table" else "money"
        yield Row("money", "unit_cost", row.name, unit, row.a, row.b)
