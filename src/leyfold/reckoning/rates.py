"""Money for one unit of everything that a season uses or brings: the coefficients of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leyfold.farm.tables import figure
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.reckoning import Rate
from leyfold.words import say

__all__ = ["Rates", "work"]

TAKES = frozenset({"carcass", "egg", "old_hen", "pullet_out", "hatching_egg_out"})
INSIDE = frozenset({"pullet_in", "pullet_out", "hatching_egg_in", "hatching_egg_out"})
PRICED_AS = {
    "pullet_in": "pullet",
    "pullet_out": "pullet",
    "hatching_egg_in": "hatching_egg",
    "hatching_egg_out": "hatching_egg",
}
"""One price serves both sides of what one class hands to another."""


@dataclass(frozen=True, slots=True)
class Rates:
    """The rates of one farm. A price is asked for when something has it, not before."""

    farm: Farm

    def __getitem__(self, name: str) -> Rate:
        """The rate called `name`. BadInput, naming the price, where the farm gives none."""
        price = PRICED_AS.get(name, name)
        value, key = self._price(price)
        if value is None:
            what, mend = say("reckoning.no_price", what=name), say("reckoning.no_price_mend", key=key)
            raise BadInput(Fault("farm.toml", key, what, mend))
        unit = f"{self.farm.holding.currency}/{'kg' if price.startswith('feed.') else UNITS[price]}"
        cited = Figure(value, unit, "farm.toml", "farm file")
        return Rate(name, cited, name in TAKES, price == "labour", name in INSIDE)

    def has(self, name: str) -> bool:
        return self._price(PRICED_AS.get(name, name))[0] is not None

    def _price(self, name: str) -> tuple[float | None, str]:
        """The farm's price and where it stands in the farm file."""
        kind, _, feed = name.partition(".")
        if kind == "feed":
            return self.farm.feeds[feed].price_per_kg, f"feeds.{feed}.price"
        return self.farm.prices.get(name), f"prices.{name}"


UNITS: Mapping[str, str] = {
    "carcass": "kg",
    "pullet": "bird",
    "cockerel": "bird",
    "old_hen": "bird",
    "egg": "egg",
    "hatching_egg": "egg",
    "day_old": "bird",
    "killing": "bird",
    "labour": "h",
    "electricity": "kWh",
    "bedding": "kg",
    "water": "l",
    "delivery": "delivery",
}


def work(name: str) -> float:
    """Hours, kg or watts that a piece of work takes, from the cited table `work`."""
    return figure(f"work.{name}").value
