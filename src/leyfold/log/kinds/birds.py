"""Birds that come, move, are counted, are lost, and go."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.kinds.base import Age, BirdKg, Id, Money, Number, Payload, Some, Text
from leyfold.nouns.stock import Sex

__all__ = [
    "Bought", "CarcassWeights", "Counted", "FoundAlive", "Glance", "Loss", "Moved", "Present", "Sent", "Sold",
    "Sorted", "Weighed",
]  # fmt: skip

Weights = Annotated[tuple[BirdKg, ...], Field(min_length=1, max_length=10_000)]


class Bought(Payload):
    """Birds that came onto the farm, `age_d` old: day-olds unless it says otherwise."""

    batch: Id
    line: Id
    heads: Some
    place: Id
    sex: Sex | None = None
    age_d: Age = 0
    paid: Money | None = None


class Present(Payload):
    """Birds alive in one place when the books open; either `age_d` or `hatched_on`."""

    batch: Id
    line: Id
    heads: Some
    place: Id
    sex: Sex | None = None
    age_d: Age | None = None
    hatched_on: date | None = None

    @model_validator(mode="after")
    def _one_age(self) -> Present:
        if (self.age_d is None) == (self.hatched_on is None):
            raise PydanticCustomError("one_age", "one of age_d and hatched_on")
        return self


class Moved(Payload):
    """Birds from place to place: all that fit the description, or `heads` of one group."""

    to: Id
    from_: Annotated[Id | None, Field(alias="from")] = None
    batch: Id | None = None
    sex: Sex | None = None
    heads: Some | None = None

    @model_validator(mode="after")
    def _whence(self) -> Moved:
        if self.batch is None and self.from_ is None:
            raise PydanticCustomError("no_whence", "batch or from")
        return self


class Sorted(Payload):
    """Pullets and cockerels parted. Those in neither number stay in the unsorted group."""

    batch: Id
    pullets: Number
    cockerels: Number
    place: Id | None = None
    pullets_to: Id | None = None
    cockerels_to: Id | None = None


class Loss(Payload):
    """Birds found dead, culled or missing."""

    place: Id
    heads: Some = 1
    batch: Id | None = None
    sex: Sex | None = None
    reason: Text | None = None


class FoundAlive(Payload):
    """Birds that were missing, back in `place`."""

    place: Id
    heads: Some = 1
    batch: Id | None = None
    sex: Sex | None = None


class Sent(Payload):
    """Birds killed for the table."""

    heads: Some
    place: Id | None = None
    batch: Id | None = None
    sex: Sex | None = None

    @model_validator(mode="after")
    def _whence(self) -> Sent:
        if self.batch is None and self.place is None:
            raise PydanticCustomError("no_group", "batch or place")
        return self


class Sold(Sent):
    """Birds sold alive."""

    customer: Id | None = None
    paid: Money | None = None


class Glance(Payload):
    """A number of birds read off in passing. It never raises `unaccounted`."""

    place: Id
    heads: Number


class Counted(Payload):
    """A head count made by handling every bird. It never changes the book."""

    place: Id
    heads: Number
    batch: Id | None = None
    sex: Sex | None = None


class Weighed(Payload):
    """Birds of one batch caught blind and weighed one by one."""

    batch: Id
    weights_kg: Weights
    sex: Sex | None = None


class CarcassWeights(Payload):
    """Carcasses of one batch, ready to cook, weighed one by one."""

    batch: Id
    weights_kg: Weights
    sex: Sex | None = None
