"""Bales of straw or shavings by week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season

__all__ = ["Bedding", "bedding"]

DAYS = 7


@dataclass(frozen=True, slots=True)
class Bedding:
    """`bales` is the whole number to fetch this week, so that what was fetched so far covers what is used."""

    monday: date
    kg: float
    bales: int


def bedding(farm: Farm, season: Season) -> tuple[Bedding, ...]:
    """Every week of the season. A chick's bedding counts on the day she comes to the brooder, a hen's day by
    day while she is in the house; by the farm's own word or the cited figures of `work`."""
    a_chick, a_hen = (_work(farm, f"bedding_kg_per_{name}") for name in ("chick", "hen_d"))
    batches = {batch.id: batch for batch in season.plan.batches}
    kg = np.zeros(season.days)
    for i, lot in enumerate(season.lots):
        kind, batch = season.places[lot.place].kind, batches[lot.batch]
        comes = season.index(batch.arrives_on)
        if kind == "house":
            kg += season.heads[i] * a_hen
        elif kind == "brooder" and batch.origin != "present" and 0 <= comes < season.days:
            kg[comes] += season.heads[i, comes] * a_chick
    by_week = kg.reshape(-1, DAYS).sum(axis=1)
    bales = np.ceil(np.cumsum(by_week) / figure("feeding.bale_kg").value - 1e-9).astype(int)
    fetched = np.diff(bales, prepend=0)
    return tuple(
        Bedding(season.first + timedelta(weeks=i), float(by_week[i]), int(fetched[i]))
        for i in range(len(by_week))
    )


def _work(farm: Farm, name: str) -> float:
    return (farm.work.get(name) or figure(f"work.{name}")).value
