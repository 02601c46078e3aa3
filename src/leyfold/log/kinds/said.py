"""Records about records: corrections and answers."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.kinds.base import Id, Payload, Text, Yes
from leyfold.nouns.stock import Sex

__all__ = ["Answer", "Correction"]


class Correction(Payload):
    """Takes back the record `of`, or puts other `data`, another `at`, or both in its place."""

    of: Id
    void: Yes = False
    data: dict[str, Any] | None = None
    at: AwareDatetime | None = None
    reason: Text | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Correction:
        if self.void == (self.data is not None or self.at is not None):
            raise PydanticCustomError("void_or_new", "void, or data and at")
        return self


class Answer(Payload):
    """What somebody says to a question. `of` begins with the record that asks; a double names the other
    second. `keep`: `both`; the `first` or the `second` to have happened; `neither`; `all there` for as many
    birds as the book had. Of one record: `first` takes it as it stands, `neither` leaves it out. `batch`,
    `sex` and `place` say which birds were meant."""

    of: Annotated[tuple[Id, ...], Field(min_length=1, max_length=1000)]
    keep: Literal["both", "first", "second", "neither", "all there"]
    batch: Id | None = None
    sex: Sex | None = None
    place: Id | None = None
    reason: Text | None = None
