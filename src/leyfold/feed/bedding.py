"""Bales of straw or shavings by week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nouns.season import Season

__all__ = ["Bedding", "bedding"]

DAYS = 7


@dataclass(frozen=True, slots=True)
class Bedding:
    """`bales` is the whole number to fetch this week, so that what was fetched so far covers what is used."""

    monday: date
    kg: float
    bales: int


def bedding(season: Season) -> tuple[Bedding, ...]:
    """Every week of the season. A chick's bedding counts on the day she comes to the brooder, a hen's day by
    day while she is in the house; both cited figures of `work`."""
    kinds = np.array([season.places[lot.place].kind for lot in season.lots])
    brooding, housed = season.heads[kinds == "brooder"], season.heads[kinds == "house"]
    before = np.concatenate([np.zeros((len(brooding), 1)), brooding[:, :-1]], axis=1)
    kg = (brooding * (before == 0)).sum(axis=0) * figure("work.bedding_kg_per_chick").value
    kg += housed.sum(axis=0) * figure("work.bedding_kg_per_hen_d").value
    by_week = kg.reshape(-1, DAYS).sum(axis=1)
    bales = np.ceil(np.cumsum(by_week) / figure("feeding.bale_kg").value - 1e-9).astype(int)
    fetched = np.diff(bales, prepend=0)
    return tuple(
        Bedding(season.first + timedelta(weeks=i), float(by_week[i]), int(fetched[i]))
        for i in range(len(by_week))
    )
