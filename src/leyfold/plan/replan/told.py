"""Days and numbers in the farm's language."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from leyfold.words.forms import day, number

__all__ = ["Told"]


@dataclass(frozen=True, slots=True)
class Told:
    language: str

    def day(self, on: date) -> str:
        return day(on, self.language)

    def n(self, value: float, digits: int = 0) -> str:
        return number(value, digits, self.language)
