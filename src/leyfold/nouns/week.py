"""One week of a season, Monday to Sunday, as the wall sheet has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

__all__ = ["Week"]


@dataclass(frozen=True, slots=True)
class Week:
    """Heads, kg alive and eggs in the incubators are Monday's, in the week in which the plan begins those of
    its first day; shelters, floor and the heaviest stand are the worst day's; the rest are sums over the
    seven days. Feed is what is given, by kind; water is what is drunk; nutrients are what drops."""

    monday: date
    eggs_set: float
    in_brooder: float
    at_grass: float
    in_house: float
    pullets: float
    cockerels: float
    dead: float
    killed: float
    killed_kg: float
    kg: float
    feed_kg: Mapping[str, float]
    water_l: float
    n_kg: float
    p_kg: float
    k_kg: float
    eggs: float
    shelters: int
    heaviest_heads: float
    heaviest_kg_per_m2: float
    heaviest_kg_n_per_ha: float
    floor_share: float

    @property
    def heads(self) -> float:
        return self.in_brooder + self.at_grass + self.in_house
