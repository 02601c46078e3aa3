"""What there would be to choose from without what the farmer rules out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Draft
from leyfold.nouns.planning import WEEKDAYS
from leyfold.plan.build import build
from leyfold.plan.linear import Linear
from leyfold.plan.offers import Offer, off_grass_on, offers, set_days
from leyfold.plan.problem import WEEK, Problem, most_eggs, pose, sure_of_eggs
from leyfold.plan.share import sharing
from leyfold.plan.wanted import Levels

__all__ = ["DAYS", "lifted", "unbound"]

DAYS: Mapping[str, Mapping[str, Any]] = MappingProxyType(
    {
        "set_days": {"set_from": None, "set_until": None, "set_weekdays": WEEKDAYS},
        "grass": {"grass_from": None, "grass_until": None},
        "killing_days": {"kill_weekdays": WEEKDAYS, "closed": ()},
    }
)
"""Groups of days that a farmer names in [planning], and what is written there where nothing is ruled out."""


def lifted(farm: Farm, *groups: str) -> Farm:
    """The farm without its days of some `groups` of DAYS."""
    free = {field: value for group in groups for field, value in DAYS[group].items()}
    return replace(farm, planning=replace(farm.planning, **free))


def unbound(problem: Problem, levels: Levels) -> Linear:
    """The model of a problem in which each group can be left out: with every way there would be without it,
    and with rows of the group that hold back what it rules out."""
    # What eggs cost is not asked here; without pens each set is as large as its machine.
    farm = replace(problem.farm, prices={"hatching_egg": 0.0, "egg": 0.0, **problem.farm.prices})
    bought = replace(farm, pens={})
    wide = replace(pose(bought, problem.plan, problem.today, _every_way(problem)), farm=farm)
    if problem.joins:
        wide = sharing(wide)
    model = build(wide, levels)
    if farm.pens:
        sure = sure_of_eggs(farm, wide.season, wide.flocks, wide.offers, wide.curves)
        for o, offer in enumerate(wide.offers):
            eggs, _ = most_eggs(farm, wide.fixed, wide.season, wide.flocks, offer) if o in sure else (0, 0.0)
            model.linear.row({model.offers[o].trays: 1}, most=eggs // model.tray, group="pen")
    return model.linear


def _every_way(problem: Problem) -> list[Offer]:
    """Every offer there is with any of the groups in DAYS lifted or kept, marked with those that rule it out.

    Both are needed: a set on the farmer's own days is seldom on those that come first where all are free, and
    birds killed on the farmer's own weekdays seldom on those of the exact age.
    """
    farm, span = problem.farm, problem.span
    first = max(problem.today, span.first)
    days = {day for x in (farm, lifted(farm, "set_days")) for day in set_days(x, span, first, WEEK)}
    found: dict[tuple[date, str, date], Offer] = {}
    for groups in ((), ("grass",), ("killing_days",), ("grass", "killing_days")):
        for offer in offers(lifted(farm, *groups), span, sorted(days)):
            key = offer.set_on, offer.line, offer.turnout_on
            known = found.get(key, offer)
            drafts = tuple(dict.fromkeys((*known.drafts, *offer.drafts)))
            found[key] = replace(known, drafts=drafts, ages=())
    last = span.day(span.days - 1)
    return [_marked(farm, found[key], last) for key in sorted(found)]


def _marked(farm: Farm, offer: Offer, last: date) -> Offer:
    """The offer, and each way of killing, with the groups that rule it out."""
    return replace(
        offer,
        forbidden=tuple(_forbidden(farm, offer, last)),
        ways_forbidden=tuple(tuple(_ways_forbidden(farm, drafts)) for drafts in offer.drafts),
    )


def _forbidden(farm: Farm, offer: Offer, last: date) -> Iterator[str]:
    asked = farm.planning
    early = asked.set_from is not None and offer.set_on < asked.set_from
    late = asked.set_until is not None and offer.set_on > asked.set_until
    if early or late or WEEKDAYS[offer.set_on.weekday()] not in asked.set_weekdays:
        yield "set_days"
    out_early = asked.grass_from is not None and offer.turnout_on < asked.grass_from
    off = off_grass_on(farm, offer.house_on, last)
    if out_early or (asked.grass_until is not None and off > min(asked.grass_until, last)):
        yield "grass"


def _ways_forbidden(farm: Farm, drafts: tuple[Draft, ...]) -> Iterator[str]:
    asked = farm.planning
    if asked.grass_until is not None and drafts[-1].on > asked.grass_until:
        yield "grass"
    if any(d.on in asked.closed or WEEKDAYS[d.on.weekday()] not in asked.kill_weekdays for d in drafts):
        yield "killing_days"
