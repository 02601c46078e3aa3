"""Prices without which no plan can be weighed against another: all that lack, at once."""

from __future__ import annotations

from leyfold.nouns.errors import Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.stock import Line
from leyfold.reckoning.rates import Rates

__all__ = ["unpriced"]


def unpriced(farm: Farm, plan: Plan) -> tuple[Fault, ...]:
    """A fault for each price that a plan from the first to the last day of `plan` can ask for and the farm
    does not name, feeds first. A hen's are asked for only where a bird can grow to be one by then."""
    rates = Rates(farm)
    wanted = [
        f"feed.{feed}"
        for feed in farm.feeds
        if any(
            phase.feed == feed and phase.from_d <= _oldest_d(line, plan)
            for line in farm.lines.values()
            for phase in line.feeding
        )
    ]
    wanted += ["carcass", "pullet"]
    if any(_oldest_d(line, plan) >= line.house_d.value for line in farm.lines.values()):
        wanted.append("old_hen")
    if any(_oldest_d(line, plan) >= line.point_of_lay_d.value for line in farm.lines.values()):
        wanted.append("egg")
    wanted.append("hatching_egg")
    return tuple(rates.lacking(rate) for rate in wanted if not rates.has(rate))


def _oldest_d(line: Line, plan: Plan) -> float:
    """The greatest age that a bird of the line can come to by the plan's last day."""
    assert plan.first is not None
    assert plan.last is not None
    hatched = [batch.hatched_on for batch in plan.batches if batch.line == line.id]
    ages = [(plan.last - day).days for day in hatched]
    return max([(plan.last - plan.first).days - line.incubation_d.value, *ages])
