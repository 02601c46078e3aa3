"""What stands on one place on one day, by its floor."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np

from leyfold.nouns.limits import Quantity
from leyfold.nouns.plan import Batch
from leyfold.nouns.why import Step
from leyfold.season.party import M2_PER_HA
from leyfold.season.reasons.heads import heads
from leyfold.season.reasons.lot import floor, given, step, told_by, written
from leyfold.season.reasons.scope import Ask, Scope
from leyfold.season.reasons.sums import added, of_day
from leyfold.season.weeks import SOMEBODY
from leyfold.words import say

__all__ = ["KINDS", "PLACES", "QUANTITIES", "eggs_in", "eggs_of", "of_place", "shelters_in_use"]

PLACES: Mapping[str, str] = {
    "heads_per_m2": "heads_per_m2",
    "kg_per_m2": "kg_per_m2",
    "kg_n_per_ha": "kg_n_per_ha_pass",
    "floor": "floor_share",
    "fullest": "heads",
}
"""Figures of a place and the arrays of `PlaceDays` that hold them."""
KINDS: Mapping[str, tuple[str, ...]] = {
    "heads_per_m2": ("shelter", "brooder", "house"),
    "kg_per_m2": ("shelter", "brooder", "house"),
    "kg_n_per_ha": ("shelter",),
    "floor": ("brooder",),
    "fullest": ("shelter", "brooder", "house"),
}
"""The kinds of place they are of; among those of the first the fullest is found where none is named."""
QUANTITIES: Mapping[str, Quantity] = {
    "heads_per_m2": "heads_per_m2",
    "kg_per_m2": "kg_per_m2",
    "kg_n_per_ha": "kg_n_per_ha_pass",
    "floor": "floor_share",
    "fullest": "heads",
    "heads": "heads",
    "eggs_set": "eggs",
}
"""The limits that bind them."""


def of_place(scope: Scope, what: str, place: str, day: date) -> Step:
    """A figure of one place on a day."""

    def whole(name: str) -> Step:
        ask = Ask(name, "day", {"place": place})
        return replace(of_day(scope, ask, day), key=name, words=say(f"why.name_place_{name}", place=place))

    if what == "fullest":
        return whole("heads")
    room = floor(scope.farm, place)
    if what == "heads_per_m2":
        birds = whole("heads")
        return step(what, birds.value / room.value, "head/m2", "heads / floor", birds, room)
    if what == "kg_per_m2":
        kg = whole("kg")
        return step(what, kg.value / room.value, "kg/m2", "kg / floor", kg, room)
    if what == "kg_n_per_ha":
        dung = whole("n")
        moves = scope.farm.shelters[place].moves_per_day
        source = say("why.source_kit", table="shelters", place=place)
        often = written("moves", moves, "1/d", source, "farm file")
        value = dung.value / room.value * (M2_PER_HA / moves)
        return step(what, value, "kg/ha", f"n / floor * {M2_PER_HA:g} / moves", dung, room, often)
    need = _floor_need(scope, place, day)
    return step("floor_share", need.value / room.value, "share", "need / floor", need, room)


def _floor_need(scope: Scope, place: str, day: date) -> Step:
    """Brooder floor that the chicks of each lot need at their age."""
    ask = Ask("heads", "day", {"place": place})
    column = scope.values(ask)[:, scope.season.index(day)]
    parts = []
    for i in np.flatnonzero(column):
        bird = scope.bird(scope.season.lots[i], day)
        allowed = scope.farm.floor_allowance
        figure = next((f for until, f in allowed if bird.age_d < until), allowed[-1][1])
        birds, per_m2 = heads(bird), given("per_m2", figure, days=bird.age_d)
        words = say("why.lot", batch=bird.lot.batch, sexes=say(f"why.sex_{bird.lot.sex}"), place=place)
        value = birds.value / per_m2.value
        own = step("need", value, "m2", "heads / per_m2", birds, per_m2, called="need_floor")
        parts.append(replace(own, words=words))
    return replace(added(Ask("need"), parts, words=say("why.name_need_floor")), key="need", unit="m2")


def eggs_in(scope: Scope, ask: Ask, day: date) -> Step:
    """Eggs in the incubators, or in one of them, at the day's start."""
    parts = [
        eggs_of(scope, batch)
        for batch, eggs in zip(scope.season.plan.batches, scope.season.hatching_eggs, strict=True)
        if eggs[scope.season.index(day)] > 0.0
        and ask.picks.get("place", batch.incubator) == batch.incubator
        and ask.picks.get("batch", batch.id) == batch.id
    ]
    return replace(added(ask, parts), unit="eggs")


def eggs_of(scope: Scope, batch: Batch) -> Step:
    """The eggs of one set."""
    eggs = written("eggs_set", batch.eggs or 0, "eggs", *told_by(batch.id, scope.recorded))
    ask = f"eggs_set/season:{batch.id}"
    return Step("eggs_set", batch.id, eggs.value, "eggs", "eggs_set", (eggs,), ask=ask)


def shelters_in_use(scope: Scope, day: date) -> Step:
    """Shelters with somebody in them, each counting one."""
    at = scope.season.index(day)
    parts = []
    for place in scope.season.places.values():
        birds = place.heads[at]
        if place.kind == "shelter" and birds >= SOMEBODY:
            words = say("why.shelter_with", place=place.place, birds=f"{birds:.0f}")
            there = f"heads:{place.place} --at {day}"
            parts.append(Step("shelter", words, 1.0, "1", ask=there))
    return Step("shelters", say("why.what_shelters"), float(len(parts)), "shelter", None, tuple(parts))
