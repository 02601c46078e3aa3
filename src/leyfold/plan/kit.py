"""What the farm has for sets still free to choose: shelters by class, and what others already take."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nature.machine import brooder_carries
from leyfold.nouns.farm import Brooder, Farm, Kit, Lamp
from leyfold.nouns.season import Season
from leyfold.plan.curves import COLDEST_BARN_C, WARMEST_BARN_C
from leyfold.plan.offers import night_C
from leyfold.season.dates import Window
from leyfold.season.party import M2_PER_HA, limits_of

__all__ = [
    "ShelterClass",
    "carried",
    "free_days",
    "hours_on",
    "least",
    "shelter_classes",
    "shelters_by",
    "shelters_needed",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class ShelterClass:
    """Shelters that stand for each other: same floor, moves and limits, and each, once there and empty, stays
    so. A shelter that the farm gives up, or that others come into, stands for itself."""

    names: tuple[str, ...]
    floor_m2: float
    moves_per_day: float
    limits: tuple[tuple[str, float], ...]
    free: tuple[NDArray[np.bool_], ...]
    """[day] of each, whether it is there for new birds."""

    def many(self, first: int, until: int) -> int:
        """How many are there for new birds on all of the days."""
        return sum(bool(free[first:until].all()) for free in self.free)


def free_days(kit: Kit, span: Window, taken: Floats) -> NDArray[np.bool_]:
    """[day] on which the kit is owned and nobody is in it."""
    owned = np.array([kit.owned(span.day(i)) for i in range(span.days)], dtype=bool)
    return owned & (taken <= 0)


def shelter_classes(farm: Farm, span: Window, fixed: Season) -> tuple[ShelterClass, ...]:
    """Every shelter in its class, in the order of the farm file; the longest there first."""
    found: dict[tuple[object, ...], list[str]] = {}
    free = {}
    for name, kit in farm.shelters.items():
        mine = free[name] = free_days(kit, span, fixed.places[name].heads)
        limits = tuple((x.quantity, x.at_most) for x in limits_of(farm, "shelter", name))
        alone = name if (mine[:-1] & ~mine[1:]).any() else ""
        found.setdefault((kit.floor_m2, kit.moves_per_day, limits, alone), []).append(name)
    classes = [sorted(names, key=lambda n: -int(free[n].sum())) for names in found.values()]
    return tuple(
        ShelterClass(
            tuple(names),
            farm.shelters[names[0]].floor_m2,
            farm.shelters[names[0]].moves_per_day,
            tuple((x.quantity, x.at_most) for x in limits_of(farm, "shelter", names[0])),
            tuple(free[n] for n in names),
        )
        for names in classes
    )


def shelters_needed(kind: ShelterClass, load: Floats, group: float, cold: NDArray[np.bool_]) -> float:
    """Shelters of the class (a fraction) that a load, [heads kg kg_n, day], needs on its worst day. Together
    on `cold` nights [day] lie no more than `group` heads."""
    return float(shelters_by(kind, load, group, cold).max(initial=0.0))


def shelters_by(kind: ShelterClass, load: Floats, group: float, cold: NDArray[np.bool_]) -> Floats:
    """[limit, day] the same by each limit, cold nights last, on each day."""
    heads, kg, n_kg = load
    per = {
        "heads": heads,
        "heads_per_m2": heads / kind.floor_m2,
        "kg_per_m2": kg / kind.floor_m2,
        "kg_n_per_ha_pass": n_kg / kind.floor_m2 * M2_PER_HA / kind.moves_per_day,
    }
    return np.array([*(per[q] / most for q, most in kind.limits if q in per), heads * cold / group])


def least(farm: Farm, kind: str, place: str, quantity: str) -> float:
    """The tightest limit of one quantity in a place; endless where there is none."""
    found = [x.at_most for x in limits_of(farm, kind, place) if x.quantity == quantity]
    return min(found, default=np.inf)


def carried(farm: Farm, brooder: Brooder, day: date) -> float:
    """Day-olds whom the lamps carry on the typical night of a day, the barn as cold as the air outside: by
    what the farm asks with all burning, the worst lamp out or the worst fuse out. A fuse bears no more watts
    than it is rated for. Endless where no lamps are named: nothing is known of the heat."""
    if not brooder.lamps:
        return float(np.inf)
    barn = float(np.clip(night_C(farm, day), COLDEST_BARN_C, WARMEST_BARN_C))
    return _carried(brooder.lamps, tuple(brooder.fuses_a.items()), farm.planning.heat_without, barn)


@lru_cache(maxsize=4096)
def _carried(lamps: tuple[Lamp, ...], fuses_a: tuple[tuple[str, float], ...], out: str, barn: float) -> float:
    volts, on_fuse, most_a = figure("kit.mains_v").value, dict[str, float](), dict(fuses_a)
    for lamp in lamps:
        on_fuse[lamp.fuse] = on_fuse.get(lamp.fuse, 0.0) + lamp.watts
    bears = {
        fuse: min(1.0, most_a[fuse] * volts / watts) if fuse in most_a and watts else 1.0
        for fuse, watts in on_fuse.items()
    }
    carries = brooder_carries(
        [(lamp.watts * bears[lamp.fuse], lamp.fuse) for lamp in lamps], barn,
        at_10C=figure("space.lamp_chicks_at_10C").value,
        per_K=figure("space.lamp_chicks_per_K").value,
    )  # fmt: skip
    return float(getattr(carries, {"nothing": "all_on", "lamp": "lamp_out", "fuse": "fuse_out"}[out]))


def hours_on(farm: Farm, day: date) -> float:
    """Hours that the farm's people have for the birds on a day; endless where nobody says."""
    known = [p for p in farm.people.values() if p.hours_per_day is not None]
    if not known:
        return float(np.inf)
    other = {b.person: b.hours_per_day for b in farm.planning.busy if b.first <= day <= b.last}
    return sum(min(other.get(p.id, np.inf), p.hours_per_day or 0.0) for p in known)
