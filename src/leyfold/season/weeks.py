"""A season week by week."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.season import Season
from leyfold.nouns.week import Week

__all__ = ["SOMEBODY", "looked_at", "weeks"]

Floats = NDArray[np.float64]

DAYS = 7
SOMEBODY = 0.5
"""A place with less than half an expected bird in it stands empty."""


def looked_at(season: Season) -> NDArray[np.int64]:
    """The day whose heads stand for each week: its Monday, or the plan's first day in the week it begins in.
    Books opened on a Thursday know of nobody on the Monday before."""
    days = np.arange(0, season.days, DAYS)
    if season.plan.first is not None:
        days[0] = min(max(season.index(season.plan.first), 0), DAYS - 1)
    return days


def weeks(season: Season) -> tuple[Week, ...]:
    """Every week of the season; `nouns.week.Week` says what is Monday's, the worst day's, the week's sum."""
    count = season.days // DAYS
    kinds = {kind: _rows(season, kind) for kind in ("brooder", "shelter", "house")}
    mondays = looked_at(season)
    monday = {kind: season.heads[rows].sum(axis=0)[mondays] for kind, rows in kinds.items()}
    by_sex = {
        sex: season.heads[[i for i, lot in enumerate(season.lots) if lot.sex == sex]].sum(axis=0)[mondays]
        for sex in ("pullet", "cockerel")
    }
    sums = {
        name: _by_week(getattr(season, name).sum(axis=0)).sum(axis=1)
        for name in ("dead", "killed", "killed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs")
    }
    feed = {
        kind: _by_week((season.feed_kg * (season.feed_kind == index)).sum(axis=0)).sum(axis=1)
        for index, kind in enumerate(season.feeds)
    }
    shelters = [place for place in season.places.values() if place.kind == "shelter"]
    stands = {
        name: _worst([getattr(place, name) for place in shelters], season.days)
        for name in ("heads", "kg_per_m2", "kg_n_per_ha_pass")
    }
    in_use = np.array([place.heads >= SOMEBODY for place in shelters]).reshape(len(shelters), season.days)
    floor = _worst([p.floor_share for p in season.places.values() if p.kind == "brooder"], season.days)
    alive_kg = (season.heads * season.weight_kg).sum(axis=0)[mondays]
    in_use_worst = _by_week(in_use.sum(axis=0).astype(np.float64)).max(axis=1)
    set_eggs = season.hatching_eggs.sum(axis=0)[mondays]
    return tuple(
        Week(
            monday=season.first + timedelta(weeks=i),
            eggs_set=float(set_eggs[i]),
            in_brooder=float(monday["brooder"][i]),
            at_grass=float(monday["shelter"][i]),
            in_house=float(monday["house"][i]),
            pullets=float(by_sex["pullet"][i]),
            cockerels=float(by_sex["cockerel"][i]),
            kg=float(alive_kg[i]),
            feed_kg={kind: float(kg[i]) for kind, kg in feed.items()},
            shelters=int(in_use_worst[i]),
            heaviest_heads=float(stands["heads"][i]),
            heaviest_kg_per_m2=float(stands["kg_per_m2"][i]),
            heaviest_kg_n_per_ha=float(stands["kg_n_per_ha_pass"][i]),
            floor_share=float(floor[i]),
            **{name: float(values[i]) for name, values in sums.items()},
        )
        for i in range(count)
    )


def _rows(season: Season, kind: str) -> list[int]:
    return [i for i, lot in enumerate(season.lots) if season.places[lot.place].kind == kind]


def _by_week(days: Floats) -> Floats:
    return days.reshape(-1, DAYS)


def _worst(values: list[Floats], days: int) -> Floats:
    by_day: Floats = np.max([np.zeros(days), *values], axis=0)
    by_week: Floats = _by_week(by_day).max(axis=1)
    return by_week
