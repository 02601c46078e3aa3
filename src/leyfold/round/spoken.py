"""Figures as the farm speaks them: its language, its degrees, its litres or gallons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from leyfold.nouns.clock import wall
from leyfold.nouns.farm import Farm
from leyfold.units import outward
from leyfold.words import say
from leyfold.words.forms import number

__all__ = ["Spoken"]

_NAMES = {"C": "°C", "F": "°F", "gallon": "gal"}
KELVIN_IN_F = 1.8


@dataclass(frozen=True, slots=True)
class Spoken:
    farm: Farm

    def __call__(self, value: float, digits: int = 0) -> str:
        return number(value, digits, self.farm.holding.language)

    def _own(self, value: float, unit: str, digits: int) -> str:
        own, name = outward(value, unit, self.farm.holding.lengths)
        return f"{self(own, digits)} {_NAMES.get(name, name)}"

    def degrees(self, celsius: float, digits: int = 0) -> str:
        return self._own(celsius, "C", digits)

    def span(self, low_C: float, high_C: float) -> str:
        """Two temperatures, the unit once: "-1 to 4 °C"."""
        low, high = self.degrees(low_C), self.degrees(high_C)
        return high if low == high else f"{low.partition(' ')[0]}…{high}"

    def between(self, low: float, high: float) -> str:
        """Two bare numbers: "7…12", or one where they are the same."""
        return self(high) if self(low) == self(high) else f"{self(low)}…{self(high)}"

    def warmer(self, kelvin: float) -> str:
        """A difference of temperatures."""
        if self.farm.holding.lengths == "imperial":
            return f"{self(KELVIN_IN_F * kelvin)} °F"
        return f"{self(kelvin)} K"

    def litres(self, litres: float, digits: int = 0) -> str:
        return self._own(litres, "l", digits)

    def kg(self, kg: float, digits: int = 0) -> str:
        return self._own(kg, "kg", digits)

    def tanks(self, litres: float, trips: int, last: datetime | None) -> str:
        """Water to be hauled; `last`: when the last of several tanks has to be there."""
        if last is None:
            return say("ahead.one_tank", litres=self.litres(litres))
        return say("ahead.tank", litres=self.litres(litres), trips=trips, last=self.clock(last))

    def clock(self, at: datetime | None) -> str:
        return "" if at is None else f"{wall(at, self.farm.holding.zone):%H:%M}"
