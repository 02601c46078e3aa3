"""What follows from a plan, expected: every lot on every day.

Conventions: day 0 is the day of hatch; heads and weight are those at the day's start; gain is
W(t+1) - W(t); stays are half-open, so birds leaving on a day are not fed that day; weeks run Monday to
Sunday. Heads stay fractional.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from leyfold.nouns.limits import Breach
from leyfold.nouns.plan import Lot, Plan

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["PlaceDays", "Season"]


@dataclass(frozen=True, slots=True, eq=False)
class PlaceDays:
    """What stands on one place on each day, [day]. NaN-free: 0 where nobody is in."""

    place: str
    kind: str
    heads: Floats
    kg: Floats
    kg_per_m2: Floats
    heads_per_m2: Floats
    kg_n_per_ha_pass: Floats
    """Nitrogen that the stand of the day gets in one pass; 0 off the grass."""
    floor_share: Floats
    """Brooder floor needed by age over the floor there is; 0 outside brooders."""


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """Axes are [lot, day] unless said. Every array but `age_d` and `weight_kg`, which are of one bird, is of
    the whole lot; all but `age_d` are 0 on days outside the lot's stay."""

    first: date
    days: int
    plan: Plan
    lots: tuple[Lot, ...]
    age_d: NDArray[np.int64]
    heads: Floats
    weight_kg: Floats
    dead: Floats
    killed: Floats
    """Birds killed or put out, on the day they leave: not in `heads` of any lot from that day on."""
    killed_kg: Floats
    """Their live weight."""
    feed_kg: Floats
    feeds: tuple[str, ...]
    feed_kind: NDArray[np.int8]
    """Index into `feeds` of what the lot eats that day; -1 outside the stay."""
    water_l: Floats
    n_kg: Floats
    p_kg: Floats
    k_kg: Floats
    """Nutrients dropped: dung, and feed wasted."""
    eggs: Floats
    egg_kg: Floats
    hatching_eggs: Floats
    """[batch, day]: eggs in the incubator at the day's start."""
    places: Mapping[str, PlaceDays]
    breaches: tuple[Breach, ...]

    def day(self, index: int) -> date:
        return date.fromordinal(self.first.toordinal() + index)

    def index(self, day: date) -> int:
        return day.toordinal() - self.first.toordinal()
