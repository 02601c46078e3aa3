"""The rounds of a farm from its folder: what the phone keeps for a week, what terminal and sheets show."""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.farm.texts import HIDDEN
from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Field, Ground, Land, Layout, NetAhead, Terrain
from leyfold.nouns.record import Record, State
from leyfold.nouns.round import Round
from leyfold.nouns.season import Season
from leyfold.nouns.weather import Weather
from leyfold.round.calls import ANYWHERE, RECORDS
from leyfold.round.cards import cards as happened_cards
from leyfold.round.make import MOST_DAYS, NIGHTS_MORE, make_rounds
from leyfold.round.opening import opening as first_records
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.ahead import sources_of, weather_of
from leyfold.services.ahead_records import plain
from leyfold.services.ground import LAND_FILE, STEEPEST
from leyfold.services.heights import gaps_under, heights_read, lying
from leyfold.services.kept_stands import kept_layouts
from leyfold.services.nets_ahead import nets_ahead
from leyfold.services.opened import Opened, open_farm
from leyfold.weather.read import Files
from leyfold.words import say

if TYPE_CHECKING:
    from leyfold.services.live import Live
    from leyfold.store.records import Store

__all__ = ["RoundsAnswer", "cards", "open_books", "opening", "records", "rounds_of"]

SEED = 0
REST_D = 365
Laid = tuple[tuple[Layout, Ground], ...]
_Pegs = tuple[tuple[tuple[str, ...], frozenset[str], Mapping[tuple[str, date], str]], ...]
"""Of each layout its shelters, all its stands, and the one planned for a shelter and day."""


_WEATHER: Kept[tuple[Files, Weather]] = Kept(4)
_SEASONS: Kept[Season] = Kept(4)
_LANDS: Kept[tuple[Land, Terrain | None]] = Kept(2)
_LAID: Kept[Laid] = Kept(4)
_PEGS: Kept[_Pegs] = Kept(2)


@dataclass(frozen=True, slots=True, eq=False)
class RoundsAnswer:
    """`season` is the one the rounds are of."""

    farm: Farm
    season: Season
    state: State
    rounds: tuple[Round, ...]
    made_at: datetime
    inputs_sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class _Answered:
    """The rounds of so many days, with all that they hang on but the number of days."""

    known: tuple[Any, ...]
    days: int
    answer: RoundsAnswer


_ANSWERED: deque[_Answered] = deque(maxlen=8)
"""The last answers, the newest first: a phone asks again and again for what has not changed."""


@dataclass(frozen=True, slots=True, eq=False)
class _Lie:
    """The ground under a farm's rounds: strips and stands, nets, heights, fields; empty without land."""

    laid: Laid = ()
    nets: tuple[NetAhead, ...] = ()
    terrain: Terrain | None = None
    fields: tuple[Field, ...] = ()


def rounds_of(
    where: Path | Opened, at: datetime, *, first: date | None = None, days: int = 1,
    now: datetime | None = None, seed: int = SEED,
) -> RoundsAnswer:  # fmt: skip
    """Morning and evening of `days` days from `first` on (else from the day of `at`), as they look
    at the full hour before `at`, with what the records say up to it. `now` as in `ahead_of`. BadInput for
    files that cannot be read, and for days past or too many. A farm already opened is taken as it is."""
    opened = open_farm(where, at) if isinstance(where, Path) else where
    today = civil(at, opened.farm.holding.zone)
    first = today if first is None else first
    if first < today:
        raise _fault("--at", "past", day=first.isoformat())
    if not 1 <= days <= MOST_DAYS:
        raise _fault("--days", "days", most=MOST_DAYS)
    if (first - today).days > MOST_DAYS:
        raise _fault("--at", "too_far", most=MOST_DAYS)
    hour = at.replace(minute=0, second=0, microsecond=0)
    files, marks = sources_of(opened, hour, now=now)
    land_file = opened.texts.folder / LAND_FILE
    land = land_file.read_bytes() if land_file.is_file() else b""
    land += heights_read(opened.farm, opened.texts.folder) if land else b""
    digest = hashlib.sha256((opened.sha256 + marks).encode() + land).hexdigest()
    # As far for one day as for all of them: whoever asks for the week after today finds the weather drawn.
    ahead_d = max((first - today).days + days, MOST_DAYS)
    # Of the same records, those that had happened by then: the state hangs on both.
    known = (opened.texts.folder, digest, hour, first, ahead_d, seed, opened.state)
    made = next((one for one in tuple(_ANSWERED) if one.known == known), None)
    if made is not None and made.days >= days:
        return _first_days(made.answer, first, days)
    farm = opened.farm
    season = _SEASONS.get((farm, opened.ahead), lambda: expect(farm, complete(farm, opened.ahead)))
    planned = season
    if opened.state.groups:
        planned = _SEASONS.get((farm, opened.plan), lambda: expect(farm, complete(farm, opened.plan)))
    lie = _ground(opened, planned, today, land)
    known_by = (replace(farm, lines={}), marks, files.notes, hour, ahead_d)
    files, weather = _WEATHER.get(
        known_by, lambda: (files, weather_of(farm, files, hour, ahead_d + NIGHTS_MORE + 2))
    )
    # The days made already are the first of more of them.
    done, before = (0, ()) if made is None else (made.days, made.answer.rounds)
    start, until = first + timedelta(days=done), first + timedelta(days=days + 2)
    more = make_rounds(
        farm, planned, opened.state, season, lie.laid, weather, files.normals, hour, start, days - done,
        gaps=gaps_under(lie.laid, lie.terrain, start, until), nets=lie.nets,
        fields=tuple((f.id, f.name) for f in lie.fields), nights=ahead_d + NIGHTS_MORE, seed=seed,
    )  # fmt: skip
    answer = RoundsAnswer(farm, season, opened.state, (*before, *more), hour, digest)
    _ANSWERED.appendleft(_Answered(known, days, answer))
    return answer


