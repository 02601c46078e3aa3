"""What hens have and leave on their ground: inside their net in one stay, and under their house.

Held against limits that the farmer set alone: for a net `heads_per_m2` and `kg_n_per_ha_pass`, for a house
`kg_n_per_ha_pass`. A net goes round the largest paddock it encloses with ease; the nitrogen of a stay is that
of the day as often as the net stands days, that under the house of one day: it is moved daily while grass
grows. On days without growth both stand still, and their nitrogen is not held against a pass.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm, Net
from leyfold.nouns.limits import Breach
from leyfold.nouns.plan import Lot, Plan
from leyfold.nouns.season import Season
from leyfold.season.dates import Window
from leyfold.season.grazing import grass_grows
from leyfold.season.party import M2_PER_HA, limits_of
from leyfold.season.places import over_limit

__all__ = ["GROUND", "growing", "hens_ground", "least_m2", "nets_m2", "night_share"]

Floats = NDArray[np.float64]

GROUND = "kg_n_per_ha_pass"


def hens_ground(
    farm: Farm, window: Window, plan: Plan, lots: Sequence[Lot], heads: Floats, n_kg: Floats
) -> Iterator[Breach]:
    """Every run of days over a limit of a net or of the ground under a house; `where` is the house. Arrays
    are [lot, day]."""
    for house, kit in farm.houses.items():
        under = [limit for limit in limits_of(farm, "house", house) if limit.quantity == GROUND]
        inside = [
            (net, limit)
            for net in farm.nets.values()
            if net.house == house
            for limit in limits_of(farm, "net", net.id)
        ]
        if not under and not inside:
            continue
        lines = {batch.id: batch.line for batch in plan.batches}
        rows = [i for i, lot in enumerate(lots) if lot.place == house]
        night = np.array([[night_share(farm, lines[lots[i].batch])] for i in rows]).reshape(-1, 1)
        moved = growing(farm, window)
        for limit in under:
            kg = (n_kg[rows] * night).sum(axis=0) * moved
            yield from over_limit(limit, house, kg / kit.floor_m2 * M2_PER_HA, window)
        for net, limit in inside:
            there = np.array([net.owned(window.day(d)) for d in range(window.days)])
            values = heads[rows].sum(axis=0)
            if limit.quantity == GROUND:
                kg = (n_kg[rows] * (1.0 - night)).sum(axis=0) * moved
                values = kg * net.stay_d * M2_PER_HA
            yield from over_limit(limit, house, values / net.most_m2 * there, window)


def least_m2(farm: Farm, net: Net, season: Season) -> float:
    """The smallest paddock [m2] in which the hens of a net pass none of its limits on any day; 0 where it has
    none."""
    house, window = net.house or "", Window(season.first, season.days)
    lines = {batch.id: batch.line for batch in season.plan.batches}
    needs = [0.0]
    for limit in limits_of(farm, "net", net.id):
        rows = [i for i, lot in enumerate(season.lots) if lot.place == house]
        values = season.heads[rows].sum(axis=0)
        if limit.quantity == GROUND:
            night = np.array([[night_share(farm, lines[season.lots[i].batch])] for i in rows]).reshape(-1, 1)
            kg = (season.n_kg[rows] * (1.0 - night)).sum(axis=0) * growing(farm, window)
            values = kg * net.stay_d * M2_PER_HA
        needs.append(float(values.max(initial=0.0)) / limit.at_most)
    return max(needs)


def nets_m2(farm: Farm, window: Window, heads: Mapping[str, Floats]) -> float:
    """Ground [m2] that the paddocks of all nets with a limit of hens to the m2 take over a window: as many as
    are gone round, each large enough for the most hens. `heads` [day] by house."""
    total = 0.0
    for net in farm.nets.values():
        dense = [x.at_most for x in limits_of(farm, "net", net.id) if x.quantity == "heads_per_m2"]
        if net.house is not None and dense:
            there = np.array([net.owned(window.day(d)) for d in range(window.days)])
            hens = heads[net.house] * there
            if hens.any():
                many = max(net.paddocks(int((growing(farm, window) & (hens > 0)).sum())), 1)
                total += many * float(hens.max()) / min(dense)
    return total


def night_share(farm: Farm, line: str) -> float:
    """The share of their dung that hens of a line drop in the house."""
    return farm.lines[line].hen.night_share_of_dung.value


def growing(farm: Farm, window: Window) -> NDArray[np.bool_]:
    """[day] whether grass grows."""
    return np.array([grass_grows(farm, window.day(d)) for d in range(window.days)], dtype=bool)
