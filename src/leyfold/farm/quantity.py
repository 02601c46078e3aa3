"""Types for the models of the farm's files: texts with a unit, shares, prices, names, checked when read.

A refusal carries sentences from `words`; `farm.faults` gives it its file and line.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, NoReturn

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from leyfold import units
from leyfold.words import say

__all__ = [
    "Called",
    "Chance",
    "Count",
    "Day",
    "DayOfYear",
    "Days",
    "Kg",
    "KgOrNone",
    "Litres",
    "Metres",
    "Price",
    "Quantity",
    "Reader",
    "Share",
    "Sides",
    "Slug",
    "Strict",
    "When",
    "unit_sentences",
]

FIRST_YEAR, LAST_YEAR = 1980, 2199
MOST_DAYS = 3650


class Strict(BaseModel):
    """A table of a farm file: nothing unknown in it, nothing turned into another type unasked."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)


Slug = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]*$", max_length=40)]


def refuse(key: str, **values: object) -> NoReturn:
    """Refuse a value with the sentences `farm.KEY` and `farm.KEY_mend`."""
    wrong, mend = say(f"farm.{key}", **values), say(f"farm.{key}_mend", **values)
    raise PydanticCustomError("said", "{wrong}", {"wrong": wrong, "mend": mend})


def unit_sentences(error: units.UnitError) -> tuple[str, str]:
    """What is wrong with a text that `units` could not read, and the mend."""
    mend = "unit_mend_far" if error.key == "unit" and not error.values["near"] else f"{error.key}_mend"
    return say(f"units.{error.key}", **error.values), say(f"units.{mend}", **error.values)


class Reader(ABC):
    """What the types below share: a validator that knows the farm's own measures and currency."""

    @abstractmethod
    def read(self, value: Any, context: Mapping[str, Any]) -> Any:
        """The value inside for what was written."""

    @abstractmethod
    def json(self) -> dict[str, Any]:
        """Its JSON Schema."""

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        def validate(value: Any, info: core_schema.ValidationInfo[Any]) -> Any:
            try:
                return self.read(value, info.context or {})
            except units.UnitError as error:
                wrong, mend = unit_sentences(error)
                raise PydanticCustomError("said", "{wrong}", {"wrong": wrong, "mend": mend}) from None

        return core_schema.with_info_plain_validator_function(validate)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return self.json()


@dataclass(frozen=True)
class Quantity(Reader):
    """A text with a unit, read as a number of `unit` and held within bounds; `above` itself is too little."""

    unit: str
    least: float | None = None
    most: float | None = None
    above: float | None = None
    whole: bool = False

    def read(self, value: Any, context: Mapping[str, Any]) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            refuse("not_quantity", unit=units.spoken(self.unit))
        number = units.parse(value, self.unit, context.get("measures"))
        if self.above is not None and number <= self.above:
            refuse("not_above", text=value, least=self._said(self.above))
        if self.least is not None and number < self.least - 1e-12:
            refuse("too_little", text=value, least=self._said(self.least))
        if self.most is not None and number > self.most + 1e-12:
            refuse(
                "too_much_share" if self.unit == "share" else "too_much",
                text=value,
                most=self._said(self.most),
            )
        if self.whole and abs(number - round(number)) > 1e-9:
            refuse("not_whole", text=value, unit=units.spoken(self.unit))
        return number

    def _said(self, bound: float) -> str:
        return f"{bound:g}" if units.is_plain(self.unit) else f"{bound:g} {units.spoken(self.unit)}"

    def json(self) -> dict[str, Any]:
        text: dict[str, Any] = {"type": "string"}
        if units.is_plain(self.unit):
            number: dict[str, Any] = {"type": "number"}
            if self.least is not None:
                number["minimum"] = self.least
            if self.above is not None:
                number["exclusiveMinimum"] = self.above
            if self.most is not None:
                number["maximum"] = self.most
            return {"anyOf": [number, text], "x-unit": self.unit}
        return {**text, "x-unit": self.unit}


@dataclass(frozen=True)
class Price(Reader):
    """Money per `per`, in the farm's currency: "420 EUR/t" read as 0.42 per kg."""

    per: str

    def read(self, value: Any, context: Mapping[str, Any]) -> float:
        if isinstance(value, bool) or not isinstance(value, str):
            key = "not_price_each" if units.is_plain(self.per) else "not_price"
            refuse(key, per=self.per, currency=context.get("currency", "EUR"))
        number = units.parse_price(value, self.per, context.get("currency", "EUR"), context.get("measures"))
        if number < 0:
            refuse("too_little", text=value, least="0")
        return number

    def json(self) -> dict[str, Any]:
        return {"type": "string", "x-unit": f"currency/{self.per}"}


@dataclass(frozen=True)
class Sides(Reader):
    """Two sides, "8 x 10 ft", read as (metres, metres)."""

    def read(self, value: Any, _context: Mapping[str, Any]) -> tuple[float, float]:
        if not isinstance(value, str):
            raise units.UnitError("sides", text=value)
        return units.parse_sides(value)

    def json(self) -> dict[str, Any]:
        return {"type": "string", "x-unit": "m x m"}


@dataclass(frozen=True)
class Calendar(Reader):
    """A date within the life of a farm, so that ages can be counted from it."""

    def read(self, value: Any, _context: Mapping[str, Any]) -> date:
        if type(value) is not date:
            refuse("not_date")
        if not FIRST_YEAR <= value.year <= LAST_YEAR:
            refuse("no_such_year", day=value, first=FIRST_YEAR, last=LAST_YEAR)
        return value

    def json(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


@dataclass(frozen=True)
class When(Reader):
    """A date, or an age in whole days ("28 days", "4 weeks") that counts from hatch."""

    def read(self, value: Any, context: Mapping[str, Any]) -> date | int:
        if isinstance(value, date):
            return Calendar().read(value, context)
        if not isinstance(value, str):
            refuse("not_when")
        return round(Quantity("d", least=0, most=MOST_DAYS, whole=True).read(value, context))

    def json(self) -> dict[str, Any]:
        return {"anyOf": [{"type": "string", "format": "date"}, {"type": "string"}], "x-unit": "date or age"}


@dataclass(frozen=True)
class EveryYear(Reader):
    """A day of every year, "05-06" (month and day), as (month, day)."""

    def read(self, value: Any, _context: Mapping[str, Any]) -> tuple[int, int]:
        found = re.fullmatch(r"([0-9]{2})-([0-9]{2})", value) if isinstance(value, str) else None
        month, day = (int(found[1]), int(found[2])) if found else (0, 0)
        if not (1 <= month <= 12 and 1 <= day <= monthrange(FIRST_YEAR, month)[1]):
            refuse("not_day_of_year")
        return month, day

    def json(self) -> dict[str, Any]:
        return {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$", "x-unit": "month-day"}


DayOfYear = Annotated[tuple[int, int], EveryYear()]
Called = Annotated[
    str,
    StringConstraints(pattern=r"^[^\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]{1,80}$"),
]
"""A name for people to read: one line of letters that can be seen."""
Share = Annotated[float, Quantity("share", least=0, most=1)]
Chance = Annotated[float, Quantity("share", above=0, most=1)]
Kg = Annotated[float, Quantity("kg", above=0)]
KgOrNone = Annotated[float, Quantity("kg", least=0)]
Litres = Annotated[float, Quantity("l", above=0)]
Metres = Annotated[float, Quantity("m", above=0)]
Days = Annotated[float, Quantity("d", least=0, most=MOST_DAYS, whole=True)]
Day = Annotated[date, Calendar()]
Count = Annotated[int, Field(ge=1)]
