"""The round: what to do today, place by place in the order it is walked, and the page of the evening before.

Numbers are bare and in SI, so that whoever shows a round can add them up; every `said` is ready to show, in
the farm's language and units. What is not known is None. Heads are whole birds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from leyfold.nouns.ahead import Band, StopOrder
from leyfold.nouns.stock import Sex

__all__ = [
    "Call",
    "CallKind",
    "Card",
    "CardRecord",
    "Check",
    "ColdGroup",
    "DayAhead",
    "DueItem",
    "Evening",
    "Fact",
    "Feeding",
    "Fence",
    "GroundLeft",
    "Hand",
    "Laid",
    "Move",
    "Part",
    "Party",
    "Round",
    "Said",
    "ShelterGust",
    "Warning",
    "Watering",
]

Part = Literal["morning", "evening"]
CallKind = Literal["incubator", "brooder", "shelter", "house", "cattle"]


@dataclass(frozen=True, slots=True)
class Party:
    """Birds of one batch and sex (None: not sorted yet, or both) in one place. `who`:
    "march cockerels (red ring)", `ring` the colour of the ring that tells the batch, where it has one."""

    batch: str
    line: str
    sex: Sex | None
    heads: int
    age_d: int
    weight_kg: float | None
    who: str
    ring: str | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """Where a shelter goes this morning. `kind`: place, stay, ahead, skip, turn, strip, field as in a `Leg`;
    none where no rested ground is left; by_eye where no land is drawn; house for the hens' house inside its
    net. `times` a day. `stand` is the name of the stand it goes to, `to` the same as it is told;
    `boards` tell the gaps under the skirt there, where heights are known."""

    kind: str
    said: str
    times: int = 1
    stand: str | None = None
    before: str | None = None
    to: str | None = None
    field: str | None = None
    distance_m: float | None = None
    paces: int | None = None
    boards: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fence:
    """The net to be put up anew today, the house with it. `kind`: place (put up for the first time), next (it
    shares a side with where it stands), apart, by_eye where no land is drawn, none where no rested ground is
    left. `due_on`: since when. `paddock` is its name for the record `fence shifted`, `corners_deg` longitude
    and latitude of its corners for the same; `corners_m` in the farm's metres east and north; `rolls` wanted;
    `m2_per_hen` inside it; `walk` tells its sides one after the other, `cautions` what a live fence asks
    for."""

    net: str
    kind: str
    said: str
    due_on: date
    paddock: str | None = None
    field: str | None = None
    corners_m: tuple[tuple[float, float], ...] = ()
    corners_deg: tuple[float, ...] = ()
    round_m: float | None = None
    rolls: int | None = None
    area_m2: float | None = None
    m2_per_hen: float | None = None
    distance_m: float | None = None
    paces: int | None = None
    size: str | None = None
    walk: str | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feeding:
    """The day's feed of one kind for all birds of the place. `measures` of the farm's own `measure`, in
    quarters; both None where it has none for feed, or less than a quarter of the smallest is wanted."""

    feed: str
    kg: float
    measure: str | None
    measures: float | None
    said: str


@dataclass(frozen=True, slots=True)
class Watering:
    """The day's water. `fills` of the header bucket, None without one; `refill_at` the hour at which it is
    first too warm or dry, by the clock of the farm."""

    litres: float
    fills: int | None
    refill_at: str | None
    said: str


@dataclass(frozen=True, slots=True)
class Check:
    """Something to look at and answer: a tick, or a number (`expected` and `least` where they are known)."""

    key: str
    ask: Literal["tick", "number"]
    said: str
    expected: float | None = None
    least: float | None = None


@dataclass(frozen=True, slots=True)
class Call:
    """One place on the round. `number` is what is painted on it. `heads` are birds expected (cattle for the
    herd, 0 in the incubator, where `eggs` are those in it); in a house `eggs` are those to gather. `today`:
    dated work here; `ring_at`: so many dead in a day are more than luck; `net` stands round the
    house, `fence` is its shift on the days it is due; `grounds` are the fields that cattle can be let into,
    by name for the record `break opened` and as they are called."""

    id: str
    name: str
    kind: CallKind
    number: str
    who: str
    heads: int
    parties: tuple[Party, ...] = ()
    move: Move | None = None
    feeds: tuple[Feeding, ...] = ()
    water: Watering | None = None
    eggs: int | None = None
    checks: tuple[Check, ...] = ()
    today: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    withdrawal_until: date | None = None
    ring_at: int | None = None
    sick: bool = False
    net: str | None = None
    fence: Fence | None = None
    grounds: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Warning:
    """One of at most three, worst first. `short` is for one line, `said` why, `act` what mends it."""

    kind: str
    grade: int
    heads: int
    where: tuple[str, ...]
    short: str
    said: str
    act: str


@dataclass(frozen=True, slots=True)
class DueItem:
    """Dated work within seven days. `number` of birds or eggs, None where it is of neither."""

    day: date
    what: str
    batch: str | None
    place: str | None
    number: int | None
    said: str


@dataclass(frozen=True, slots=True)
class ColdGroup:
    """Tonight for one flock: what its birds bear, the hours under it (as likely as not, and in one night of
    ten), the grade."""

    place: str
    batch: str
    heads: int
    floor_C: float
    hours_under: Band
    grade: int
    said: str


@dataclass(frozen=True, slots=True)
class ShelterGust:
    place: str
    gust_m_per_s: Band
    moves_at_m_per_s: float | None
    grade: int
    said: str


@dataclass(frozen=True, slots=True)
class DayAhead:
    """Tomorrow: its greatest warmth, what all places drink, and the buckets to be filled again."""

    day: date
    highest_C: Band
    litres: float
    said: str
    fills: tuple[str, ...]
    shade: str | None


@dataclass(frozen=True, slots=True)
class GroundLeft:
    """Days of planned ground ahead of one shelter, None where it has a stand for every day it is in use."""

    place: str
    days: int | None
    said: str


@dataclass(frozen=True, slots=True)
class Said:
    """A thing with its name, ready to show."""

    what: str
    said: str


@dataclass(frozen=True, slots=True)
class Hand:
    """Somebody who can do the round."""

    id: str
    name: str
    role: str


@dataclass(frozen=True, slots=True)
class Evening:
    """The evening page."""

    night_C: Band
    night_said: str
    origin: str
    cold: tuple[ColdGroup, ...]
    gusts: tuple[ShelterGust, ...]
    tomorrow: DayAhead
    ground: tuple[GroundLeft, ...]
    feed: tuple[Said, ...]
    tank: Said | None
    hands: tuple[Hand, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Round:
    """`sunrise`, `sunset`, `shut_in` are instants, None where the sun does not rise or set; `light_said` is
    the line that shows them. `more` warnings are not shown."""

    day: date
    part: Part
    said: str
    sunrise: datetime | None
    sunset: datetime | None
    shut_in: datetime | None
    light_said: str
    heads: int
    stops: tuple[StopOrder, ...]
    warnings: tuple[Warning, ...]
    more: int
    calls: tuple[Call, ...]
    due: tuple[DueItem, ...]
    evening: Evening | None = None


@dataclass(frozen=True, slots=True)
class Laid:
    """What the ground says of one shelter on one day, in words: `told` of the first move, `pegs` from peg to
    peg, `left_d` days of stands from then on while it is in use."""

    move: Move
    left_d: int | None = None


@dataclass(frozen=True, slots=True)
class Fact:
    """Something a card asks for. `ask`: number (by stepper), place, batch, choice or tick. `into`: the fields
    of records that its answer goes into, "found dead.heads"; `choices` as (value, said)."""

    id: str
    ask: Literal["number", "place", "batch", "choice", "tick"]
    said: str
    into: tuple[str, ...]
    choices: tuple[tuple[str, str], ...] = ()
    most: int | None = None


@dataclass(frozen=True, slots=True)
class CardRecord:
    """A record that a card becomes: `data` as it stands, and what facts put into it. `only_if`: the fact that
    must be answered by more than no and nought, else the record is not made."""

    kind: str
    data: Mapping[str, str]
    only_if: str | None = None


@dataclass(frozen=True, slots=True)
class Card:
    """One "something happened": what to do at once, what is asked, the records it becomes, and what to do
    before dark, in order. `stop` stands above all of it."""

    id: str
    said: str
    stop: str | None
    now: tuple[str, ...]
    facts: tuple[Fact, ...]
    records: tuple[CardRecord, ...]
    before_dark: tuple[str, ...]
    cautions: tuple[str, ...]
    telephone: tuple[str, ...]
