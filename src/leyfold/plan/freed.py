"""What there would be to choose from if days that the farmer rules out were not ruled out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Draft
from leyfold.nouns.planning import WEEKDAYS
from leyfold.plan.offers import Offer, off_grass_on, offers, set_days
from leyfold.plan.problem import WEEK, Problem, pose

__all__ = ["DAYS", "freed", "lifted"]

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


def freed(problem: Problem) -> Problem:
    """The problem with every way there is on offer with any of the groups in DAYS lifted or kept, each marked
    with the groups that rule it out.

    Both are needed: a set on the farmer's own days is seldom on those that come first where all are free, and
    birds killed on the farmer's own weekdays seldom on those of the exact age.
    """
    farm, span = problem.farm, problem.span
    if lifted(farm, *DAYS) == farm:
        return problem
    first = max(problem.today, span.first)
    days = sorted({day for x in (farm, lifted(farm, "set_days")) for day in set_days(x, span, first, WEEK)})
    found: dict[tuple[date, str, date], Offer] = {}
    for groups in ((), ("grass",), ("killing_days",), ("grass", "killing_days")):
        for offer in offers(lifted(farm, *groups), span, days):
            key = offer.set_on, offer.line, offer.turnout_on
            known = found.get(key, offer)
            found[key] = replace(known, drafts=tuple(dict.fromkeys((*known.drafts, *offer.drafts))))
    last = span.day(span.days - 1)
    return pose(farm, problem.plan, problem.today, [_marked(farm, found[key], last) for key in sorted(found)])


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
