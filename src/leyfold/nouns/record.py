"""What somebody wrote down, and the state of the farm that follows from all of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from leyfold.nouns.plan import Origin
from leyfold.nouns.stock import Sex

__all__ = ["BatchFacts", "Count", "Group", "Record", "State", "Weighing"]


@dataclass(frozen=True, slots=True)
class Record:
    """One fact. `at` is when it happened, `entered` when it was written, both in UTC."""

    id: str
    device: str
    who: str
    at: datetime
    entered: datetime
    kind: str
    data: Mapping[str, Any]


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
    """`number` of something of a batch on a day: dead, killed, culled, missing, sold, eggs, ..."""

    on: date
    number: float
    sex: Sex | None = None
    place: str | None = None


@dataclass(frozen=True, slots=True)
class BatchFacts:
    """All that the records say of one batch. None: not recorded (never zero)."""

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
    dead: tuple[Count, ...] = ()
    killed: tuple[Count, ...] = ()
    gone: tuple[Count, ...] = ()
    """Sold, culled or missing birds."""
    weighings: tuple[Weighing, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """Who is alive where at the start of `day`, and what the records say of each batch."""

    day: date | None = None
    groups: tuple[Group, ...] = ()
    batches: Mapping[str, BatchFacts] = field(default_factory=dict)
    bins_kg: Mapping[str, tuple[date, float]] = field(default_factory=dict)
    """Bin id to its last reading: day and kg."""
    eggs: tuple[Count, ...] = ()
    """Eggs gathered: day, number, place (the house)."""
    fed_kg: tuple[Count, ...] = ()
    """Feed given: day, kg, place."""
