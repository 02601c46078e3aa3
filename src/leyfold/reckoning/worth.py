"""What a living bird or an egg in the incubator is worth on the first and the last day, in parts of prices.

A farm that begins with hens and ends with others has not earned or lost what they cost: an account of a
season counts them in at its start and out at its end. Rules of our own, simple enough to follow by hand:

- a growing bird's worth rises evenly with age, from that of a chick at hatch to that of a pullet on the day
  she goes to the house, or of a carcass less its killing on the day of the cockerels' last draft;
- a hen's worth falls evenly from a pullet's to an old hen's over one laying year (straight-line
  depreciation, as farm accounts write breeding stock down);
- an egg in the incubator is worth a hatching egg, and a chick as many as it takes to hatch one where day-olds
  have no price.
"""

from __future__ import annotations

from datetime import date

from leyfold.nature.growth import by_curve
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.stock import Sex
from leyfold.reckoning.rates import Rates, work

__all__ = ["killing", "worth"]

DAY_OLD_D = 3
"""A chick under 72 hours is sold as a day-old."""


def worth(farm: Farm, rates: Rates, batch: Batch, sex: Sex, age_d: float) -> dict[str, float]:
    """How much of each price one living bird of a dated batch is worth at `age_d` >= 0: its worth is the sum
    of these amounts times the prices. An amount below zero (killing) lowers it."""
    line = farm.lines[batch.line]
    if sex == "pullet":
        grown = max(_age(batch, batch.house_on), line.sort_d.value, 1.0)
        if age_d >= grown:
            spent = min((age_d - grown) / work(farm, "hen_life_d"), 1.0)
            return {"pullet": 1.0 - spent, "old_hen": spent}
        end = {"pullet": 1.0}
    else:
        grown = max(_age(batch, batch.drafts[-1].on if batch.drafts else None), line.sort_d.value, 1.0)
        kg = float(by_curve(line.cockerel.growth, max(age_d, grown))) * line.dressing_share.value
        end = {"carcass": kg, **killing(rates, -1.0)}
    part = 0.0 if age_d <= DAY_OLD_D else min(age_d / grown, 1.0)
    found = {name: part * amount for name, amount in end.items()}
    for name, amount in _chick(farm, rates, batch).items():
        found[name] = found.get(name, 0.0) + (1.0 - part) * amount
    return {name: amount for name, amount in found.items() if amount}


def killing(rates: Rates, birds: float) -> dict[str, float]:
    """Killing at its price where it has one; at home, in hours, where it has none."""
    return {"killing": birds} if rates.has("killing") else {"labour": birds * work(rates.farm, "kill_h")}


def _chick(farm: Farm, rates: Rates, batch: Batch) -> dict[str, float]:
    price = rates.chick()
    line = farm.lines[batch.line]
    hatch = line.fertility.value * line.hatch_of_fertile.value
    return {price: 1.0 if price == "day_old" or not hatch else 1.0 / hatch}


def _age(batch: Batch, day: date | None) -> float:
    return 0.0 if day is None else float((day - batch.hatched_on).days)
