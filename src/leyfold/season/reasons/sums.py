"""Sums over lots and days: the few largest terms, the rest as one, and the largest of all opened."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from leyfold.nouns.plan import Lot
from leyfold.nouns.why import Step
from leyfold.season.reasons.food import NUTRIENTS, dropped, drunk, fed, live_kg
from leyfold.season.reasons.heads import dead, heads, killed, killed_kg, takes_of
from leyfold.season.reasons.laying import laid, laid_kg
from leyfold.season.reasons.lot import Bird, given, step
from leyfold.season.reasons.scope import Ask, Scope
from leyfold.season.reasons.weight import mean_weight, weight
from leyfold.words import forms, say

__all__ = ["FLOWS", "UNITS", "added", "of_day", "of_days", "of_lot", "weight_of_day"]

FEW = 6
"""Terms of a sum that are shown before the rest are taken together."""

UNITS: Mapping[str, str] = {
    "heads": "head",
    "kg": "kg",
    "dead": "head",
    "killed": "head",
    "killed_kg": "kg",
    "carcass": "kg",
    "feed": "kg",
    "water": "l",
    "n": "kg",
    "p": "kg",
    "k": "kg",
    "eggs": "eggs",
    "egg_kg": "kg",
}
FLOWS = tuple(what for what in UNITS if what not in ("heads", "kg"))
"""What can be summed over days."""

_GONE = ("killed", "killed_kg", "carcass")


def of_lot(what: str, bird: Bird) -> Step:
    """One figure of one lot on one day, by its name in UNITS."""
    if what in NUTRIENTS:
        return dropped(bird, NUTRIENTS[what])
    if what in _GONE:
        return _gone(what, bird)
    plain: Mapping[str, Callable[[Bird], Step]] = {
        "heads": heads,
        "kg": live_kg,
        "dead": dead,
        "feed": fed,
        "water": drunk,
        "eggs": laid,
        "egg_kg": laid_kg,
    }
    return plain[what](bird)


def _gone(what: str, bird: Bird) -> Step:
    """Birds killed or put out on the day, their weight, their carcasses; zero where no draft falls on it."""
    take = next((take for take in takes_of(bird) if take.on == bird.day == bird.stay.until), None)
    if take is None:
        return step(what, 0.0, UNITS[what], "0")
    if what == "killed":
        return killed(bird, take)
    kg = killed_kg(bird, take, mean_weight(bird))
    if what == "killed_kg":
        return kg
    dressing = given("dressing", bird.row.line.dressing_share)
    return step("carcass", kg.value * dressing.value, "kg", "killed_kg * dressing", kg, dressing)


def of_day(scope: Scope, ask: Ask, day: date) -> Step:
    """The figure of all birds picked on one day."""
    at = scope.season.index(day)
    there = [scope.season.lots[i] for i in np.flatnonzero(scope.values(ask)[:, at])]
    if not there and ask.what in _GONE:
        return Step(ask.what, say("why.no_draft"), 0.0, UNITS[ask.what])
    if not there:
        # One lot can still say why it is nothing: a pullet's, since cockerels never lay.
        alive = [scope.season.lots[i] for i in scope.lots(ask.picks) if scope.season.heads[i, at] > 0.0]
        there = sorted(alive, key=lambda lot: lot.sex == "cockerel")[:1]
    parts = [_named(of_lot(ask.what, scope.bird(lot, day)), ask, lot, day) for lot in there]
    if len(parts) == 1:
        return parts[0]
    return added(ask, parts)


def weight_of_day(scope: Scope, ask: Ask, day: date) -> Step:
    """Mean weight of the birds picked."""
    at = scope.season.index(day)
    there = [scope.season.lots[i] for i in scope.lots(ask.picks) if scope.season.heads[i, at] > 0.0]
    if len(there) == 1:
        return weight(scope.bird(there[0], day))
    if not there:
        return Step("weight", say("why.nobody"), 0.0, "kg")
    kg, birds = (of_day(scope, replace(ask, what=what), day) for what in ("kg", "heads"))
    kg, birds = replace(kg, key="kg"), replace(birds, key="heads")
    return step("weight", kg.value / birds.value, "kg", "kg / heads", kg, birds, called="weight_of_all")


def of_days(scope: Scope, ask: Ask, first: date, last: date) -> Step:
    """The figure of all birds picked, summed over days; of the parts only the largest is opened."""
    values = scope.values(ask)
    days = slice(scope.season.index(first), scope.season.index(last) + 1)
    by_lot = values[:, days].sum(axis=1)
    whose = _split(scope, np.flatnonzero(by_lot).tolist()) if ask.span == "season" else []
    if len(whose) > 1:
        narrowed = [ask.of(ask.span, **picks) for picks, _ in whose]
        parts = [
            Step(ask.what, _who(picks), math.fsum(by_lot[lots]), UNITS[ask.what], ask=str(part))
            for part, (picks, lots) in zip(narrowed, whose, strict=True)
        ]
        return added(ask, parts, lambda i: of_days(scope, narrowed[i], first, last))
    by_day = values[:, days].sum(axis=0)
    busy = [int(i) for i in np.flatnonzero(by_day)]
    dates = [scope.season.day(days.start + i) for i in busy]
    one, language = ask.of("day"), scope.farm.holding.language
    parts = [
        Step(ask.what, forms.day(day, language), float(by_day[i]), UNITS[ask.what], ask=f"{one} --at {day}")
        for i, day in zip(busy, dates, strict=True)
    ]
    return added(ask, parts, lambda i: of_day(scope, one, dates[i]), by_size=len(parts) > FEW + 1)


def added(
    ask: Ask,
    parts: Sequence[Step],
    opened: Callable[[int], Step] | None = None,
    *,
    by_size: bool = True,
    words: str = "",
) -> Step:
    """The sum of `parts`, exact; beyond a few the small ones are one line. `opened` gives the part of an
    index with its own sum, asked for the largest."""
    unit = UNITS.get(ask.what, parts[0].unit if parts else "")
    total = math.fsum(part.value for part in parts)
    if not parts:
        return Step(ask.what, say("why.nobody"), 0.0, unit)
    order = sorted(range(len(parts)), key=lambda i: -parts[i].value)
    shown = list(parts)
    if opened is not None:
        most = order[0]
        inside = opened(most)
        shown[most] = replace(inside, words=parts[most].words, ask=parts[most].ask)
    lines = [shown[i] for i in (order if by_size else range(len(parts)))]
    if len(lines) > FEW + 1:
        rest = lines[FEW:]
        lines = [
            *lines[:FEW],
            Step("rest", say("why.rest", count=len(rest)), math.fsum(x.value for x in rest), unit),
        ]
    return Step(ask.what, words or say(f"why.what_{ask.what}"), total, unit, None, tuple(lines))


def _split(scope: Scope, lots: Sequence[int]) -> list[tuple[dict[str, str], list[int]]]:
    """The lots by batch, or those of one batch by sex and place: what picks each, and which they are."""
    single = len({scope.season.lots[i].batch for i in lots}) == 1
    groups: dict[str, tuple[dict[str, str], list[int]]] = {}
    for i in lots:
        picks = _picks(scope.season.lots[i]) if single else {"batch": scope.season.lots[i].batch}
        groups.setdefault(".".join(picks.values()), (picks, []))[1].append(i)
    return list(groups.values())


def _picks(lot: Lot) -> dict[str, str]:
    return {"batch": lot.batch, "sex": lot.sex, "place": lot.place}


def _who(picks: Mapping[str, str]) -> str:
    if "place" not in picks:
        return picks["batch"]
    return say("why.lot", batch=picks["batch"], sexes=say(f"why.sex_{picks['sex']}"), place=picks["place"])


def _named(one: Step, ask: Ask, lot: Lot, day: date) -> Step:
    """A lot's own sum under the lot's name, and how to ask for it."""
    picks = _picks(lot)
    return replace(one, words=_who(picks), ask=f"{ask.of('day', **picks)} --at {day}")
