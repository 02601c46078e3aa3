"""Dated intentions: batches, stays of lots in places, sorting, killing in drafts, old hens out.

Stays are half-open: birds are in the place on `first` and no longer on `until`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from leyfold.nouns.stock import Sex

__all__ = ["Batch", "Draft", "Lot", "Origin", "Out", "Plan", "Stay"]

Origin = Literal["set", "bought", "present"]


@dataclass(frozen=True, slots=True)
class Draft:
    """On day `on`, `share` of the cockerels then alive are killed, the heaviest first. 1.0 takes all."""

    on: date
    share: float


@dataclass(frozen=True, slots=True)
class Batch:
    """All chicks of one hatch day. `arrives_on` is the first day the birds are on the farm: the hatch day
    of a set, the day day-olds come, or the day the books open for birds already there. Day 0 of their age
    is `hatched_on`.

    A set has `set_on` and `eggs`, and `fertile` once it has been candled; birds bought or present have
    `heads` by sex. `ring`: the colour of the ring that tells them, in words. Dates of stages left None are
    filled by `season.complete` from the ages of the line.
    """

    id: str
    line: str
    origin: Origin
    hatched_on: date
    arrives_on: date
    set_on: date | None = None
    eggs: int | None = None
    fertile: int | None = None
    stored_d: int = 0
    heads: Mapping[Sex, float] = field(default_factory=dict)
    turnout_on: date | None = None
    sort_on: date | None = None
    house_on: date | None = None
    drafts: tuple[Draft, ...] = ()
    incubator: str | None = None
    brooder: str | None = None
    house: str | None = None
    ring: str | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """`share` of the batch's living birds of `sex` (both where None) is in `place`.

    Shares of one sex over the stays of a day sum to what the drafts have left of it. `weight_factor` is
    the weight of these birds over the mean of their sex: below 1 once the heaviest have been drafted.
    `heads` is what the farmer wrote, None where the share was reckoned.
    """

    id: str
    batch: str
    sex: Sex | None
    place: str
    first: date
    until: date
    share: float = 1.0
    weight_factor: float = 1.0
    heads: float | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """Batch x sex x stay: the row of every season array."""

    id: str
    batch: str
    sex: Sex
    stay: str
    place: str


@dataclass(frozen=True, slots=True)
class Out:
    """Old hens of `batch` leave on day `on`, all or a share of those then alive."""

    batch: str
    on: date
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Plan:
    """`origin` says who dated it (hand, planner); `gap` is the proven gap of a planner's answer."""

    batches: tuple[Batch, ...]
    stays: tuple[Stay, ...] = ()
    outs: tuple[Out, ...] = ()
    first: date | None = None
    last: date | None = None
    origin: Literal["hand", "planner"] = "hand"
    gap: float | None = None
    completed: bool = False
    """Every date, place and share is there: the work of `season.complete`."""
