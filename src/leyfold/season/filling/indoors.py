"""Which incubator, brooder and house a batch goes to where the plan does not say: the first with room for
it on every day it is there, in the order of the farm file, else the one that is passed least."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.season.party import limits_of

__all__ = ["Rooms", "floor_need_m2", "house_size"]

Floats = NDArray[np.float64]


def floor_need_m2(farm: Farm, heads: Floats, age_d: NDArray[np.int64]) -> Floats:
    """[..., day] brooder floor that chicks of each age need."""
    ages = [until for until, _ in farm.floor_allowance[:-1]]
    per_m2 = np.array([figure.value for _, figure in farm.floor_allowance])
    need: Floats = heads / per_m2[np.searchsorted(ages, age_d, side="right")]
    return need


def house_size(farm: Farm, name: str) -> float:
    """Hens that a house takes by the tightest of its limits; endless where none binds."""
    floor = farm.houses[name].floor_m2
    per = {"heads": 1.0, "heads_per_m2": floor}
    limits = limits_of(farm, "house", name)
    return min((x.at_most * per[x.quantity] for x in limits if x.quantity in per), default=np.inf)


class Rooms:
    """Rooms of one kind, each with its size in one measure, filling up by day."""

    def __init__(self, sizes: Mapping[str, float], days: int) -> None:
        self.sizes = sizes
        self.used = {name: np.zeros(days) for name in sizes}

    def take(self, need: Floats, named: str | None, owned: Callable[[str], bool]) -> str | None:
        """The room for `need` [day], among those `owned`; None where there is none."""
        name = named or min(filter(owned, self.sizes), key=lambda n: self._passed(n, need), default=None)
        if name is not None:
            self.used[name] = self.used[name] + need
        return name

    def _passed(self, name: str, need: Floats) -> float:
        """How full the fullest day would be, rooms that are not passed counting alike."""
        full = float((self.used[name] + need)[need > 0].max(initial=0.0)) / self.sizes[name]
        return max(full, 1.0)
