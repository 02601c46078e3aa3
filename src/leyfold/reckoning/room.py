"""Too many birds for the shelters: build one, buy one, hold some in the barn, or kill a week sooner.

Each way out is priced with its sum. What it costs to kill sooner is what those days would have earned; a
shelter's cost is spread over its years, so that only this year's part counts against this year's need.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.reckoning.keeping import Keeping
from leyfold.reckoning.rates import Rates, work

__all__ = ["Pinch", "Way", "pinches"]

YEAR_D = 365.0

How = Literal["build", "buy", "barn", "sooner"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way out. `cost` is the sum over `terms`: (what, how many, money each); below zero it is a gain.
    `lacking`: prices it would need and the farm does not name; `cost` is then None."""

    how: How
    cost: float | None
    terms: tuple[tuple[str, float, float], ...]
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Pinch:
    """An unbroken run of days on which shelters are over a limit: `birds` too many on the worst day,
    `cockerels` of them, `shelters` that would hold them, `where` it presses. Ways out cheapest first, those
    without a price last."""

    first: date
    last: date
    birds: float
    cockerels: float
    shelters: int
    where: tuple[str, ...]
    ways: tuple[Way, ...]

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


def pinches(farm: Farm, season: Season, keepings: Mapping[str, Keeping]) -> tuple[Pinch, ...]:
    """Every run of days on which some shelter is over a limit. `keepings` by batch."""
    over = _over(farm, season)
    total = np.sum(list(over.values()), axis=0) if over else np.zeros(season.days)
    found = []
    start = None
    for day in range(season.days + 1):
        pressed = day < season.days and total[day] > 0
        if pressed and start is None:
            start = day
        elif not pressed and start is not None:
            found.append(_pinch(farm, season, keepings, over, total, start, day))
            start = None
    return tuple(found)


def _over(farm: Farm, season: Season) -> dict[str, NDArray[np.float64]]:
    """[day] birds too many in each shelter over a limit, by the limit worst passed."""
    found: dict[str, NDArray[np.float64]] = {}
    for breach in season.breaches:
        place = season.places[breach.where]
        values = getattr(place, breach.limit.quantity, None)
        if breach.where not in farm.shelters or values is None:
            continue
        days = slice(season.index(breach.first), season.index(breach.last) + 1)
        heads = place.heads[days]
        many = heads * (1.0 - breach.limit.at_most / np.maximum(values[days], breach.limit.at_most))
        row = found.setdefault(breach.where, np.zeros(season.days))
        row[days] = np.maximum(row[days], many)
    return found


def _pinch(
    farm: Farm,
    season: Season,
    keepings: Mapping[str, Keeping],
    over: Mapping[str, NDArray[np.float64]],
    total: NDArray[np.float64],
    start: int,
    end: int,
) -> Pinch:
    worst = start + int(total[start:end].argmax())
    where = tuple(name for name, row in over.items() if row[start:end].any())
    birds = float(total[worst])
    fits = min(season.places[n].heads[worst] - over[n][worst] for n in where if over[n][worst] > 0)
    heads: dict[str, float] = {}
    there = 0.0
    for i, lot in enumerate(season.lots):
        if lot.place in where and over[lot.place][worst] > 0:
            part = float(season.heads[i, worst])
            there += part
            if lot.sex == "cockerel" and lot.batch in keepings and part > 0:
                heads[lot.batch] = heads.get(lot.batch, 0.0) + part
    cockerels = birds * sum(heads.values()) / there if there else 0.0
    shelters = max(ceil(birds / max(float(fits), 1.0) - 1e-9), 1)
    ways = [
        *_more_shelters(farm, shelters, end - start),
        _barn(farm, birds, end - start),
        *_sooner(keepings, heads, min(cockerels, birds), season.day(start)),
    ]
    ways.sort(key=lambda way: (way.cost is None, way.cost or 0.0))
    first, last = season.day(start), season.day(end - 1)
    return Pinch(first, last, birds, cockerels, shelters, where, tuple(ways))


def _more_shelters(farm: Farm, shelters: int, days: int) -> list[Way]:
    years = work(farm, "shelter_life_d") / YEAR_D
    daily = ("labour", "moving", shelters * days * work(farm, "shelter_h_per_d"))
    return [
        _way(
            farm,
            "build",
            [
                ("shelter_timber", "timber", shelters / years),
                ("labour", "building", shelters * work(farm, "shelter_build_h") / years),
                daily,
            ],
        ),
        _way(farm, "buy", [("shelter", "shelter", shelters / years), daily]),
    ]


def _barn(farm: Farm, birds: float, days: int) -> Way:
    return _way(
        farm,
        "barn",
        [
            ("bedding", "bedding", birds * work(farm, "bedding_kg_per_chick")),
            ("labour", "barn", days * work(farm, "brooder_h_per_d")),
        ],
    )


def _way(farm: Farm, how: How, wanted: list[tuple[str, str, float]]) -> Way:
    rates = Rates(farm)
    lacking = tuple(
        dict.fromkeys(
            f"prices.{price}" for price, _, _ in wanted if price != "labour" and not rates.has(price)
        )
    )
    terms = tuple(
        (what, amount, rates[price].figure.value) for price, what, amount in wanted if rates.has(price)
    )
    return Way(how, None if lacking else sum(n * each for _, n, each in terms), terms, lacking)


def _sooner(keepings: Mapping[str, Keeping], heads: Mapping[str, float], birds: float, on: date) -> list[Way]:
    """The cockerels too many are killed on the day it first presses, not with the last draft: what they
    would have earned until then."""
    if not heads or birds <= 0:
        return []
    whole = sum(heads.values())
    terms = []
    for batch, there in heads.items():
        keep = keepings[batch]
        age = keep.planned_d - (keep.planned_on - on).days
        each = keep.over(age, keep.planned_d)
        terms.append((batch, birds * there / whole, each))
    return [Way("sooner", sum(n * each for _, n, each in terms), tuple(terms))]
