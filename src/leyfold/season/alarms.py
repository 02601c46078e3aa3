"""How many dead are too many: the number to write on the wall."""

from __future__ import annotations

from leyfold.farm.tables import figure
from leyfold.nature.alarms import first_week_chance, least_alarming
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch

__all__ = ["dead_in_a_day", "dead_over", "usual_deaths"]

WEEK_D = 7


def usual_deaths(farm: Farm, b: Batch, heads: float, age_d: int, days: int = 1) -> float:
    """Deaths that ordinary luck brings over `days` from `age_d` on, all within or after the first week."""
    line = farm.lines[b.line]
    if age_d < WEEK_D:
        return heads * (1.0 - line.survival_first_week.value) * days / WEEK_D
    return heads * _of(farm, "grower_loss") * days


def dead_in_a_day(farm: Farm, b: Batch, heads: float, age_d: int) -> int | None:
    """The fewest deaths in one day that luck brings with less than the alarm's chance; None without birds.

    A chick of the first week dies on a day with a seventh of the week's loss (binomial); later Poisson.
    """
    whole = round(heads)
    if whole < 1:
        return None
    under = _of(farm, "alarm_chance")
    if age_d >= WEEK_D:
        return int(least_alarming(usual_deaths(farm, b, heads, age_d), under=under))
    share = 1.0 - farm.lines[b.line].survival_first_week.value ** (1.0 / WEEK_D)
    dead = 1
    while dead < whole and first_week_chance(dead, whole, usual_share=share) >= under:
        dead += 1
    return dead


def dead_over(farm: Farm, b: Batch, heads: float, age_d: int, days: int) -> int | None:
    """The same over several days."""
    if round(heads) < 1:
        return None
    return int(least_alarming(usual_deaths(farm, b, heads, age_d, days), under=_of(farm, "alarm_chance")))


def _of(farm: Farm, name: str) -> float:
    return (farm.tonight.get(name) or figure(f"tonight.{name}")).value
