"""What happened, or may happen, said in a few words: "dead 30 in s2", "housing from 2027-06-01".

A sentence is a few key words in any order, with numbers, names and days among them. `in`, `of`, `is`, `at`
and the like may be said or left out; a day may have `on`, `from` or `until` before it, and `until` is the day
on which it is over.
"""

from __future__ import annotations

import re
from collections.abc import Container, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, get_args

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.words import say

__all__ = ["KINDS", "Kind", "Supposed", "suppose"]

Kind = Literal[
    "dead", "missing", "killed", "sold", "hatch", "fertile", "cockerels", "lost", "loose", "housing",
    "no_killing", "no_grass", "drought", "no_feed", "wrong_feed", "no_water", "withdrawal", "sick", "signs",
    "power_off", "cancelled", "away", "phone_lost",
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)

FILLERS = frozenset(
    {"in", "of", "at", "is", "are", "was", "were", "the", "a", "and", "for"}
    | {"batch", "birds", "chicks", "eggs", "hour", "hours", "today", "tonight"}
)
DAY = re.compile(r"\d{4}-\d{2}-\d{2}$")
NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)(%|h|°?[Cc])?$")
UNITS = frozenset({"%", "h"})
DEGREES = frozenset({"c", "°c"})

SPOKEN: Mapping[Kind, tuple[str, ...]] = {
    "dead": ("dead", "found dead", "fox", "mink", "fox dead", "mink dead"),
    "missing": ("missing",),
    "killed": ("killed",),
    "sold": ("sold",),
    "hatch": ("hatch", "hatched"),
    "fertile": ("fertile",),
    "cockerels": ("cockerels",),
    "lost": ("lost", "blown over", "broken"),
    "loose": ("loose",),
    "housing": ("housing", "housing order"),
    "no_killing": ("no killing",),
    "no_grass": ("no grass", "grass", "snow"),
    "drought": ("drought",),
    "no_feed": ("no feed", "no lorry"),
    "wrong_feed": ("wrong feed",),
    "no_water": ("no water", "water tainted", "water frozen", "drinker blocked"),
    "withdrawal": ("withdrawal",),
    "sick": ("sick",),
    "signs": ("signs", "notifiable signs"),
    "power_off": ("power off", "no power"),
    "cancelled": ("order cancelled", "cancelled"),
    "away": ("away",),
    "phone_lost": ("phone lost",),
}
PHRASES: Mapping[frozenset[str], Kind] = {
    frozenset(phrase.split()): kind for kind, phrases in SPOKEN.items() for phrase in phrases
}
WORDS = frozenset().union(*PHRASES)

