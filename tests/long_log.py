"""Long logs of a farm that never was: years of rounds, plausible, seeded, free of contradictions and doubles.

    records = long_log(7, 200_000)          # about twelve years of the farm of `farms.py`
    records = long_log(7, 5_000, mess=0.02) # the same, with doubles and nonsense among them

Three people with three devices write; a tenth of it is entered hours later.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from farms import farm
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import Record

__all__ = ["long_log"]

PEOPLE = (("ada", "phone"), ("ben", "tablet"), ("kit", "kitchen"))
EVERY_D = 35
"""Days between two sets."""
AGES_D = {"out": 28, "sort": 56, "kill": 100, "house": 126, "spent": 540}


@dataclass
class Flock:
    """Birds of one batch and sex in one place."""

    batch: str
    sex: str | None
    place: str
    heads: int
    hatched: int
    """Day of the log."""


@dataclass
class Maker:
    rng: random.Random
    farm: Farm
    start: datetime
    mess: float
    made: list[Record] = field(default_factory=list)
    flocks: list[Flock] = field(default_factory=list)
    eggs: dict[str, tuple[int, int, int]] = field(default_factory=dict)
    """Batch in the machine: day set, eggs, fertile."""
    count: int = 0

    def write(self, day: int, hour: float, kind: str, who: int | None = None, **data: Any) -> None:
        rng = self.rng
        at = self.start + timedelta(days=day, hours=hour, seconds=rng.randrange(1800))
        late = timedelta(hours=rng.randrange(2, 30)) if rng.random() < 0.1 else timedelta(seconds=20)
        name, device = PEOPLE[rng.randrange(3) if who is None else who]
        self.count += 1
        said = {key.rstrip("_"): value for key, value in data.items() if value is not None}
        self.made.append(Record(f"{self.count:026d}", device, name, at, at + late, kind, said))
        if self.mess and rng.random() < self.mess:
            self.again(self.made[-1])

    def again(self, record: Record) -> None:
        """Somebody else writes the same down too, or something that cannot be."""
        self.count += 1
        name, device = next(p for p in PEOPLE if p[0] != record.who)
        at = record.at + timedelta(minutes=self.rng.randrange(1, 50))
        data = dict(record.data)
        if "heads" in data and self.rng.random() < 0.3:
            data["heads"] = 9_999
        self.made.append(
            Record(f"{self.count:026d}", device, name, at, at + timedelta(seconds=30), record.kind, data)
        )

    def day(self, day: int) -> None:
        self.machine(day)
        for flock in list(self.flocks):
            self.steps(day, flock)
        self.flocks = [flock for flock in self.flocks if flock.heads]
        self.round(day)

    def machine(self, day: int) -> None:
        rng, farm = self.rng, self.farm
        if day % EVERY_D == 0:
            name, eggs = f"b{day // EVERY_D}", rng.randint(60, 110)
            self.eggs[name] = (day, eggs, eggs)
            machine = rng.choice(sorted(farm.incubators))
            line = rng.choice(sorted(farm.lines))
            self.write(day, 9, "set", 0, batch=name, line=line, eggs=eggs, incubator=machine, stored_d=6)
        for name, (since, eggs, fertile) in list(self.eggs.items()):
            if day == since + 7:
                fertile = round(eggs * rng.uniform(0.7, 0.95))
                self.eggs[name] = (since, eggs, fertile)
                self.write(day, 19, "candled", 1, batch=name, fertile=fertile)
            if day == since + 21:
                del self.eggs[name]
                chicks = round(fertile * rng.uniform(0.6, 0.9))
                place = rng.choice(sorted(farm.brooders))
                self.write(day, 8, "hatched", 0, batch=name, chicks=chicks, place=place)
                self.flocks.append(Flock(name, None, place, chicks, day))

    def steps(self, day: int, flock: Flock) -> None:
        rng, age = self.rng, day - flock.hatched
        shelters, houses = sorted(self.farm.shelters), sorted(self.farm.houses)
        if age == AGES_D["out"]:
            self.to(day, flock, rng.choice(shelters))
        if age == AGES_D["sort"] and flock.sex is None and flock.heads:
            pullets = sum(rng.random() < 0.5 for _ in range(flock.heads))
            to = rng.choice([s for s in shelters if s != flock.place])
            cockerels = flock.heads - pullets
            said = {"batch": flock.batch, "place": flock.place, "pullets_to": to}
            self.write(day, 10, "sorted", 0, pullets=pullets, cockerels=cockerels, **said)
            self.flocks.append(Flock(flock.batch, "pullet", to, pullets, flock.hatched))
            flock.sex, flock.heads = "cockerel", cockerels
        if age == AGES_D["kill"] and flock.sex == "cockerel" and flock.heads:
            self.write(day, 7, "killed", 0, heads=flock.heads, **self.said(flock))
            flock.heads = 0
        if age == AGES_D["house"] and flock.sex == "pullet":
            self.to(day, flock, houses[0])
        if age == AGES_D["spent"] and flock.heads:
            self.write(day, 7, "sold", 0, heads=flock.heads, **self.said(flock))
            flock.heads = 0
        if flock.heads and age in (42, 70, 91):
            weights = [round(max(0.05, rng.gauss(0.02 * age, 0.002 * age)), 2) for _ in range(12)]
            self.write(day, 16, "weighed", 0, batch=flock.batch, sex=flock.sex, weights_kg=weights)

    def to(self, day: int, flock: Flock, place: str) -> None:
        if flock.heads and place != flock.place:
            said = {"batch": flock.batch, "from_": flock.place, "sex": flock.sex}
            self.write(day, 11, "moved", 0, to=place, **said)
            flock.place = place

    def said(self, flock: Flock) -> dict[str, Any]:
        return {"batch": flock.batch, "place": flock.place, "sex": flock.sex}

    def round(self, day: int) -> None:
        rng, farm = self.rng, self.farm
        who = rng.randrange(3)
        for place in sorted({flock.place for flock in self.flocks}):
            here = [flock for flock in self.flocks if flock.place == place]
            heads = sum(flock.heads for flock in here)
            self.write(day, 5.5, "fed", who, place=place, kg=round(heads * rng.uniform(0.05, 0.12), 1))
            self.write(day, 5.6, "watered", who, place=place, litres=round(heads * 0.2, 1), runs=True)
            if place in farm.shelters:
                self.write(day, 5.2, "shelter moved", who, place=place)
            if place in farm.houses:
                eggs = sum(rng.random() < 0.7 for _ in range(heads))
                self.write(day, 12, "eggs", 2, place=place, eggs=eggs)
            if rng.random() < 0.3:
                self.write(day, 6, "glance", who, place=place, heads=max(0, heads - rng.randrange(3)))
            self.write(day, 18, "shut in", rng.randrange(3), place=place, doors=True, heads=heads)
            for flock in here:
                young = 0.012 if day - flock.hatched < 7 else 0.0012
                dead = sum(rng.random() < young for _ in range(flock.heads))
                if dead:
                    kind = rng.choices(("found dead", "culled", "missing"), (8, 1, 1))[0]
                    # After every move of the day, before the next morning's.
                    self.write(day, 13, kind, who, heads=dead, **self.said(flock))
                    flock.heads -= dead
            if rng.random() < 0.03:
                left = sum(flock.heads for flock in here)
                self.write(day, 16.5, "counted", who, place=place, heads=left)
        self.flocks = [flock for flock in self.flocks if flock.heads]
        self.write(day, 5, "temperature read", who, lowest_C=round(rng.gauss(5, 6), 1))
        if rng.random() < 0.1:
            self.write(day, 20, "note", text=rng.choice(("wind from the north", "clover up", "fox seen")))


def long_log(
    seed: int, records: int = 200_000, *, mess: float = 0.0, first: str = "2015-01-05", on: Farm | None = None
) -> list[Record]:
    """At least `records` of them, by the day on which they were made, ids rising. `mess`: the share that
    somebody else wrote down too, or that says what cannot be. `on`: a farm with incubators, brooders,
    shelters and a house; that of `farms.py` unless given."""
    start = datetime.fromisoformat(first).replace(tzinfo=UTC)
    maker = Maker(random.Random(seed), on or farm(), start, mess)
    for day in _days():
        maker.day(day)
        if len(maker.made) >= records:
            break
    return maker.made


def _days() -> Iterator[int]:
    day = 0
    while True:
        yield day
        day += 1
