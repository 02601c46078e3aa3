"""Who stands where, in whole birds: in the morning before the day's work, in the evening after it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor

import numpy as np

from leyfold.nouns.farm import Farm
from leyfold.nouns.record import State
from leyfold.nouns.round import CallKind, Part, Party
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.round.told import told_birds

__all__ = ["Bird", "birds", "kind_of", "standing", "whole"]

Key = tuple[str, Sex | None, str]
"""Batch, sex, place."""


@dataclass(frozen=True, slots=True)
class Bird:
    """One bird of a batch and sex on a day: what it eats by kind, drinks and lays; `heads` are all such birds
    alive that morning, `leaves` the share of them that is to leave today (feed is off for them)."""

    heads: float
    weight_kg: float
    feed_kg: Mapping[str, float]
    water_l: float
    eggs: float
    leaves: float


def whole(shares: Sequence[float]) -> list[int]:
    """Whole numbers with the whole sum of `shares`: the largest remainders are rounded up, the first of
    equals first. Each is within one of its share."""
    total = floor(sum(shares) + 0.5)
    low = [floor(share + 1e-9) for share in shares]
    order = sorted(range(len(shares)), key=lambda i: (-round(shares[i] - low[i], 9), i))
    for i in order[: max(total - sum(low), 0)]:
        low[i] += 1
    return low


def kind_of(farm: Farm, place: str) -> CallKind:
    """Brooder, shelter or house; a breeding pen is walked like a house."""
    return "brooder" if place in farm.brooders else "shelter" if place in farm.shelters else "house"


def birds(season: Season, i: int, warmer: Mapping[tuple[str, Sex], float]) -> dict[tuple[str, Sex], Bird]:
    """By batch and sex, all birds alive at the start of day `i`, those that leave on it too. `warmer`: water
    drunk that day over what the season expects of the month."""
    rows: dict[tuple[str, Sex], list[int]] = defaultdict(list)
    for row in np.flatnonzero((season.heads[:, i] > 0) | (season.killed[:, i] > 0)).tolist():
        lot = season.lots[row]
        rows[lot.batch, lot.sex].append(row)
    fed, kinds = season.feed_kg[:, i].tolist(), season.feed_kind[:, i].tolist()
    found = {}
    for key, own in rows.items():
        heads, killed = float(season.heads[own, i].sum()), float(season.killed[own, i].sum())
        feed: dict[str, float] = defaultdict(float)
        for row in own:
            if fed[row] > 0:
                feed[season.feeds[kinds[row]]] += fed[row]
        found[key] = Bird(
            heads + killed,
            float((season.heads[own, i] * season.weight_kg[own, i]).sum() / heads)
            if heads
            else float(season.killed_kg[own, i].sum() / killed),
            {kind: kg / heads for kind, kg in feed.items()},
            _water_l(season, own, i) * warmer[key],
            float(season.eggs[own, i].sum()) / (heads or 1.0),
            killed / (heads + killed),
        )  # fmt: skip
    return found


def _water_l(season: Season, rows: Sequence[int], i: int) -> float:
    """What one bird drinks on day `i`; where the season gives those that leave none, what each drank the day
    before: water stays until they are caught."""
    drunk = float(season.water_l[rows, i].sum())
    heads = float(season.heads[rows, i].sum())
    if heads or drunk:
        return drunk / (heads or float(season.killed[rows, i].sum()))
    before = float(season.heads[rows, i - 1].sum()) if i else 0.0
    return float(season.water_l[rows, i - 1].sum()) / before if before else 0.0


def standing(
    farm: Farm, season: Season, state: State, i: int, part: Part, one: Mapping[tuple[str, Sex], Bird]
) -> dict[str, tuple[Party, ...]]:
    """Parties by place on day `i` of the season, `one` its birds. In the morning they stand where they stood
    the night before, and those to be killed today are still there. A batch in the book stands as the book
    says on the morning of its day. Heads of each batch add up to its whole number."""
    day = season.day(i)
    book: dict[str, list[tuple[Key, float]]] = defaultdict(list)
    if state.day == day and part == "morning":
        for g in state.groups:
            book[g.batch].append(((g.batch, g.sex, g.place), float(g.heads)))
    shares = _evening(season, i) if part == "evening" else _morning(season, i)
    planned: dict[str, list[tuple[Key, float]]] = defaultdict(list)
    for key, heads in _unsorted(shares).items():
        planned[key[0]].append((key, heads))
    found: dict[str, list[Party]] = defaultdict(list)
    for batch in dict.fromkeys((*planned, *book)):
        own = book.get(batch) or planned[batch]
        for (key, _), heads in zip(own, whole([h for _, h in own]), strict=True):
            if heads:
                found[key[2]].append(_party(farm, season, key, heads, i, one))
    return {place: tuple(sorted(p, key=lambda p: (p.age_d, p.batch))) for place, p in found.items()}


def _evening(season: Season, i: int) -> dict[tuple[str, Sex, str], float]:
    found: dict[tuple[str, Sex, str], float] = defaultdict(float)
    for row in np.flatnonzero(season.heads[:, i] > 0).tolist():
        lot = season.lots[row]
        found[lot.batch, lot.sex, lot.place] += float(season.heads[row, i])
    return found


def _morning(season: Season, i: int) -> dict[tuple[str, Sex, str], float]:
    """Before the day's work: all birds of the day's start, spread as they stood yesterday. Birds that come
    today are not there yet; on the first day of the season they stand as it begins."""
    if i == 0:
        return _evening(season, i)
    alive: dict[tuple[str, Sex], float] = defaultdict(float)
    spread: dict[tuple[str, Sex], dict[str, float]] = defaultdict(lambda: defaultdict(float))
    present = {b.id for b in season.plan.batches if b.origin == "present" and b.arrives_on == season.day(i)}
    nows = (season.heads[:, i] + season.killed[:, i]).tolist()
    befores = (season.heads[:, i - 1] - season.dead[:, i - 1]).tolist()
    for lot, now, before in zip(season.lots, nows, befores, strict=True):
        key = (lot.batch, lot.sex)
        if now > 0:
            alive[key] += now
        if before > 1e-9 or (lot.batch in present and now > 0):
            spread[key][lot.place] += before if before > 1e-9 else now
    return {
        (batch, sex, place): alive[batch, sex] * share / sum(places.values())
        for (batch, sex), places in spread.items()
        for place, share in places.items()
        if alive[batch, sex] > 0
    }


def _unsorted(shares: Mapping[tuple[str, Sex, str], float]) -> dict[Key, float]:
    """Pullets and cockerels of one batch in one place are one group that nobody has parted."""
    sexes: dict[tuple[str, str], set[Sex]] = defaultdict(set)
    for batch, sex, place in shares:
        sexes[batch, place].add(sex)
    found: dict[Key, float] = defaultdict(float)
    for (batch, sex, place), heads in shares.items():
        found[batch, sex if len(sexes[batch, place]) == 1 else None, place] += heads
    return found


def _party(
    farm: Farm, season: Season, key: Key, heads: int, i: int, one: Mapping[tuple[str, Sex], Bird]
) -> Party:
    name, sex, _ = key
    batch = next(b for b in season.plan.batches if b.id == name)
    age = (season.day(i) - batch.hatched_on).days
    weights = [one[name, s].weight_kg for s in SEXES if sex in (None, s) and (name, s) in one]
    hens = sex == "pullet" and age >= farm.lines[batch.line].point_of_lay_d.value
    who = told_birds(name, "hen" if hens else sex, batch.ring)
    weight = sum(weights) / len(weights) if weights else None
    return Party(name, batch.line, sex, heads, age, weight, who, batch.ring)
