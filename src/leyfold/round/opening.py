"""Opening the books: the birds and eggs that stand on the farm by its plan, as the first records."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, time
from hashlib import sha256
from typing import Any

from leyfold.nouns.clock import civil, instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import Record, State
from leyfold.nouns.season import Season
from leyfold.round.calls import in_the_egg
from leyfold.round.standing import birds, standing
from leyfold.round.water import warmer

__all__ = ["opening"]

DEVICE = "opening"
SET_AT = time(12)
_CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def opening(farm: Farm, season: Season, state: State, at: datetime) -> tuple[Record, ...]:
    """Records of all batches that `state` knows nothing of: eggs as `set` on their day, birds as `present` at
    the instant `at`, in whole numbers, where they stood the night before. The same farm, plan and instant
    give the same records, ids included, so that taking them twice changes nothing. () outside the season."""
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
    hatched = {b.id: b.hatched_on for b in season.plan.batches}
    for place, parties in standing(farm, season, state, i, "morning", one).items():
        for p in parties:
            if p.batch in state.batches:
                continue
            data: dict[str, Any] = {
                "batch": p.batch, "line": p.line, "heads": p.heads, "place": place,
                "hatched_on": hatched[p.batch].isoformat(),
            }  # fmt: skip
            if p.sex is not None:
                data["sex"] = p.sex
            yield _record(farm, "present", at, at, data)


def _record(farm: Farm, kind: str, at: datetime, entered: datetime, data: Mapping[str, Any]) -> Record:
    who = next((p.id for p in farm.people.values() if p.role == "farmer"), DEVICE)
    name = "|".join((kind, at.isoformat(), entered.isoformat(), *(f"{k}={data[k]}" for k in sorted(data))))
    return Record(_ulid(entered, name), DEVICE, who, at, entered, kind, data)


def _ulid(at: datetime, name: str) -> str:
    """48 bits of milliseconds and 80 of what `name` hashes to, in Crockford's base 32."""
    bits = int(at.timestamp() * 1000) << 80 | int.from_bytes(sha256(name.encode()).digest()[:10], "big")
    return "".join(_CROCKFORD[bits >> 5 * k & 31] for k in reversed(range(26)))
