"""Tonight's gusts against what moves a shelter that is not tied."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.wind import CASES, TERRAINS, anchor_load_n, gust_at_shelter_m_per_s, gusts_borne
from leyfold.nouns.ahead import Flock, Gust
from leyfold.nouns.farm import Farm, Shelter
from leyfold.nouns.kept import Kept
from leyfold.round.figures import tonight
from leyfold.round.nights import band

__all__ = ["borne", "gusts"]

Floats = NDArray[np.float64]

TERRAIN = TERRAINS["II"]
STAKES_A_SIDE = 2.0
_BORNE: Kept[tuple[float, str]] = Kept(64)


def _statics(shelter: Shelter) -> dict[str, float]:
    """A shelter of which half the roof is sheet and the open half stands to windward, along its length: the
    worst way round of those usual. Weight is taken at the middle of the plan."""
    case = CASES["open_windward"]
    return {
        "depth_m": shelter.length_m, "height_m": shelter.height_m, "roof_m2": 0.5 * shelter.floor_m2,
        "front_m2": 0.5 * shelter.width_m * shelter.height_m, "lift": case.lift, "drag": case.drag,
        "uplift_centre_m": 0.75 * shelter.length_m, "mass_centre_m": 0.5 * shelter.length_m,
    }  # fmt: skip


def borne(farm: Farm, shelter: Shelter) -> tuple[float, str] | None:
    """The least gust at the shelter [m/s] that moves it untied, over both edges and both ends to the wind,
    and how; None where its mass is not known."""
    if shelter.mass_kg is None:
        return None
    friction = tonight(farm, "friction")
    return _BORNE.get((shelter, friction), lambda: _borne(shelter, shelter.mass_kg or 0.0, friction))


def _borne(shelter: Shelter, mass_kg: float, friction: float) -> tuple[float, str]:
    one = _statics(shelter)
    turned = {**one, "uplift_centre_m": one["depth_m"] - one["uplift_centre_m"]}
    found = []
    for way in (one, turned):
        moves = gusts_borne(mass_kg, **way, friction=friction)
        found += [(float(moves.slide), "slide"), (float(moves.tip_lee), "tip"),
                  (float(moves.tip_windward), "tip"), (float(moves.lift), "lift")]  # fmt: skip
    return min(found)


def gusts(farm: Farm, flocks: Sequence[Flock], greatest_m_per_s: Floats) -> tuple[Gust, ...]:
    """Every shelter with birds in, against the greatest gust at 10 m of each draw. Grades: stake from the
    cited share of the gust that moves it (act), at or over it danger."""
    heads: dict[str, float] = {}
    for flock in flocks:
        if flock.kind == "shelter":
            heads[flock.place] = heads.get(flock.place, 0.0) + flock.heads
    if not heads:
        return ()
    shelters = [farm.shelters[place] for place in heads]
    here = gust_at_shelter_m_per_s(
        greatest_m_per_s, np.array([[one.height_m] for one in shelters]), TERRAIN.roughness_m,
        TERRAIN.least_height_m,
    )  # fmt: skip
    bands = [band(row) for row in here]
    pulls = _pulls(shelters, np.array([gust.high for gust in bands]))
    found = []
    for (place, n), shelter, gust, pull in zip(heads.items(), shelters, bands, pulls, strict=True):
        first = borne(farm, shelter)
        if first is None:
            found.append(Gust(place, n, gust, None, None, None, None, 0, 0))
            continue
        moves_at, how = first
        stake = tonight(farm, "stake_from") * moves_at
        grades = [2 * (v >= stake) + 1 * (v >= moves_at) for v in (gust.middle, gust.high)]
        found.append(Gust(place, n, gust, moves_at, how, stake, pull, int(grades[0]), int(grades[1])))
    return tuple(found)


def _pulls(shelters: Sequence[Shelter], gusts_m_per_s: Floats) -> list[float]:
    """[shelter] the greater pull on a stake [N] in its gust; nan where its mass is not known."""
    pulls = np.full(len(shelters), nan)
    known = [i for i, one in enumerate(shelters) if one.mass_kg is not None]
    if known:
        each = [_statics(shelters[i]) for i in known]
        mass = np.array([shelters[i].mass_kg for i in known], dtype=np.float64)
        of = {name: np.array([one[name] for one in each]) for name in each[0]}
        load = anchor_load_n(gusts_m_per_s[known], mass, **of, a_side=STAKES_A_SIDE)
        pulls[known] = np.maximum(load.windward_n, load.lee_n)
    return [float(pull) for pull in pulls]