def _first_days(answer: RoundsAnswer, first: date, days: int) -> RoundsAnswer:
    until = first + timedelta(days=days)
    return replace(answer, rounds=tuple(one for one in answer.rounds if one.day < until))


def opening(where: Path | Opened, at: datetime) -> tuple[Record, ...]:
    """The records that open the books of the farm in `where` at the instant `at`: all birds and eggs there by
    the plan of which nothing is written down, and those killed before. BadInput as `rounds_of`."""
    opened = open_farm(where, at) if isinstance(where, Path) else where
    season = expect(opened.farm, complete(opened.farm, opened.ahead))
    return first_records(opened.farm, season, opened.state, at.astimezone(UTC))


def open_books(live: Live, store: Store, at: datetime) -> int:
    """Where nothing was ever written down, write down what stands there by the plan: how many birds.

    Without it every death would be of birds that no record knows. 0 where there is a record or a faulty file.
    """
    with suppress(BadInput):
        opened = live.opened(at)
        if not opened.records and store.version == 0:
            first = opening(opened, at)
            store.push(first, "opening", at, whole=True)
            came = {"present": 1, "killed": -1}
            return sum(came.get(record.kind, 0) * record.data.get("heads", 0) for record in first)
    return 0


def records(answer: RoundsAnswer) -> dict[str, Any]:
    """The rounds as plain values: instants in UTC, numbers in SI with their unit in the key, None for what is
    not known; the kinds of records that can be written down at each kind of place; and the first and last day
    that the plan says anything of."""
    season = answer.season
    return {
        "made_at": plain(answer.made_at),
        "season": {"first": plain(season.first), "last": plain(season.day(season.days - 1))},
        "records": {kind: [*of, *ANYWHERE] for kind, of in RECORDS.items()},
        "rounds": [plain(one) for one in answer.rounds],
    }


def cards(farm: Farm) -> dict[str, Any]:
    """The "something happened" cards as plain values: `nouns.round.Card` by its fields."""
    return {"cards": [plain(card) for card in happened_cards(farm)]}


def _ground(
    opened: Opened, planned: Season, today: date, drawn: bytes
) -> _Lie:  # fmt: skip
    """The stands of every shelter over the season as it was planned, so that records do not lay the strips
    anew each morning; from today on again from where shelters are known to stand elsewhere. They hang on the
    land as `drawn`, the shelters and the days on which they are in use, and on nothing else. With them the
    nets, on what the stands leave, and the heights where the farm has them."""
    from leyfold.ground.read import read_land
    from leyfold.ground.whole import laid_again, occupations, shelters_laid

    farm, folder = opened.farm, opened.texts.folder
    if not drawn:
        nets = nets_ahead(farm, planned, opened.state, today, None, (), folder, folder / HIDDEN)
        return _Lie(nets=nets)
    place = (farm.holding.latitude_deg, farm.holding.longitude_deg)
    uses = [occupations(farm, planned, name) for name in farm.shelters]
    known = (folder, drawn, place, farm.shelters, farm.heights, uses)
    land, terrain = _LANDS.get(
        (folder, drawn, place, farm.heights),
        lambda: lying(read_land(folder / LAND_FILE, name=LAND_FILE, place=place)[0], farm, folder, STEEPEST),
    )
    laid = _LAID.get(
        known, lambda: shelters_laid(farm, planned, land, REST_D, (), kept_layouts(folder / HIDDEN))
    )
    nets = nets_ahead(farm, planned, opened.state, today, land, laid, known, folder / HIDDEN)
    standing = _drifted(opened.state, laid, today)
    if not standing:
        return _Lie(laid, nets, terrain, land.fields)
    again = _LAID.get(
        (*known, today, standing), lambda: laid_again(farm, planned, land, laid, (), today, standing)
    )
    return _Lie(again, nets, terrain, land.fields)


def _drifted(state: State, laid: Laid, today: date) -> Mapping[str, str]:
    """Shelters last seen, before today, on a stand that is not the planned one of that day."""
    found: dict[str, str] = {}
    if any(seen.stand is not None and seen.on < today for seen in state.stands.values()):
        for shelters, pegs, planned in _PEGS.get(laid, lambda: _pegs(laid)):
            for shelter in shelters:
                seen = state.stands.get(shelter)
                if seen is None or seen.stand not in pegs or not seen.on < today:
                    continue
                if seen.stand is not None and planned.get((shelter, seen.on), seen.stand) != seen.stand:
                    found[shelter] = seen.stand
    return found


def _pegs(laid: Laid) -> _Pegs:
    return tuple(
        (
            tuple(layout.footprint.id.split("+")),
            frozenset(stand.id for stand in layout.stands),
            {(a.shelter, a.on): a.stand.id for a in ground.days if a.stand is not None},
        )
        for layout, ground in laid
    )


def _fault(option: str, key: str, **words: object) -> BadInput:
    wrong, mend = say(f"round.{key}", **words), say(f"round.{key}_mend", **words)
    return BadInput(Fault("leyfold round", option, wrong, mend))
