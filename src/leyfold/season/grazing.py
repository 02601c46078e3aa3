"""When grass grows on a farm: the days on which cattle graze and nets are shifted."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from leyfold.nature.grazing import YEAR_D, grass_season
from leyfold.nouns.farm import Cattle, Farm

__all__ = ["grass_grows", "grazes"]


def grass_grows(farm: Farm, day: date) -> bool:
    """Whether `day` lies in the grass season of the farm's mean temperatures."""
    days = _season(tuple(f.value for f in farm.temperature_C), farm.holding.latitude_deg < 0)
    return days[min(day.timetuple().tm_yday, YEAR_D) - 1]


def grazes(farm: Farm, herd: Cattle, day: date) -> bool:
    """Whether a herd is at grass on `day`: from its own day of the year to the other, where it has them."""
    if not herd.owned(day):
        return False
    if herd.grazing is None:
        return grass_grows(farm, day)
    out, home = herd.grazing
    at = (day.month, day.day)
    return out <= at < home if out <= home else at >= out or at < home


@lru_cache(maxsize=8)
def _season(month_C: tuple[float, ...], southern: bool) -> tuple[bool, ...]:
    return tuple(grass_season(month_C, southern=southern).tolist())
