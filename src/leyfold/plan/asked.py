"""What is asked of the planner looked through before it begins: days, kit, wishes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import State
from leyfold.season.wished import killed_by_line
from leyfold.words import say

__all__ = ["horizon", "outstanding", "refuse"]

FARM_FILE, PLAN_FILE = "farm.toml", "plan.toml"
YEAR = timedelta(weeks=53)
AFTER = timedelta(days=7)


def horizon(farm: Farm, plan: Plan, today: date) -> Plan:
    """`plan` with its first and last day: from today for a year, or until a week after the last wish, where
    it says none."""
    first = plan.first or today
    wished = [day for wish in farm.wishes for day in (wish.on, wish.until) if day is not None]
    last = plan.last or max([first + YEAR - timedelta(days=1), *(day + AFTER for day in wished)])
    return replace(plan, first=first, last=last)


def outstanding(farm: Farm, state: State, since: date | None) -> Farm:
    """The farm with wishes for table birds less those that the records say were killed since the plan's first
    day: the books of a season under way begin with the birds that are left. Wishes that come back are taken
    as they are."""
    by_line = killed_by_line(state, since)

    def killed(line: str | None) -> int:
        return sum(by_line.values()) if line is None else by_line.get(line, 0)

    return replace(
        farm,
        wishes=tuple(
            replace(wish, number=max(wish.number - killed(wish.line), 0))
            if wish.what == "table birds" and not wish.every_d
            else wish
            for wish in farm.wishes
        ),
    )


def refuse(farm: Farm, plan: Plan, today: date) -> None:
    """BadInput, naming everything, where no plan can be made at all."""
    faults = [*_kit(farm), *_days(farm, plan, today)]
    if faults:
        raise BadInput(*faults)


def _kit(farm: Farm) -> Iterator[Fault]:
    if not farm.shelters:
        yield _fault("shelters", "no_shelter")
    if not farm.brooders:
        yield _fault("brooders", "no_brooder")
    if not farm.incubators:
        yield _fault("incubators", "no_incubator")
    elif max(kit.eggs for kit in farm.incubators.values()) < farm.planning.tray:
        yield _fault("planning.tray", "tray_too_big", tray=farm.planning.tray)


def _days(farm: Farm, plan: Plan, today: date) -> Iterator[Fault]:
    assert plan.first is not None
    assert plan.last is not None
    start = max(plan.first, today)
    if plan.last < start:
        wrong = say("plan.over", last=plan.last, today=start)
        yield Fault(PLAN_FILE, "last", wrong, say("plan.over_mend"))
        return
    for i, wish in enumerate(farm.wishes, start=1):
        end = wish.until or wish.on if wish.what == "eggs a day" else wish.on
        said = {"wish": wish.id, "on": end, "first": start, "last": plan.last}
        if end < start:
            yield _fault(f"wishes[{i}].on", "wish_past", **said)
        elif wish.on > plan.last:
            yield _fault(f"wishes[{i}].on", "wish_late", **said)


def _fault(field: str, key: str, **values: object) -> Fault:
    return Fault(FARM_FILE, field, say(f"plan.{key}", **values), say(f"plan.{key}_mend", **values))
