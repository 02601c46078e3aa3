"""Logs built in code: a diary to write in, and a season made up at random that never contradicts itself."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from leyfold.nouns.record import Record

DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def ulid(number: int) -> str:
    """A well-formed id whose order is that of the numbers."""
    digits = ""
    for _ in range(26):
        number, digit = divmod(number, 32)
        digits = DIGITS[digit] + digits
    return digits


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@dataclass
class Diary:
    records: list[Record] = field(default_factory=list)

    def __iter__(self) -> Iterator[Record]:
        return iter(self.records)

    def write(self, at: str | datetime, kind: str, entered: str | None = None, **data: Any) -> str:
        """`from_` stands for the field `from`. The id is returned."""
        when = utc(at) if isinstance(at, str) else at
        made = Record(
            id=ulid(len(self.records) + 1),
            device="phone",
            who="ada",
            at=when,
            entered=utc(entered) if entered else when,
            kind=kind,
            data={key.removesuffix("_"): value for key, value in data.items()},
        )
        self.records.append(made)
        return made.id


def batch_of_fifty() -> Diary:
    """60 eggs, 54 fertile, 50 chicks in the brooder `east` on 26 January 2027."""
    diary = Diary()
    diary.write("2027-01-05 09:00", "set", batch="a", line="tawny", eggs=60, incubator="small", stored_d=3)
    diary.write("2027-01-12 20:00", "candled", batch="a", fertile=54)
    diary.write("2027-01-26 10:00", "hatched", batch="a", chicks=50, place="east")
    return diary


def made_up(seed: int, days: int = 120) -> tuple[Diary, dict[str, int]]:
    """A season of two batches of the farm in `farms.py`, and how many birds it says came and went."""
    rng = random.Random(seed)
    diary, start = Diary(), utc("2027-02-20 06:00")
    groups: dict[tuple[str, str | None, str], int] = {}
    sums = {"came": 0, "found dead": 0, "killed": 0, "gone": 0}
    places = ["east", "west", *(f"s{i}" for i in range(1, 7)), "coop"]
    eggs = rng.randint(30, 80)
    diary.write(start - timedelta(days=21), "set", batch="a", line="tawny", eggs=eggs)
    fertile = rng.randint(eggs // 2, eggs)
    if rng.random() < 0.7:
        diary.write(start - timedelta(days=14), "candled", batch="a", fertile=fertile)
    chicks = rng.randint(0, fertile)
    diary.write(start, "hatched", batch="a", chicks=chicks, place="east")
    groups[("a", None, "east")] = chicks
    bought = rng.randint(1, 40)
    diary.write(start, "bought", batch="b", line="tawny", heads=bought, place="west")
    groups[("b", None, "west")] = bought
    sums["came"] = chicks + bought
    at = start
    while at < start + timedelta(days=days):
        at += timedelta(minutes=rng.randint(0, 2000))
        alive = [key for key, heads in groups.items() if heads]
        if not alive:
            break
        batch, sex, place = key = rng.choice(sorted(alive, key=str))
        said = {"batch": batch, "place": place} | ({"sex": sex} if sex else {})
        alone = sum(1 for k in alive if k[0] == batch and k[2] == place) == 1
        if not alone and sex is None:
            continue  # only a sex said would tell these birds from the others
        match rng.choice(["loss", "loss", "moved", "sorted", "left", "counted", "weighed", "fed", "eggs"]):
            case "loss":
                kind, heads = (
                    rng.choice(["found dead", "culled", "missing"]),
                    rng.randint(1, min(3, groups[key])),
                )
                diary.write(at, kind, heads=heads, **said)
                groups[key] -= heads
                sums[kind if kind == "found dead" else "gone"] += heads
            case "moved":
                to, heads = rng.choice(places), rng.randint(1, groups[key])
                if to == place:
                    continue
                many = {} if heads == groups[key] else {"heads": heads}
                where = {"from": place, "batch": batch} | ({"sex": sex} if sex else {})
                diary.write(at, "moved", to=to, **where, **many)
                groups[key] -= heads
                groups[(batch, sex, to)] = groups.get((batch, sex, to), 0) + heads
            case "sorted" if sex is None:
                pullets = rng.randint(0, groups[key])
                cockerels = rng.randint(0, groups[key] - pullets)
                diary.write(
                    at,
                    "sorted",
                    batch=batch,
                    place=place,
                    pullets=pullets,
                    cockerels=cockerels,
                    pullets_to="s1",
                )
                groups[key] -= pullets + cockerels
                for of, to, heads in (("pullet", "s1", pullets), ("cockerel", place, cockerels)):
                    groups[(batch, of, to)] = groups.get((batch, of, to), 0) + heads
            case "left" if rng.random() < 0.2:
                kind, heads = rng.choice(["killed", "sold"]), rng.randint(1, groups[key])
                diary.write(at, kind, heads=heads, **said)
                groups[key] -= heads
                sums["killed" if kind == "killed" else "gone"] += heads
            case "counted":
                diary.write(at, "counted", heads=groups[key] + rng.randint(0, 2), **said)
            case "weighed":
                diary.write(at, "weighed", batch=batch, weights_kg=[0.5, 0.61])
            case "fed":
                diary.write(at, "fed", place=place, kg=round(rng.uniform(0, 20), 1))
            case "eggs":
                diary.write(at, "eggs", place="coop", eggs=rng.randint(0, 30))
    sums["alive"] = sum(groups.values())
    return diary, sums
