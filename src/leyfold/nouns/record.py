"""What somebody wrote down, and the state of the farm that follows from all of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from leyfold.nouns.happened import (
    EggsOpened,
    Expense,
    Fence,
    Glance,
    KitLost,
    Look,
    MainsOff,
    Move,
    Promise,
    Sale,
    Standing,
    TrayWeight,
    Treatment,
    Trouble,
    Watering,
    Withdrawal,
    Worked,
    Written,
)
from leyfold.nouns.plan import Origin
from leyfold.nouns.question import Question
from leyfold.nouns.stock import Sex

__all__ = ["BatchFacts", "Count", "Group", "HeadCount", "Record", "Spell", "State", "Stop", "Weighing"]


@dataclass(frozen=True, slots=True)
class Record:
    """One fact. `at` is when it happened, `entered` when it was written, both in UTC. `line` is where it
    stands in the file it was read from, and no part of the fact."""

    id: str
    device: str
    who: str
    at: datetime
    entered: datetime
    kind: str
    data: Mapping[str, Any]
    line: int | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Group:
    """Birds of one batch and sex (None: not sorted yet) in one place, by the book."""

    batch: str
    sex: Sex | None
    place: str
    heads: int


@dataclass(frozen=True, slots=True)
class Weighing:
    on: date
    sex: Sex | None
    weights_kg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Count:
    """`number` of something of a batch on a day. `kind` is the kind of the record it comes from."""

    on: date
    number: float
    sex: Sex | None = None
    place: str | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class HeadCount:
    """Birds counted by hand in one place, and the book at that instant. `unaccounted` is what is still
    open: book less count, less the birds written down as missing or found alive there since. Below zero: too
    many birds.
    `batch` and `sex` are None where the whole place was counted."""

    on: date
    place: str
    batch: str | None
    sex: Sex | None
    counted: int
    book: int
    unaccounted: int


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop-order said on a day: notifiable signs, withdrawal, wrong feed, housing order; for a batch, a
    place or the whole farm, before `until` where a day is named."""

    on: date
    why: str
    batch: str | None = None
    place: str | None = None
    until: date | None = None

    def holds(self, day: date) -> bool:
        return self.on <= day and (self.until is None or day < self.until)


@dataclass(frozen=True, slots=True)
class Spell:
    """A group that kept its number and place over the days from `first` up to, not including, `until`.

    `heads` are those at the start of each day in the place of that day: birds lost on a day still count on
    it, birds killed or sold on it do not. heads x days are the birds at risk.
    """

    batch: str
    sex: Sex | None
    place: str
    first: date
    until: date
    heads: int

    @property
    def bird_days(self) -> int:
        return self.heads * (self.until - self.first).days


@dataclass(frozen=True, slots=True)
class BatchFacts:
    """All that the records say of one batch. None: not recorded (never zero). `chicks` are all that ever
    came: hatched, bought, or there when the books opened."""

    batch: str
    line: str
    origin: Origin
    set_on: date | None = None
    eggs: int | None = None
    incubator: str | None = None
    stored_d: int | None = None
    fertile: int | None = None
    candled_on: date | None = None
    hatched_on: date | None = None
    arrived_on: date | None = None
    chicks: int | None = None
    sorted_on: date | None = None
    pullets_at_sorting: int | None = None
    cockerels_at_sorting: int | None = None
    dead_in_egg: int | None = None
    """Of the fertile eggs, those found dead at the last candling."""
    opened: EggsOpened | None = None
    trays: tuple[TrayWeight, ...] = ()
    dead: tuple[Count, ...] = ()
    killed: tuple[Count, ...] = ()
    gone: tuple[Count, ...] = ()
    """Sold, culled or missing birds; missing birds found alive count below zero."""
    weighings: tuple[Weighing, ...] = ()
    carcasses: tuple[Weighing, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """Who is alive where on `day`, by the book at the instant folded, and what the records say of each
    batch. `spells` are the days before `day`. Tuples are in the order of what happened."""

    day: date | None = None
    groups: tuple[Group, ...] = ()
    batches: Mapping[str, BatchFacts] = field(default_factory=dict)
    bins_kg: Mapping[str, tuple[date, float]] = field(default_factory=dict)
    """Bin, or feed in bags, to its last reading: day and kg, with what was delivered since added."""
    eggs: tuple[Count, ...] = ()
    """Eggs gathered: day, number, place (the house)."""
    fed_kg: tuple[Count, ...] = ()
    """Feed given: day, kg, place."""
    spells: tuple[Spell, ...] = ()
    head_counts: tuple[HeadCount, ...] = ()
    """The last handled count of each place, batch and sex counted."""
    lows_C: tuple[Count, ...] = ()
    """The night's least temperature at the birds' height, by the day on which it ended."""
    stops: tuple[Stop, ...] = ()
    questions: tuple[Question, ...] = ()
    """Records that do not count until somebody says what they mean: doubles, contradictions, wrong clocks."""
    glances: tuple[Glance, ...] = ()
    """The last glance at each place."""
    withdrawals: tuple[Withdrawal, ...] = ()
    """Of every living group that is held up on `day`."""
    withheld: tuple[Count, ...] = ()
    """Eggs gathered from birds, and birds killed or sold, while they were held up: not to be eaten."""
    treatments: tuple[Treatment, ...] = ()
    medicated: Mapping[str, str] = field(default_factory=dict)
    """Place to the medicine in the feed still lying there."""
    moves: tuple[Move, ...] = ()
    """Shelters moved onto fresh grass."""
    stands: Mapping[str, Standing] = field(default_factory=dict)
    """Where each shelter or house was last seen to stand."""
    fence_moves: tuple[Move, ...] = ()
    breaks: tuple[Move, ...] = ()
    fences: tuple[Fence, ...] = ()
    looks: tuple[Look, ...] = ()
    """The evening round, place by place."""
    watered: Mapping[str, Watering] = field(default_factory=dict)
    """The last filling of each place."""
    water_l: tuple[Count, ...] = ()
    """Water filled where litres were said: day, litres, place."""
    tanks_l: Mapping[str, tuple[date, float]] = field(default_factory=dict)
    delivered_kg: tuple[Count, ...] = ()
    """Feed that came: day, kg, place (the bin, or the feed where it came in bags)."""
    temperatures_C: tuple[Count, ...] = ()
    """What a thermometer showed by day: `kind` is `now` or `highest`."""
    grass_cm: tuple[Count, ...] = ()
    """Standing grass: day, cm, place (field or paddock)."""
    orders: Mapping[str, Promise] = field(default_factory=dict)
    """Promised by the records, by name; the farm file may promise more. One of its orders stands here too
    once a deposit on it was written down."""
    sales: tuple[Sale, ...] = ()
    expenses: tuple[Expense, ...] = ()
    worked: tuple[Worked, ...] = ()
    kit_lost: tuple[KitLost, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    mains_off: tuple[MainsOff, ...] = ()
    notes: tuple[Written, ...] = ()
    unknown: tuple[str, ...] = ()
    """Ids of records of a kind this version does not know: kept as they came."""
