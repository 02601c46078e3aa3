"""Limits in force, place by place."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from leyfold.nouns.farm import Farm, Shelter
from leyfold.nouns.limits import Limit
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book, Stand
from leyfold.plan.checker.days import Floats, runs
from leyfold.plan.checker.eggs import machine

__all__ = ["binding", "limits"]

M2_A_HA = 10_000.0


def limits(book: Book) -> Iterator[Finding]:
    """Every limit that binds in a place, by head, weight, nitrogen, floor and eggs; the floor of a brooder
    whether a limit names it or not."""
    for name, kit in book.farm.incubators.items():
        # What a machine has places for is said where eggs are; here, where less than that is allowed.
        if any(x.quantity == "eggs" and x.at_most < kit.eggs for x in binding(book.farm, "incubator", name)):
            yield from _passed(book, "incubator", name, {"eggs": machine(book, name)[0]})
    for kind, kits in book.kinds:
        for name, place in kits.items():
            if name not in book.at:
                continue
            heads, kg = book.heads(name), book.sum(name, lambda s: s.heads * s.flock.weight_kg)
            values = {
                "heads": heads,
                "heads_per_m2": heads / place.floor_m2,
                "kg_per_m2": kg / place.floor_m2,
            }
            if isinstance(place, Shelter):
                n_kg = book.sum(name, lambda s: s.heads * s.flock.n_kg)
                values["kg_n_per_ha_pass"] = n_kg / place.floor_m2 * M2_A_HA / place.moves_per_day
            if kind == "brooder":
                values["floor_share"] = (
                    book.sum(name, lambda s: s.heads * _floor_m2(book.farm, s)) / place.floor_m2
                )
            yield from _passed(book, kind, name, values)
            if kind == "brooder" and not any(
                x.quantity == "floor_share" for x in binding(book.farm, kind, name)
            ):
                yield from runs(book.days, "floor", name, values["floor_share"] * 100, 100.0)


def _passed(book: Book, kind: str, place: str, values: dict[str, Floats]) -> Iterator[Finding]:
    for limit in binding(book.farm, kind, place):
        if limit.quantity in values:
            per = 100.0 if limit.quantity == "floor_share" else 1.0
            what = {"floor_share": "floor", "eggs": "incubator"}.get(limit.quantity, limit.quantity)
            yield from runs(
                book.days, what, place, values[limit.quantity] * per, limit.at_most * per, limit=limit.id
            )


def binding(farm: Farm, kind: str, place: str) -> list[Limit]:
    """A limit for one place stands instead of those for its kind."""
    own = [x for x in farm.limits if x.scope == place]
    return own + [x for x in farm.limits if x.scope == kind and all(x.quantity != y.quantity for y in own)]


def _floor_m2(farm: Farm, stand: Stand) -> Floats:
    """[day] floor that one bird of a stand needs at its age."""
    ends = [until for until, _ in farm.floor_allowance]
    need = np.array([1.0 / per_m2.value for _, per_m2 in farm.floor_allowance])
    step = np.searchsorted(ends, stand.flock.age_d, side="right")
    return np.asarray(need[np.minimum(step, len(ends) - 1)])
