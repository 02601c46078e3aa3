"""What birds need of a feed: for a mix, and against the label of a feed bought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.feedstuffs import cited_needs
from leyfold.farm.tables import figure, table
from leyfold.feed.mix import Need, Short, shortfalls
from leyfold.nouns.farm import Farm
from leyfold.nouns.feed import Ration
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Feed

__all__ = ["Label", "cited_ration", "labels", "needs_of", "stages"]

Floats = NDArray[np.float64]
Days = NDArray[np.bool_]

DAYS_PER_WEEK = 7
GROWERS, HENS = "pullet_white_", "hen_brown"
"""The rows a label is held against: for growers the fullest of the cited ones."""


def stages() -> tuple[str, ...]:
    """The cited requirements, by name."""
    return tuple(table("requirements"))


def cited_ration(name: str) -> Ration:
    """A ration that asks for a cited requirement and nothing else. KeyError for a row there is not."""
    return Ration(name, cited_needs(name))


def needs_of(ration: Ration) -> tuple[Need, ...]:
    """The bounds of a ration. Where it says nothing of the most calcium, that is a cited share above the
    least: limestone is cheap, and a mix would be filled up with it."""
    needs = [Need(nutrient, "least", fig.value) for nutrient, fig in ration.least.items()]
    most = {nutrient: fig.value for nutrient, fig in ration.most.items()}
    if "calcium" in ration.least and "calcium" not in most:
        most["calcium"] = ration.least["calcium"].value * (1 + figure("feeding.calcium_over_share").value)
    return (*needs, *(Need(nutrient, "most", value) for nutrient, value in most.items()))


@dataclass(frozen=True, slots=True)
class Label:
    """A feed held against a cited stage in which it is eaten. `unknown` is what its label does not say."""

    feed: str
    stage: str
    short: tuple[Short, ...]
    unknown: tuple[str, ...]


def labels(farm: Farm, season: Season) -> tuple[Label, ...]:
    """Every feed eaten in the season against every stage in which birds eat it; hens by what they eat a
    day, on the mean of all of them."""
    eaten: dict[tuple[str, str], tuple[float, float]] = {}
    for feed, stage, kg, days in _eaten(farm, season):
        before = eaten.get((feed, stage), (0.0, 0.0))
        eaten[feed, stage] = (before[0] + kg, before[1] + days)
    found = []
    for (feed, stage), (kg, days) in sorted(eaten.items()):
        if days <= 0:
            continue
        needs = [Need(n, "least", f.value) for n, f in cited_needs(stage, eaten_kg=kg / days).items()]
        held = _held(farm.feeds[feed])
        asked = {need.nutrient for need in needs} & {"protein", "energy_kcal_per_kg", "calcium"}
        found.append(Label(feed, stage, shortfalls(held, needs), tuple(sorted(asked - held.keys()))))
    return tuple(found)


def _held(feed: Feed) -> dict[str, float]:
    held = {"protein": feed.protein.value, "energy_kcal_per_kg": feed.energy_kcal_per_kg.value}
    return held if feed.calcium is None else {**held, "calcium": feed.calcium.value}


def _eaten(farm: Farm, season: Season) -> Iterator[tuple[str, str, float, float]]:
    """(feed, stage, kg eaten, over so many days of one bird)"""
    batches = {b.id: farm.lines[b.line] for b in season.plan.batches}
    for sex in SEXES:
        for batch, line in batches.items():
            rows = [i for i, lot in enumerate(season.lots) if (lot.batch, lot.sex) == (batch, sex)]
            ages = season.age_d[rows]
            ripe = ages >= line.point_of_lay_d.value if sex == "pullet" else ages < 0
            kg, heads = season.feed_kg[rows], season.heads[rows]

            def summed(when: Days, kg: Floats = kg, heads: Floats = heads) -> tuple[float, float]:
                return float((kg * when).sum()), float((heads * when).sum())

            for k, feed in enumerate(season.feeds):
                eats = season.feed_kind[rows] == k
                for name, row in table("requirements").items():
                    if name.startswith(GROWERS):
                        first, last = (DAYS_PER_WEEK * row[w] for w in ("from_week", "to_week"))
                        yield feed, name, *summed(eats & ~ripe & (ages >= first) & (ages < last))
                yield feed, HENS, *summed(eats & ripe)