PLACES = ("dead", "missing", "loose", "wrong_feed", "no_water", "sick", "signs")
"""Kinds that are of places, and maybe of a batch."""
BATCHES = ("killed", "sold", "hatch", "fertile", "cockerels", "withdrawal")
NUMBERED = ("dead", "missing", "killed", "sold", "hatch", "fertile", "cockerels", "power_off")
UNTIL = ("drought", "no_feed", "withdrawal", "away", "no_grass")
"""Kinds that say nothing without the day on which they are over."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """One thing said. `first` is its day, `until` the day on which it is over; `names` those it is of, as
    the farm knows them."""

    kind: Kind
    text: str
    first: date
    until: date | None = None
    number: float | None = None
    places: tuple[str, ...] = ()
    batch: str | None = None
    kit: str | None = None
    order: str | None = None
    person: str | None = None
    degrees_C: float | None = None

    def holds(self, day: date) -> bool:
        return self.first <= day and (self.until is None or day < self.until)


def suppose(farm: Farm, plan: Plan, text: str, today: date) -> Supposed:
    """What `text` says, on `today` where it names no day. BadInput, with what can be said, where it does not
    say anything known, lacks a number, a name or a day, or names what the farm has not."""
    said = _Said(text)
    kind = PHRASES.get(frozenset(said.keys))
    if kind is None:
        raise _wrong(text, "not_said", known="; ".join(said[0] for said in SPOKEN.values()))
    first, until = said.days.get("from") or said.days.get("on"), said.days.get("until")
    if kind == "no_grass" and until is None:
        # "grass from D" and "no grass until D" are the same day.
        first, until = None, first
    if kind == "no_killing" and first is not None and until is None:
        until = first + timedelta(days=1)
    if kind in UNTIL and until is None:
        raise _wrong(text, "no_until")
    first = first or today
    if until is not None and until <= first:
        raise _wrong(text, "over_before", first=first, until=until)
    if kind in NUMBERED and not said.numbers:
        raise _wrong(text, "no_number")
    found = Supposed(
        kind,
        text,
        first,
        until,
        said.numbers[0] if said.numbers else None,
        degrees_C=said.degrees_C,
    )
    return _named(farm, plan, found, said.names)


class _Said:
    """The words of a sentence, sorted."""

    def __init__(self, text: str) -> None:
        self.keys: list[str] = []
        self.names: list[str] = []
        self.numbers: list[float] = []
        self.days: dict[str, date] = {}
        self.degrees_C: float | None = None
        before = "on"
        for word in text.replace(",", " ").replace("+", " ").split():
            low = word.lower()
            number = NUMBER.match(low)
            if low in ("from", "on", "until"):
                before = low
                continue
            if DAY.match(word):
                try:
                    self.days[before] = date.fromisoformat(word)
                except ValueError:
                    raise _wrong(text, "no_day", day=word) from None
                before = "on"
            elif number is not None and number.group(2) in DEGREES:
                self.degrees_C = float(number.group(1))
            elif low in DEGREES and self.numbers:
                self.degrees_C = self.numbers.pop()
            elif number is not None:
                self.numbers.append(float(number.group(1)))
            elif low in WORDS:
                self.keys.append(low)
            elif low not in FILLERS and low not in UNITS:
                self.names.append(word)


def _named(farm: Farm, plan: Plan, it: Supposed, names: list[str]) -> Supposed:
    """`it` with the things it names, each known to the farm."""
    places = {**farm.brooders, **farm.shelters, **farm.houses, **farm.pens}
    batches = {batch.id for batch in plan.batches}
    things: Mapping[str, tuple[str, Container[str]]] = {
        "lost": ("kit", {**places, **farm.incubators, **farm.tanks}),
        "power_off": ("kit", {**farm.incubators, **farm.brooders}),
        "no_feed": ("kit", farm.feeds),
        "no_water": ("kit", farm.tanks),
        "cancelled": ("order", [order.id for order in farm.orders]),
        "away": ("person", farm.people),
    }
    found: dict[str, object] = {}
    for name in names:
        if it.kind in things and name in things[it.kind][1]:
            found[things[it.kind][0]] = name
        elif name in places:
            found["places"] = (*found.get("places", ()), name)  # type: ignore[misc]
        elif name in batches:
            found["batch"] = name
        else:
            raise _wrong(it.text, "unknown", name=name, known=_known(farm, it, places, batches))
    made = Supposed(it.kind, it.text, it.first, it.until, it.number, degrees_C=it.degrees_C, **found)  # type: ignore[arg-type]
    lacks = (
        (it.kind in PLACES and not made.places and made.batch is None and made.kit is None)
        or (it.kind in BATCHES and made.batch is None and not made.places)
        or (it.kind in ("hatch", "fertile", "cockerels") and made.batch is None)
        or (it.kind == "lost" and made.kit is None)
        or (it.kind == "cancelled" and made.order is None)
        or (it.kind == "away" and made.person is None)
    )
    if lacks:
        raise _wrong(it.text, "no_name", known=_known(farm, it, places, batches))
    return made


def _known(farm: Farm, it: Supposed, places: Mapping[str, object], batches: set[str]) -> str:
    if it.kind == "cancelled":
        return ", ".join(order.id for order in farm.orders) or "-"
    if it.kind == "away":
        return ", ".join(farm.people) or "-"
    if it.kind == "power_off":
        return ", ".join((*farm.incubators, *farm.brooders)) or "-"
    return ", ".join((*places, *sorted(batches)))


def _wrong(text: str, key: str, **values: object) -> BadInput:
    fault = Fault(
        "leyfold replan",
        f'--if "{text}"',
        say(f"replan.{key}", **values),
        say(f"replan.{key}_mend", **values),
    )
    return BadInput(fault)
