"""What each kind of record holds. A kind that is not in `KINDS` is kept as it came and means nothing yet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.faults import fault
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.nouns.stock import Sex

__all__ = [
    "KINDS",
    "Bought",
    "Candled",
    "Correction",
    "Counted",
    "Eggs",
    "Fed",
    "FeedRead",
    "Hatched",
    "Loss",
    "Moved",
    "Note",
    "Payload",
    "Present",
    "Sent",
    "Set",
    "Sorted",
    "StopOrder",
    "TemperatureRead",
    "Weighed",
    "payload",
]

Id = Annotated[str, Field(strict=True, min_length=1, max_length=64)]
Number = Annotated[int, Field(strict=True, ge=0, le=1_000_000)]
Some = Annotated[int, Field(strict=True, ge=1, le=1_000_000)]
Kg = Annotated[float, Field(strict=True, ge=0, le=1_000_000, allow_inf_nan=False)]
BirdKg = Annotated[float, Field(strict=True, gt=0, le=20, allow_inf_nan=False)]
Text = Annotated[str, Field(strict=True, max_length=2000)]


class Payload(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Set(Payload):
    """Eggs put into an incubator together. `stored_d`: the days they were gathered over."""

    batch: Id
    line: Id
    eggs: Some
    incubator: Id | None = None
    stored_d: Annotated[int, Field(strict=True, ge=0, le=60)] | None = None


class Candled(Payload):
    """Of the batch's eggs, those with a germ, living or dead. A later candling replaces an earlier one."""

    batch: Id
    fertile: Number


class Hatched(Payload):
    """Chicks taken off, and the place they went to."""

    batch: Id
    chicks: Number
    place: Id


class Bought(Payload):
    """Birds that came onto the farm, `age_d` old: day-olds unless it says otherwise."""

    batch: Id
    line: Id
    heads: Some
    place: Id
    sex: Sex | None = None
    age_d: Annotated[int, Field(strict=True, ge=0, le=4000)] = 0


class Present(Payload):
    """Birds alive in one place when the books open; either `age_d` or `hatched_on`."""

    batch: Id
    line: Id
    heads: Some
    place: Id
    sex: Sex | None = None
    age_d: Annotated[int, Field(strict=True, ge=0, le=4000)] | None = None
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


class Sent(Payload):
    """Birds killed for the table or sold alive."""

    heads: Some
    place: Id | None = None
    batch: Id | None = None
    sex: Sex | None = None

    @model_validator(mode="after")
    def _whence(self) -> Sent:
        if self.batch is None and self.place is None:
            raise PydanticCustomError("no_group", "batch or place")
        return self


class Counted(Payload):
    """A head count made by handling every bird. It never changes the book."""

    place: Id
    heads: Number
    batch: Id | None = None
    sex: Sex | None = None


class Weighed(Payload):
    """Birds of one batch caught blind and weighed one by one."""

    batch: Id
    weights_kg: Annotated[tuple[BirdKg, ...], Field(min_length=1, max_length=10_000)]
    sex: Sex | None = None


class Eggs(Payload):
    """Eggs gathered in a house or breeding pen."""

    place: Id
    eggs: Number


class Fed(Payload):
    """Feed put before the birds of a place."""

    place: Id
    kg: Kg
    feed: Id | None = None


class FeedRead(Payload):
    """What a bin holds, as read or weighed; or what is in store of a feed in bags, under the feed's name."""

    bin: Id
    kg: Kg


class TemperatureRead(Payload):
    """The least temperature of the night that ends on the day, by a thermometer at the birds' height."""

    lowest_C: Annotated[float, Field(strict=True, ge=-60, le=60, allow_inf_nan=False)]
    place: Id | None = None


class StopOrder(Payload):
    """Something that stops all else, on the day until `until` (that day no longer), or until taken back."""

    why: Literal["notifiable signs", "withdrawal", "wrong feed", "housing order"]
    batch: Id | None = None
    place: Id | None = None
    until: date | None = None


class Correction(Payload):
    """Takes back the record `of`, or puts other `data`, another `at`, or both in its place."""

    of: Id
    void: Annotated[bool, Field(strict=True)] = False
    data: dict[str, Any] | None = None
    at: AwareDatetime | None = None
    reason: Text | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Correction:
        if self.void == (self.data is not None or self.at is not None):
            raise PydanticCustomError("void_or_new", "void, or data and at")
        return self


class Note(Payload):
    text: Text
    batch: Id | None = None
    place: Id | None = None


KINDS: Mapping[str, type[Payload]] = {
    "set": Set,
    "candled": Candled,
    "hatched": Hatched,
    "bought": Bought,
    "present": Present,
    "moved": Moved,
    "sorted": Sorted,
    "found dead": Loss,
    "culled": Loss,
    "missing": Loss,
    "killed": Sent,
    "sold": Sent,
    "counted": Counted,
    "weighed": Weighed,
    "eggs": Eggs,
    "fed": Fed,
    "feed read": FeedRead,
    "temperature read": TemperatureRead,
    "stop order": StopOrder,
    "correction": Correction,
    "note": Note,
}

_WORDS = {
    "missing": "field_missing",
    "extra_forbidden": "field_unknown",
    "int_type": "field_whole",
    "int_from_float": "field_whole",
    "float_type": "field_number",
    "finite_number": "field_number",
    "greater_than": "field_above",
    "greater_than_equal": "field_least",
    "less_than_equal": "field_most",
    "literal_error": "field_choice",
    "date_type": "field_date",
    "date_parsing": "field_date",
    "date_from_datetime_parsing": "field_date",
    "date_from_datetime_inexact": "field_date",
    "datetime_parsing": "field_time",
    "datetime_from_date_parsing": "field_time",
    "timezone_aware": "field_time",
    "string_type": "field_text",
    "string_too_short": "field_text",
    "string_too_long": "field_long",
    "one_age": "one_age",
    "no_whence": "no_whence",
    "no_group": "no_group",
    "void_or_new": "void_or_new",
}


def payload(record: Record) -> Payload | None:
    """The record's data, checked; None for a kind this version does not know. BadInput with every fault."""
    kind = KINDS.get(record.kind)
    if kind is None:
        return None
    try:
        return kind.model_validate(record.data)
    except ValidationError as error:
        faults = []
        for wrong in error.errors(include_url=False):
            field = ".".join(str(step) for step in wrong["loc"]) or "data"
            bounds: dict[str, Any] = dict(wrong.get("ctx", {}))
            bound = next((bounds[k] for k in ("ge", "gt", "le", "expected", "max_length") if k in bounds), "")
            name = _WORDS.get(wrong["type"], "field_other")
            given = "" if wrong["type"] == "missing" else repr(wrong["input"])[:60]
            faults.append(fault(record, field, name, given=given, bound=bound, known=_fields(kind)))
        raise BadInput(*faults) from None


def _fields(kind: type[Payload]) -> str:
    return ", ".join(info.alias or name for name, info in kind.model_fields.items())
