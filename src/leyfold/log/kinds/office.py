"""Health, mishaps, money, work, words."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.kinds.base import Celsius, Days, Id, Kg, Money, Number, Payload, Some, Text
from leyfold.nouns.stock import Sex

__all__ = [
    "Deposit", "Expense", "Hours", "KitLost", "MainsBack", "MainsOff", "Note", "Ordered", "Photograph",
    "Sale", "Settled", "StopOrder", "Treated", "Trouble",
]  # fmt: skip


class Treated(Payload):
    """A medicine given to the birds of a place or batch. Eggs may not be eaten for `eggs_d` days after the
    last dose, nor birds killed for `meat_d`; left out means that it was not said, and nothing may be sold
    until it is. `last_on`: the day of the last dose, the day of the record unless said. `by`: how. Medicine
    in feed holds for as long as that feed is in the trough: until `feed cleared`."""

    medicine: Text
    place: Id | None = None
    batch: Id | None = None
    sex: Sex | None = None
    eggs_d: Days | None = None
    meat_d: Days | None = None
    last_on: date | None = None
    by: Literal["bird", "water", "feed"] = "bird"
    feed: Id | None = None
    ordered_by: Text | None = None

    @model_validator(mode="after")
    def _whom(self) -> Treated:
        if self.batch is None and self.place is None:
            raise PydanticCustomError("no_group", "batch or place")
        return self


class StopOrder(Payload):
    """Something that stops all else, from the day (or `first`) until `until` (that day no longer), or until
    taken back."""

    why: Literal["notifiable signs", "withdrawal", "wrong feed", "housing order"]
    batch: Id | None = None
    place: Id | None = None
    until: date | None = None
    first: date | None = None


class Trouble(Payload):
    """Something happened. Open until `settled`."""

    what: Literal[
        "fox", "mink", "bird of prey", "blown over", "sick", "wrong feed", "birds loose", "water", "other"
    ]
    place: Id | None = None
    batch: Id | None = None
    heads: Number | None = None
    text: Text | None = None


class Settled(Payload):
    """The trouble `of` is over."""

    of: Id
    text: Text | None = None


class MainsOff(Payload):
    """The electricity gone, at one place or on the whole farm."""

    place: Id | None = None
    room_C: Celsius | None = None


class MainsBack(Payload):
    place: Id | None = None


class KitLost(Payload):
    """Something of the farm's that is lost or broken, and no longer there."""

    kit: Id
    number: Some = 1
    reason: Text | None = None


class Ordered(Payload):
    """`number` carcasses (or what `what` says) promised to a customer by `on`. `order` is its name from then
    on; `customer` is a code of the farm's own."""

    order: Id
    customer: Id
    number: Some
    on: date
    what: Literal["carcasses", "eggs", "pullets", "day-olds"] = "carcasses"
    weight_class: Id | None = None


class Deposit(Payload):
    """Paid on an order beforehand."""

    order: Id
    paid: Money


class Sale(Payload):
    """Handed over to a customer: eggs, carcasses, or something else. Birds sold alive are `sold`."""

    what: Literal["eggs", "hatching eggs", "carcasses", "other"]
    number: Number | None = None
    kg: Kg | None = None
    paid: Money | None = None
    customer: Id | None = None
    order: Id | None = None
    batch: Id | None = None


class Expense(Payload):
    what: Annotated[str, Field(strict=True, min_length=1, max_length=200)]
    paid: Money
    batch: Id | None = None


class Hours(Payload):
    """Work done. `work`: what at, by the farm's own name or that of the table of work."""

    hours: Annotated[float, Field(strict=True, gt=0, le=24, allow_inf_nan=False)]
    work: Id | None = None
    person: Id | None = None
    batch: Id | None = None


class Note(Payload):
    text: Text
    batch: Id | None = None
    place: Id | None = None


class Photograph(Payload):
    """Where a photograph is kept, by the sum of its bytes; `of`: the record it belongs to."""

    sha256: Annotated[str, Field(strict=True, pattern="^[0-9a-f]{64}$")]
    name: Id | None = None
    of: Id | None = None
    batch: Id | None = None
    place: Id | None = None
    text: Text | None = None
