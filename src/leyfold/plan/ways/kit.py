"""The farm with one thing more, and what that costs this year.

What a shelter costs is spread over its years (`work.shelter_life_d`): only this year's part counts. A price
that the farm does not name is put together from its hours and says guess; without a price for hours nobody
knows it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from leyfold.nouns.farm import Brooder, Farm, Incubator, Shelter
from leyfold.nouns.replanned import Term
from leyfold.reckoning.rates import Rates, work

__all__ = ["barn_more", "incubator_more", "new_name", "shelter_cost", "shelter_more"]

YEAR_D = 365.0
BOUGHT_H = 40.0
"""What a shelter bought costs in hours of work where the farm names no price. A guess: twice its building."""
BARN_H = 6.0
"""Hours to make a heated corner of the barn ready: boards, litter, lamps, draught kept off. A guess."""


def new_name(name: str, there: Iterable[str]) -> str:
    """`name`, or `name-2`, `name-3` and so on where that is taken."""
    taken = set(there)
    return next(n for n in (name, *(f"{name}-{i}" for i in range(2, 999))) if n not in taken)


def shelter_more(farm: Farm, since: date, like: str | None = None) -> tuple[Farm, str]:
    """The farm with one more shelter like `like` (the largest there is), from `since` on; and its name."""
    kits = farm.shelters
    name = new_name("shelter-more", [*kits, *farm.brooders, *farm.houses])
    old = kits.get(like or "") or max(kits.values(), key=lambda s: s.floor_m2, default=None)
    if old is None:
        return replace(farm, shelters={name: Shelter(name, 3.0, 3.0, 0.7, since=since)}), name
    made = replace(old, id=name, since=since, until=None)
    limits = [replace(x, id=f"{x.id}.{name}", scope=name) for x in farm.limits if x.scope == old.id]
    return replace(farm, shelters={**kits, name: made}, limits=(*farm.limits, *limits)), name


def shelter_cost(farm: Farm, shelters: int = 1) -> tuple[Term, ...]:
    """This year's part of so many shelters: bought or built, whichever is cheaper at the farm's prices."""
    years = work(farm, "shelter_life_d") / YEAR_D
    hour = _price(farm, "labour")
    build = _price(farm, "shelter_timber")
    build = None if build is None or hour is None else build + hour * work(farm, "shelter_build_h")
    known = [p for p in (_price(farm, "shelter"), build) if p is not None]
    if known:
        return (Term("shelter", shelters * min(known) / years),)
    return (Term("shelter", None if hour is None else shelters * hour * BOUGHT_H / years, guess=True),)


def barn_more(farm: Farm, floor_m2: float, since: date) -> tuple[Farm, str, tuple[Term, ...]]:
    """The farm with so much more heated floor under a roof, with the lamps of its first brooder; its name;
    and what making it ready costs. Bedding, current and daily work are in the reckoning of its plan."""
    kits: Mapping[str, Brooder] = farm.brooders
    name = new_name("barn-more", [*kits, *farm.shelters, *farm.houses])
    first = next(iter(kits.values()), None)
    lamps = first.lamps if first else ()
    made = Brooder(name, floor_m2, lamps, first.fuses_a if first else {}, since=since)
    hour = _price(farm, "labour")
    term = Term("barn", None if hour is None else hour * BARN_H, guess=True)
    return replace(farm, brooders={**kits, name: made}), name, (term,)


def incubator_more(farm: Farm, eggs: int, since: date) -> tuple[Farm, str]:
    """The farm with one more machine for so many eggs, drawing as its first one does a place."""
    kits = farm.incubators
    name = new_name("incubator-more", kits)
    first = next(iter(kits.values()), None)
    watts = None if first is None or first.watts is None else first.watts * eggs / first.eggs
    made = Incubator(name, eggs, watts=watts, since=since)
    limits = [
        replace(x, id=f"{x.id}.{name}", scope=name, at_most=float(eggs))
        for x in farm.limits
        if first is not None and x.scope == first.id and x.quantity == "eggs"
    ]
    return replace(farm, incubators={**kits, name: made}, limits=(*farm.limits, *limits)), name


def _price(farm: Farm, rate: str) -> float | None:
    rates = Rates(farm)
    return rates[rate].figure.value if rates.has(rate) else None
