"""Quantities and days as this farm says them: its units, its own measures, its language."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import floor

from leyfold.nouns.farm import Farm
from leyfold.units import UnitError, outward, parse
from leyfold.words import say
from leyfold.words.forms import day, day_and_month, number

__all__ = ["Shown"]

QUARTERS = ("", "¼", "½", "¾")
NEAR = 0.05
"""A measure this near to what is wanted will do: few large ones are carried rather than many small."""


@dataclass(frozen=True, slots=True)
class Shown:
    """How `farm` says numbers. Arguments are SI inside, days are civil dates."""

    farm: Farm

    @property
    def language(self) -> str:
        return self.farm.holding.language

    def n(self, value: float, digits: int = 0) -> str:
        return number(value, digits, self.language)

    def heads(self, value: float) -> str:
        """Whole birds; a point where there are none."""
        return self.n(value) if value >= 0.5 else "·"

    def of(self, value: float, unit: str, digits: int = 0) -> str:
        """`value` of an inside unit in the farm's own, with its name: "12.4 kg", "27 lb"."""
        return say("round.quantity", number=self.n(self.outward(value, unit), digits), unit=self.unit(unit))

    def span(self, low: float, high: float, unit: str, digits: int = 0) -> str:
        """Two values with one unit between them."""
        a, b = (self.n(self.outward(value, unit), digits) for value in (low, high))
        return (
            self.of(low, unit, digits) if a == b else say("round.span", low=a, high=b, unit=self.unit(unit))
        )

    def outward(self, value: float, unit: str) -> float:
        return outward(value, unit, self.farm.holding.lengths)[0]

    def unit(self, unit: str) -> str:
        """The name of the farm's own unit for an inside one."""
        name = outward(1.0, unit, self.farm.holding.lengths)[1]
        return _PRINTED.get(name, name)

    def limited(self, quantity: str, value: float) -> str:
        """A value of a limit's quantity (`nouns.limits.Quantity`) with its unit."""
        unit, scale, digits = _LIMITED[quantity]
        amount = self.n(scale * self.outward(value, unit), digits)
        return say(f"round.limited_{quantity}", value=amount, unit=self.unit(unit))

    def mass(self, kg: float) -> str:
        return self.of(kg, "kg", 0 if kg >= 20 else 1 if kg >= 2 else 2)

    def water(self, litres: float) -> str:
        return self.of(litres, "l", 0 if litres >= 20 else 1)

    def temperature(self, celsius: float) -> str:
        return self.of(celsius, "C")

    def feed(self, kg: float) -> tuple[str, str]:
        """Feed in the farm's own measure, to the quarter, and by weight: ("1½ × bucket", "12 kg"). The
        first is the weight too where the farm has no measure for feed, or less than a quarter of one."""
        weight = self.mass(kg)
        measure, times = self.measured(kg)
        if measure is None or times is None:
            return weight, weight
        return say("round.measured", times=self.quarters(times), measure=measure), weight

    def measured(self, kg: float) -> tuple[str | None, float | None]:
        """A measure of the farm's own, not larger than `kg` but for the smallest, and how many of it, in
        quarters, come near: the largest within `NEAR`, else the nearest. (None, None) where the farm has none
        for feed, or less than a quarter of the smallest is wanted."""
        by_size = sorted(((one, name) for name, one in self._measures("kg").items()), reverse=True)
        if not by_size or kg < by_size[-1][0] / 4:
            return None, None
        fit = [(one, name) for one, name in by_size if kg >= one or one == by_size[-1][0]]
        tried = [(one, name, max(floor(4 * kg / one + 0.5), 1) / 4) for one, name in fit]
        off = [abs(one * times / kg - 1.0) for one, _, times in tried]
        pick = next((i for i, share in enumerate(off) if share <= NEAR), off.index(min(off)))
        return tried[pick][1], tried[pick][2]

    def day(self, on: date) -> str:
        return day(on, self.language)

    def short(self, on: date) -> str:
        return day_and_month(on, self.language)

    def weekday(self, on: date) -> str:
        """The day with its name: Monday 8 Mar."""
        from babel.dates import format_date

        return format_date(on, "EEEE d MMM", locale=self.language)

    def weekday_short(self, on: date) -> str:
        """Mon 8."""
        from babel.dates import format_date

        return format_date(on, "EEE d", locale=self.language)

    def narrow_day(self, on: date) -> str:
        """The letter of a day: M."""
        from babel.dates import format_date

        return format_date(on, "ccccc", locale=self.language)

    def time(self, hours: float) -> str:
        """A time of day from hours since midnight, to five minutes; before midnight is the day before."""
        minutes = 5 * floor(hours * 12 + 0.5)
        return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"

    def _measures(self, unit: str) -> dict[str, float]:
        """The farm's own measures of that kind, in `unit`."""
        said = ((name, _in(text, unit)) for name, text in self.farm.measures.items())
        return {name: one for name, one in said if one is not None}

    def quarters(self, times: float) -> str:
        """A number of quarters as it is written: "2½"."""
        whole, rest = divmod(round(4 * times), 4)
        return f"{self.n(whole) if whole or not rest else ''}{QUARTERS[rest]}"


@lru_cache(maxsize=256)
def _in(text: str, unit: str) -> float | None:
    """A quantity in `unit`; None for one of another kind."""
    try:
        return parse(text, unit)
    except UnitError:
        return None


_LIMITED = {
    "heads": ("", 1, 0),
    "heads_per_m2": ("1/m2", 1, 1),
    "kg_per_m2": ("kg/m2", 1, 1),
    "kg_n_per_ha_pass": ("kg/ha", 1, 0),
    "floor_share": ("", 100, 0),
    "eggs": ("", 1, 0),
}
"""A limit's quantity: its unit inside, what it is multiplied by, and the digits shown."""

_PRINTED = {
    "C": "°C",
    "F": "°F",
    "gallon": "gal",
    "m2": "m²",
    "kg/m2": "kg/m²",
    "1/m2": "/m²",
    "1/sq ft": "/sq ft",
}
"""Units as they are printed, where that differs from how they are typed."""
