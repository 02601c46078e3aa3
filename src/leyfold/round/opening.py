"""Opening the books: the birds and eggs that stand on the farm by its plan, as the first records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from hashlib import sha256
from typing import Any

import numpy as np

from leyfold.nouns.clock import civil, instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import Record, State
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex
from leyfold.round.calls import in_the_egg
from leyfold.round.standing import birds, standing, whole
from leyfold.round.water import warmer

__all__ = ["opening"]

DEVICE = "opening"
CAME_AT, SET_AT, KILLED_AT = time(0, 1), time(12), time(12)
_CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def opening(farm: Farm, season: Season, state: State, at: datetime) -> tuple[Record, ...]:
    """Records of all batches that `state` knows nothing of: eggs as `set` on their day, birds as `present` at
    the instant `at`, in whole numbers, where they stood the night before; of a batch of which the season has
    had some killed, as `present` on the day of the first killing, and those as `killed`. The same farm, plan
    and instant give the same records, ids included, so that taking them twice changes nothing. () outside the
    season."""
    day = civil(at, farm.holding.zone)
    i = season.index(day)
    if not 0 <= i < season.days:
        return ()
    return tuple(_eggs(farm, season, state, at)) + tuple(_birds(farm, season, state, at, i))


def _eggs(farm: Farm, season: Season, state: State, at: datetime) -> Iterator[Record]:
    day = civil(at, farm.holding.zone)
    for b in season.plan.batches:
        if b.id in state.batches or b.set_on is None or not in_the_egg(b, day, "morning"):
            continue
        data: dict[str, Any] = {"batch": b.id, "line": b.line, "eggs": b.eggs, "stored_d": b.stored_d}
        if b.incubator is not None:
            data["incubator"] = b.incubator
        yield _record(farm, "set", instant(b.set_on, SET_AT, farm.holding.zone), at, data)


def _birds(farm: Farm, season: Season, state: State, at: datetime, i: int) -> Iterator[Record]:
    one = birds(season, i, warmer(farm, season, i, farm.temperature_C[season.day(i).month - 1].value))
    there: dict[str, dict[tuple[Sex | None, str], int]] = defaultdict(lambda: defaultdict(int))
    for place, parties in standing(farm, season, state, i, "morning", one).items():
        for p in parties:
            there[p.batch][p.sex, place] += p.heads
    for b in season.plan.batches:
        if b.id in state.batches:
            continue
        killed = _killed(season, b.id, i)
        # All birds of a batch come into the book on one day.
        came = instant(killed[0][0], CAME_AT, farm.holding.zone) if killed else at
        for _, sex, place, heads in killed:
            there[b.id][sex, place] += heads
        of = {"batch": b.id, "line": b.line, "hatched_on": b.hatched_on.isoformat()}
        for (own, place), heads in there[b.id].items():
            data = of | {"heads": heads, "place": place} | ({"sex": own} if own is not None else {})
            yield _record(farm, "present", came, at, data)
        for day, sex, place, heads in killed:
            when = instant(day, KILLED_AT, farm.holding.zone)
            data = {"batch": b.id, "sex": sex, "place": place, "heads": heads}
            yield _record(farm, "killed", when, at, data)


def _killed(season: Season, batch: str, i: int) -> list[tuple[date, Sex, str, int]]:
    """Birds of a batch killed before day `i` of the season: day, sex, place, in whole numbers; the first day
    first."""
    rows = [r for r, lot in enumerate(season.lots) if lot.batch == batch]
    found = []
    for k in np.flatnonzero(season.killed[rows, :i].sum(axis=0) > 0).tolist():
        for row, heads in zip(rows, whole(season.killed[rows, k].tolist()), strict=True):
            if heads:
                found.append((season.day(k), season.lots[row].sex, season.lots[row].place, heads))
    return found


def _record(farm: Farm, kind: str, at: datetime, entered: datetime, data: Mapping[str, Any]) -> Record:
    who = next((p.id for p in farm.people.values() if p.role == "farmer"), DEVICE)
    name = "|".join((kind, at.isoformat(), entered.isoformat(), *(f"{k}={data[k]}" for k in sorted(data))))
    return Record(_ulid(entered, name), DEVICE, who, at, entered, kind, data)


def _ulid(at: datetime, name: str) -> str:
    """48 bits of milliseconds and 80 of what `name` hashes to, in Crockford's base 32."""
    bits = int(at.timestamp() * 1000) << 80 | int.from_bytes(sha256(name.encode()).digest()[:10], "big")
    return "".join(_CROCKFORD[bits >> 5 * k & 31] for k in reversed(range(26)))
