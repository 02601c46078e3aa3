"""Records about records: corrections and answers."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.kinds.base import Id, Payload, Text, Yes
from leyfold.nouns.stock import Sex

__all__ = ["PAIRED", "Answer", "Correction"]

PAIRED = ("both", "first", "second", "neither")
"""Answers about doubles: they name records in pairs."""


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
    """What somebody says to a question.

    Of one record or several: it counts `as it stands`, for `these` birds, with `all there` for as many as
    the book had, or is `left out`. Of doubles, `of` names pairs, and of each pair `both` happened, the
    `first` or the `second` in time alone, or `neither`. `batch`, `sex` and `place` say which birds were
    meant.
    """

    of: Annotated[tuple[Id, ...], Field(min_length=1, max_length=1000)]
    keep: Literal["as it stands", "these", "all there", "left out", "both", "first", "second", "neither"]
    batch: Id | None = None
    sex: Sex | None = None
    place: Id | None = None
    reason: Text | None = None

    @model_validator(mode="after")
    def _pairs(self) -> Answer:
        if self.keep in PAIRED and len(self.of) % 2:
            raise PydanticCustomError("not_pairs", "records in pairs")
        return self
