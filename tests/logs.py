"""Logs built in code: a diary to write in, and a season made up at random that never contradicts itself."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from leyfold.nature.growth import gompertz
from leyfold.nouns.record import Record
from leyfold.nouns.stock import Hen

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


def kept(
    hen: Hen, batches: int = 40, first: str = "2027-01-04 07:00", until_d: int = 1000
) -> tuple[Diary, dict[str, float]]:
    """Batches of a hundred eggs, 25 days apart, simulated bird by bird on the farm of `farms.py`, and the
    truth behind them. `hen` gives the lay, of which these lay 0.8."""
    rng = np.random.default_rng(20)
    start, diary = utc(first), Diary()
    turn = float(np.log(np.log(4.2 / 0.04)) / 0.021)
    daily = {"first": 0.01, "later": 0.001}
    hens: list[tuple[date, int]] = []
    for b in range(batches):
        at, name = start + timedelta(days=25 * b), f"b{b}"
        diary.write(at, "set", batch=name, line="tawny", eggs=100)
        fertile = int(rng.binomial(100, rng.beta(0.75 * 60, 0.25 * 60)))
        diary.write(at + timedelta(days=7), "candled", batch=name, fertile=fertile)
        chicks = int(rng.binomial(fertile, rng.beta(0.65 * 60, 0.35 * 60)))
        hatch = at + timedelta(days=21)
        diary.write(hatch, "hatched", batch=name, chicks=chicks, place="east")
        alive = {None: chicks, "pullet": 0, "cockerel": 0}
        place = {None: "east", "pullet": "s2", "cockerel": "s3"}
        for age in range(99):
            now = hatch + timedelta(days=age)
            if age == 28:
                diary.write(now, "moved", batch=name, from_="east", to="s1")
                place[None] = "s1"
            if age == 56:
                pullets = int(rng.binomial(alive[None], 0.5))
                diary.write(now, "sorted", batch=name, pullets=pullets, cockerels=alive[None] - pullets,
                            pullets_to="s2", cockerels_to="s3")  # fmt: skip
                alive = {None: 0, "pullet": pullets, "cockerel": alive[None] - pullets}
            evening = now + timedelta(hours=10)
            for sex, heads in alive.items():
                dead = int(rng.binomial(heads, daily["first" if age < 7 else "later"]))
                if dead:
                    said = {"sex": sex} if sex else {}
                    diary.write(evening, "found dead", batch=name, place=place[sex], heads=dead, **said)
                    alive[sex] -= dead
            if age in (63, 77, 91):
                mean = float(gompertz(age, mature_kg=4.2, rate_per_d=0.021, inflection_d=turn))
                weights = [round(float(w), 3) for w in rng.normal(mean, 0.14 * mean, 20)]
                diary.write(evening, "weighed", batch=name, sex="cockerel", weights_kg=weights)
            if age == 98:
                if alive["cockerel"]:
                    diary.write(evening, "killed", batch=name, sex="cockerel", heads=alive["cockerel"])
                if alive["pullet"]:
                    diary.write(evening, "moved", batch=name, sex="pullet", to="coop")
                    hens.append((hatch.date(), alive["pullet"]))
    for day in range(200, until_d):
        on = start + timedelta(days=day)
        laid = 0.0
        for hatched, heads in hens:
            week = (on.date() - hatched).days / 7
            if week >= 20 and (on.date() - hatched).days > 98:
                rise = 1 + np.exp(-hen.lay_c_per_wk.value * (week - hen.lay_d_wk.value))
                laid += heads * hen.lay_a.value * np.exp(-hen.lay_b_per_wk.value * week) / rise
        diary.write(on + timedelta(hours=11), "eggs", place="coop", eggs=int(rng.poisson(0.8 * laid)))
    truth = {
        "fertility": 0.75,
        "hatch": 0.65,
        "first_week": 0.99**7,
        "grower": 0.999 ** (98 - 56),
        "turn": turn,
    }
    return diary, truth
