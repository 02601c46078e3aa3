"""Days and numbers in the farm's language."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from leyfold.words import say
from leyfold.words.forms import day, number

__all__ = ["Told", "promise"]


@dataclass(frozen=True, slots=True)
class Told:
    language: str

    def day(self, on: date) -> str:
        return day(on, self.language)

    def n(self, value: float, digits: int = 0) -> str:
        return number(value, digits, self.language)


def promise(one: str) -> str:
    """A promise by its id, "wish:laying-flock", "limit:heads:s2" or "ground", in words."""
    kind, *rest = one.split(":", 2)
    return say(f"replan.left_{kind}", what=rest[0] if rest else "", where="".join(rest[1:]))
