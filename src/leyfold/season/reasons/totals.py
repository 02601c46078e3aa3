"""Figures of the whole season that are no sum over its days."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from leyfold.nouns.plan import Batch
from leyfold.nouns.why import Step
from leyfold.season.reasons.heads import chicks, dead, heads
from leyfold.season.reasons.lot import step
from leyfold.season.reasons.places import eggs_of
from leyfold.season.reasons.scope import Ask, Scope
from leyfold.season.reasons.sums import added, of_day
from leyfold.season.sums import goes_to_house
from leyfold.words import say

__all__ = ["TOTALS", "total"]


def total(scope: Scope, ask: Ask) -> Step:
    """A figure named in TOTALS."""
    return TOTALS[ask.what](scope, ask)


def _batches(scope: Scope, ask: Ask, *origins: str) -> Sequence[Batch]:
    wanted = ask.picks.get("batch")
    return [b for b in scope.season.plan.batches if b.origin in origins and wanted in (None, b.id)]


def _birds_on_arrival(scope: Scope, ask: Ask, *origins: str) -> Step:
    parts = []
    for batch in _batches(scope, ask, *origins):
        day = max(batch.arrives_on, scope.first)
        if day > scope.last:
            continue
        if batch.origin == "set" and day == batch.arrives_on:
            birds = chicks(scope.bird_of(batch))
        else:
            birds = _there(scope, batch, day)
        parts.append(replace(birds, words=batch.id, ask=f"{ask.what}:{batch.id}"))
    return parts[0] if len(parts) == 1 else replace(added(ask, parts), unit="head")


def _there(scope: Scope, batch: Batch, day: date) -> Step:
    """Birds of a batch on a day, those that leave on that very day among them."""
    there, gone = (of_day(scope, Ask(what, "day", {"batch": batch.id}), day) for what in ("heads", "killed"))
    if gone.value == 0.0:
        return there
    both = replace(there, key="heads"), replace(gone, key="killed")
    return Step("heads", batch.id, there.value + gone.value, "head", "heads + killed", both)


def _eggs_set(scope: Scope, ask: Ask) -> Step:
    parts = []
    for batch in _batches(scope, ask, "set"):
        if ask.picks.get("place", batch.incubator) != batch.incubator:
            continue
        parts.append(eggs_of(scope, batch))
    return parts[0] if len(parts) == 1 else replace(added(ask, parts), unit="eggs")


def _pullets(scope: Scope, ask: Ask) -> Step:
    """Pullets alive on the day they go to the house."""
    parts = []
    for batch in filter(goes_to_house, _batches(scope, ask, "set", "bought", "present")):
        if batch.house_on is None or not scope.first <= batch.house_on <= scope.last:
            continue
        birds = of_day(scope, Ask("heads", "day", {"batch": batch.id, "sex": "pullet"}), batch.house_on)
        parts.append(replace(birds, words=batch.id, ask=f"{ask.what}:{batch.id}"))
    return parts[0] if len(parts) == 1 else replace(added(ask, parts), unit="head")


def _alive_at_end(scope: Scope, ask: Ask) -> Step:
    """Birds of the last day less those that die on it."""
    parts = []
    for i in scope.lots(ask.picks):
        lot = scope.season.lots[i]
        if scope.season.heads[i, -1] > 0.0:
            bird = scope.bird(lot, scope.last)
            there, lost = heads(bird), dead(bird)
            one = step("alive_at_end", there.value - lost.value, "head", "heads - dead", there, lost)
            words = say("why.lot", batch=lot.batch, sexes=say(f"why.sex_{lot.sex}"), place=lot.place)
            parts.append(replace(one, words=words, ask=f"alive_at_end:{lot.batch}.{lot.sex}.{lot.place}"))
    return parts[0] if len(parts) == 1 else replace(added(ask, parts), unit="head")


TOTALS: Mapping[str, Callable[[Scope, Ask], Step]] = {
    "hatched": lambda scope, ask: _birds_on_arrival(scope, ask, "set"),
    "bought": lambda scope, ask: _birds_on_arrival(scope, ask, "bought", "present"),
    "pullets": _pullets,
    "alive_at_end": _alive_at_end,
    "eggs_set": _eggs_set,
}
