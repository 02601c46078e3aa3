"""Money for one unit of everything that a season uses or brings: the coefficients of a plan.

Every quantity (`reckoning.quantities`) is linear in the heads of a lot on a day or in the birds killed from
it, so that a planner may use the rates times the quantity of one bird as coefficients. Not linear in birds:
the hours and current of places and incubators in use, which their birds or eggs share; the hours of a set;
and how many hatching eggs the farm's own hens have laid by the day of a set.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leyfold.farm.tables import figure
from leyfold.nouns.errors import Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.reckoning import Rate
from leyfold.words import say

__all__ = ["OPTIONAL", "UNITS", "Rates", "priced_as", "work"]

OPTIONAL = frozenset({"water", "electricity", "bedding", "labour", "killing", "delivery"})
"""A farm may have none of these to pay (water of its own well, own hands): left out where no price is named,
and said so."""

TAKES = frozenset({"carcass", "egg", "old_hen", "pullet_out", "hatching_egg_out"})
INSIDE = frozenset({"pullet_in", "pullet_out", "hatching_egg_in", "hatching_egg_out"})
STOCK = frozenset({"first", "left"})
PRICED_AS = {
    "pullet_in": "pullet",
    "pullet_out": "pullet",
    "hatching_egg_in": "hatching_egg",
    "hatching_egg_out": "hatching_egg",
}
"""One price serves both sides of what one class hands to another."""

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
    "shelter": "shelter",
    "shelter_timber": "shelter",
}


MEASURED = frozenset({"kg", "h", "kWh", "l"})
"""A price is written per one of these; of what is counted, it is written as plain money."""


def priced_as(rate: str) -> str:
    """The price that `rate` is reckoned at: `first.X`, `left.X` and `bought.X` go by the price of X."""
    kind, _, of = rate.partition(".")
    return of if kind in ("first", "left", "bought") else PRICED_AS.get(rate, rate)


@dataclass(frozen=True, slots=True)
class Rates:
    """The rates of one farm. A price is asked for when something has it, not before."""

    farm: Farm

    def has(self, rate: str) -> bool:
        return self._price(priced_as(rate))[0] is not None

    def __getitem__(self, rate: str) -> Rate:
        """The rate called `rate`. KeyError where the farm names no price for it (see `has`, `lacking`)."""
        price = priced_as(rate)
        value, key = self._price(price)
        if value is None:
            raise KeyError(f"no price for {rate}")
        unit = f"{self.farm.holding.currency}/{'kg' if price.startswith('feed.') else UNITS[price]}"
        kind = rate.partition(".")[0]
        return Rate(
            rate,
            Figure(value, unit, f"farm.toml: {key}", "farm file"),
            key,
            takes=rate in TAKES or kind == "left",
            own_hours=price == "labour",
            inside=rate in INSIDE,
            stock=kind in STOCK,
        )

    def lacking(self, rate: str) -> Fault:
        """What is wrong where `rate` has no price and cannot do without."""
        price = priced_as(rate)
        key = self._price(price)[1]
        table, _, name = key.rpartition(".")
        kind, _, feed = price.partition(".")
        unit = "kg" if kind == "feed" else UNITS[price]
        per = f"/{unit}" if unit in MEASURED else ""
        line = f'{name} = "… {self.farm.holding.currency}{per}"'
        return Fault(
            "farm.toml",
            key,
            say(f"reckoning.unpriced_{kind}", feed=feed),
            say("reckoning.unpriced_mend", table=table, line=line),
        )

    def chick(self) -> str:
        """What the worth of a chick is reckoned from: a chick bought, else the egg it comes from."""
        return next((p for p in ("day_old", "hatching_egg", "egg") if self.has(p)), "day_old")

    def _price(self, name: str) -> tuple[float | None, str]:
        """The farm's price and where it stands in the farm file."""
        kind, _, feed = name.partition(".")
        if kind == "feed":
            return self.farm.feeds[feed].price_per_kg, f"feeds.{feed}.price"
        return self.farm.prices.get(name), f"prices.{name}"


def work(farm: Farm, name: str) -> float:
    """Hours, kg or watts that a piece of work takes: the farm's own word, or the cited table `work`."""
    return (farm.work.get(name) or figure(f"work.{name}")).value
