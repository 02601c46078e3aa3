"""What stands on each place on each day, and every limit passed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Breach, Limit, Quantity
from leyfold.nouns.plan import Lot
from leyfold.nouns.season import PlaceDays
from leyfold.season.dates import Window
from leyfold.season.filling.indoors import floor_need_m2
from leyfold.season.party import M2_PER_HA, ROUNDING, limits_of

__all__ = ["breaches", "over_limit", "place_days"]

Floats = NDArray[np.float64]


def place_days(
    farm: Farm,
    lots: Sequence[Lot],
    heads: Floats,
    kg: Floats,
    n_kg: Floats,
    age_d: NDArray[np.int64],
    hatching: Mapping[str, Floats],
) -> dict[str, PlaceDays]:
    """Every place of the farm by id. Arrays are [lot, day]; `hatching` is eggs by incubator, [day]."""
    result = {}
    days = heads.shape[1]
    for name in farm.incubators:
        nothing = np.zeros(days)
        eggs = hatching.get(name, nothing)
        result[name] = PlaceDays(name, "incubator", eggs, nothing, nothing, nothing, nothing, nothing)
    at: dict[str, list[int]] = {}
    for i, lot in enumerate(lots):
        at.setdefault(lot.place, []).append(i)
    for kind, kits in (("brooder", farm.brooders), ("shelter", farm.shelters), ("house", farm.houses)):
        for name, kit in kits.items():
            rows = at.get(name, [])
            there, weight = heads[rows].sum(axis=0), kg[rows].sum(axis=0)
            dung, need = np.zeros(days), np.zeros(days)
            if kind == "shelter":
                per_pass = M2_PER_HA / farm.shelters[name].moves_per_day
                dung = n_kg[rows].sum(axis=0) / kit.floor_m2 * per_pass
            if kind == "brooder":
                need = floor_need_m2(farm, heads[rows], age_d[rows]).sum(axis=0) / kit.floor_m2
            result[name] = PlaceDays(
                name, kind, there, weight, weight / kit.floor_m2, there / kit.floor_m2, dung, need
            )
    return result


def breaches(farm: Farm, window: Window, places: Mapping[str, PlaceDays]) -> tuple[Breach, ...]:
    """Each unbroken run of days over a limit, by its first day."""
    found = [
        breach
        for place in places.values()
        for limit in limits_of(farm, place.kind, place.place)
        for breach in over_limit(limit, place.place, _values(place, limit.quantity), window)
    ]
    return tuple(sorted(found, key=lambda b: (b.first, b.where, b.limit.id)))


def _values(place: PlaceDays, quantity: Quantity) -> Floats:
    if quantity in ("eggs", "heads"):
        return place.heads
    return {
        "heads_per_m2": place.heads_per_m2,
        "kg_per_m2": place.kg_per_m2,
        "kg_n_per_ha_pass": place.kg_n_per_ha_pass,
        "floor_share": place.floor_share,
    }[quantity]


def over_limit(limit: Limit, where: str, values: Floats, window: Window) -> Iterator[Breach]:
    """Each unbroken run of days on which `values` [day] pass a limit."""
    passed = np.concatenate(([False], values > limit.at_most * (1 + ROUNDING), [False]))
    edges = np.flatnonzero(passed[1:] != passed[:-1])
    for first, until in zip(edges[::2], edges[1::2], strict=True):
        worst = first + int(np.argmax(values[first:until]))
        yield Breach(
            limit,
            where,
            window.day(int(first)),
            window.day(int(until)) - timedelta(days=1),
            float(values[worst]),
            window.day(int(worst)),
        )
