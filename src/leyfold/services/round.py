"""The rounds of a farm from its folder: what the phone keeps for a week, what terminal and sheets show."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import Exclusion, Footprint, Ground, Land, Layout
from leyfold.nouns.record import Record, State
from leyfold.nouns.round import Round
from leyfold.nouns.season import Season
from leyfold.round.calls import ANYWHERE, RECORDS
from leyfold.round.make import MOST_DAYS, NIGHTS_MORE, make_rounds
from leyfold.round.opening import opening as first_records
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.ahead import weather_of
from leyfold.services.ahead_records import plain
from leyfold.services.ground import LAND_FILE
from leyfold.services.opened import Opened, open_farm
from leyfold.words import say

__all__ = ["RoundsAnswer", "opening", "records", "rounds_of"]

SEED = 0
REST_D = 365


@dataclass(frozen=True, slots=True, eq=False)
class RoundsAnswer:
    """`season` is the one the rounds are of."""

    farm: Farm
    season: Season
    state: State
    rounds: tuple[Round, ...]
    made_at: datetime
    inputs_sha256: str


def rounds_of(
    where: Path, at: datetime, *, first: date | None = None, days: int = 1, now: datetime | None = None,
    seed: int = SEED,
) -> RoundsAnswer:  # fmt: skip
    """Morning and evening of `days` days from `first` on (else from the day of `at`), as they look
    at the full hour before `at`, with what the records say up to it. `now` as in `ahead_of`. BadInput for
    files that cannot be read, and for days past or too many."""
    opened = open_farm(where, at)
    today = civil(at, opened.farm.holding.zone)
    first = today if first is None else first
    if first < today:
        raise _fault("--at", "past", day=first.isoformat())
    if not 1 <= days <= MOST_DAYS:
        raise _fault("--days", "days", most=MOST_DAYS)
    if (first - today).days > MOST_DAYS:
        raise _fault("--at", "too_far", most=MOST_DAYS)
    hour = at.replace(minute=0, second=0, microsecond=0)
    ahead_d = (first - today).days + days
    weather, normals, marks = weather_of(opened, hour, ahead_d + NIGHTS_MORE + 2, now=now)
    farm = opened.farm
    season = expect(farm, complete(farm, opened.ahead))
    land, land_sha = _land(opened)
    ground = () if land is None else _ground(opened, land, today)
    made = make_rounds(
        farm, opened.plan, opened.state, season, ground, weather, normals, hour, first, days, seed=seed
    )
    digest = hashlib.sha256((opened.sha256 + marks + land_sha).encode()).hexdigest()
    return RoundsAnswer(farm, season, opened.state, made, hour, digest)


def opening(where: Path, at: datetime) -> tuple[Record, ...]:
    """The records that open the books of the farm in `where` at the instant `at`: all birds and eggs there by
    the plan of which nothing is written down. BadInput as `rounds_of`."""
    opened = open_farm(where, at)
    season = expect(opened.farm, complete(opened.farm, opened.ahead))
    return first_records(opened.farm, season, opened.state, at.astimezone(UTC))


def records(answer: RoundsAnswer) -> dict[str, Any]:
    """The rounds as plain values: instants in UTC, numbers in SI with their unit in the key, None for what is
    not known; and the kinds of records that can be written down at each kind of place."""
    return {
        "made_at": plain(answer.made_at),
        "records": {kind: [*of, *ANYWHERE] for kind, of in RECORDS.items()},
        "rounds": [plain(one) for one in answer.rounds],
    }


def _land(opened: Opened) -> tuple[Land | None, str]:
    from leyfold.ground.read import read_land

    file = opened.texts.folder / LAND_FILE
    if not file.is_file():
        return None, ""
    holding = opened.farm.holding
    land, _ = read_land(file, name=LAND_FILE, place=(holding.latitude_deg, holding.longitude_deg))
    return land, hashlib.sha256(file.read_bytes()).hexdigest()


def _ground(
    opened: Opened, land: Land, today: date
) -> tuple[tuple[Layout, Ground], ...]:  # fmt: skip
    """The stands of every shelter over the season as it was planned, so that records do not lay the strips
    anew each morning; from today on again from where shelters are known to stand elsewhere."""
    from leyfold.ground.whole import laid_again, shelters_laid

    farm = opened.farm
    planned = expect(farm, complete(farm, opened.plan))
    laid = shelters_laid(farm, planned, land, REST_D, (), _lay)
    standing = _drifted(opened.state, laid, today)
    return laid_again(farm, planned, land, laid, (), today, standing) if standing else laid


def _drifted(
    state: State, laid: tuple[tuple[Layout, Ground], ...], today: date
) -> Mapping[str, str]:  # fmt: skip
    """Shelters last seen, before today, on a stand that is not the planned one of that day."""
    found: dict[str, str] = {}
    for layout, ground in laid:
        pegs = {stand.id for stand in layout.stands}
        planned = {(a.shelter, a.on): a.stand.id for a in ground.days if a.stand is not None}
        for shelter in layout.footprint.id.split("+"):
            seen = state.stands.get(shelter)
            if seen is None or seen.stand not in pegs or not seen.on < today:
                continue
            if seen.stand is not None and planned.get((shelter, seen.on), seen.stand) != seen.stand:
                found[shelter] = seen.stand
    return found


def _lay(
    land: Land, footprint: Footprint, *, exclusions: Mapping[str, tuple[Exclusion, ...]], numbered_from: int
) -> Layout:  # fmt: skip
    size = Footprint("", footprint.length_m, footprint.width_m)
    found = _laid_out(land, size, tuple(exclusions.items()), numbered_from)
    return replace(found, footprint=footprint)


@lru_cache(maxsize=32)
def _laid_out(
    land: Land, size: Footprint, exclusions: tuple[tuple[str, tuple[Exclusion, ...]], ...], numbered_from: int
) -> Layout:  # fmt: skip
    """Laying strips out takes seconds and hangs on the land and the sizes alone."""
    from leyfold.ground.stands import lay_out

    return lay_out(land, size, exclusions=dict(exclusions), numbered_from=numbered_from)


def _fault(option: str, key: str, **words: object) -> BadInput:
    wrong, mend = say(f"round.{key}", **words), say(f"round.{key}_mend", **words)
    return BadInput(Fault("leyfold round", option, wrong, mend))
