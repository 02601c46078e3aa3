"""The shape of plan.toml. The published JSON Schema is made from these models (`farm.publish`)."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from leyfold.farm.quantity import Called, Chance, Count, Day, Days, Quantity, Slug, Strict, When
from leyfold.nouns.stock import Sex

__all__ = ["BoughtTable", "KillTable", "OutTable", "PlanTable", "PresentTable", "SetTable", "StayTable"]

DateOrAge = Annotated[Any, When()]
Heads = Annotated[float, Field(gt=0, allow_inf_nan=False)]

MOST_BATCHES, MOST_STAYS = 500, 4000
"""In one plan: a set a week of three lines through three years comes to 468."""


class KillTable(Strict):
    """On this day, or at this age, this share of the cockerels then alive is killed, the heaviest first."""

    on: DateOrAge
    share: Chance = 1.0


class _Birds(Strict):
    """What a batch of any origin may have dated."""

    id: Slug
    line: str
    turnout: DateOrAge | None = None
    sort: DateOrAge | None = None
    to_house: DateOrAge | None = None
    kill: tuple[KillTable, ...] = Field(default=(), strict=False)
    brooder: str | None = None
    house: str | None = None
    ring: Called | None = None
    """The ring on their legs by which the batch is told from others: its colour, in words."""


class SetTable(_Birds):
    on: Day
    eggs: Count
    stored: Annotated[float, Quantity("d", least=0, most=60, whole=True)] | None = None
    """Days the oldest egg waited before setting."""
    incubator: str | None = None


class BoughtTable(_Birds):
    on: Day
    age: Days | None = None
    """Age on arrival; day-olds where it is left out."""
    chicks: Heads | None = None
    """As hatched; the line's share of pullets parts them."""
    pullets: Heads | None = None
    cockerels: Heads | None = None


class PresentTable(_Birds):
    """Birds that are on the farm on the day `on`, when the books open."""

    on: Day
    hatched: Day | None = None
    age: Days | None = None
    """Age on that day, where the hatch day is not known."""
    pullets: Heads | None = None
    hens: Heads | None = None
    """The same as pullets, for those in lay."""
    cockerels: Heads | None = None
    place: str | None = None


class StayTable(Strict):
    """Birds of a batch in one place, from the first day until the day they have left it."""

    id: Slug | None = None
    batch: str
    sex: Sex | None = None
    place: str
    since: DateOrAge = Field(alias="from")
    until: DateOrAge
    heads: Heads | None = None


class OutTable(Strict):
    """Old hens of a batch leave."""

    batch: str
    on: DateOrAge
    share: Chance = 1.0


class PlanTable(Strict):
    first: Day | None = None
    last: Day | None = None
    sets: tuple[SetTable, ...] = Field(default=(), strict=False, alias="set", max_length=MOST_BATCHES)
    bought: tuple[BoughtTable, ...] = Field(default=(), strict=False, max_length=MOST_BATCHES)
    present: tuple[PresentTable, ...] = Field(default=(), strict=False, max_length=MOST_BATCHES)
    stay: tuple[StayTable, ...] = Field(default=(), strict=False, max_length=MOST_STAYS)
    out: tuple[OutTable, ...] = Field(default=(), strict=False, max_length=MOST_BATCHES)
