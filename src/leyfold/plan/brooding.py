"""Rows of the model: a brooder for each set."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from math import ceil, floor
from typing import NamedTuple

import numpy as np

from leyfold.plan.curves import Brood
from leyfold.plan.kit import carried, least
from leyfold.plan.model import FINE, MONEY, Choice, Model, pick, used_by, within
from leyfold.plan.problem import Problem

__all__ = ["add_brooders", "trays_brooded"]

WATTS = 1000.0


class _Room(NamedTuple):
    """What there is of something in a brooder on a day (index), and what one tray of a set needs of it."""

    group: str
    there: Callable[[int], float]
    need: Callable[[Brood, int], float]


def add_brooders(m: Model) -> None:
    """A brooder for each set: floor by age, warmth, limits in force, ages that may be mixed; its hours and
    lamps on every day in use."""
    p = m.problem
    stays: dict[str, list[tuple[Choice, int, int, int]]] = {name: [] for name in p.farm.brooders}
    for o in range(len(p.offers)):
        able = _able(p, o)
        if not able:
            m.linear.row({m.offers[o].taken: 1}, most=0, group="brooders")
            continue
        for name, choice in zip(able, pick(m, m.offers[o], m.most[o], len(able)), strict=True):
            m.brooder[o, name] = choice
            stays[name].append((choice, o, *_stay(p, o)))
    for name, own in stays.items():
        _brooder_use(m, name, own)
        _brooder_room(m, name, own)
        _brooder_ages(m, own)


def trays_brooded(p: Problem, o: int) -> int:
    """The most trays of an offer that some brooder holds, were no other set in it."""
    most = p.eggs[o] // p.farm.planning.tray
    return max((min((most, *_alone(p, o, _rooms(p, name)).values())) for name in _able(p, o)), default=0)


def _stay(p: Problem, o: int) -> tuple[int, int]:
    """First day (index) of an offer in its brooder, and the day after the last."""
    return p.span.clipped(p.offers[o].hatched_on), p.span.clipped(p.offers[o].turnout_on)


def _able(p: Problem, o: int) -> list[str]:
    """Brooders that are there for an offer from its hatch to its last day in one."""
    first, until = _stay(p, o)
    days = [p.span.day(d) for d in (first, until - 1)]
    return [name for name, kit in p.farm.brooders.items() if all(map(kit.owned, days))]


def _alone(p: Problem, o: int, rooms: Iterable[_Room]) -> dict[str, int]:
    """By group of rows, the most trays of an offer that a brooder holds."""
    found: dict[str, int] = {}
    days = _days(p, [_stay(p, o)])
    for room in rooms:
        for day in days:
            need = ceil(FINE * room.need(p.curves[o].brood, day))
            if need > 0:
                fits = max(floor(FINE * room.there(day)), 0) // need
                found[room.group] = min(fits, found.get(room.group, fits))
    return found


def _days(p: Problem, stays: list[tuple[int, int]]) -> list[int]:
    """Every day on which some need of a batch rises: in between needs only fall, but for weight."""
    jumps = {0, *(until for until, _ in p.farm.floor_allowance[:-1])}
    return sorted({a + j for a, b in stays for j in jumps if a + j < b} | {b - 1 for _, b in stays})


def _rooms(p: Problem, name: str) -> Iterator[_Room]:
    """All that a brooder has only so much of."""
    kit, before = p.farm.brooders[name], p.season.places[name]
    floor_m2 = kit.floor_m2 * least(p.farm, "brooder", name, "floor_share")
    if np.isfinite(floor_m2):
        yield _Room(
            "brooders",
            lambda day: floor_m2 - before.floor_share[day] * kit.floor_m2,
            lambda brood, day: float(brood.floor_m2[day]),
        )
    heads = min(
        least(p.farm, "brooder", name, "heads"),
        least(p.farm, "brooder", name, "heads_per_m2") * kit.floor_m2,
    )
    if np.isfinite(heads):
        yield _Room(
            "brooders", lambda day: heads - before.heads[day], lambda brood, day: float(brood.heads[day])
        )
    kg = least(p.farm, "brooder", name, "kg_per_m2") * kit.floor_m2
    if np.isfinite(kg):
        yield _Room("brooders", lambda day: kg - before.kg[day], lambda brood, day: float(brood.kg[day]))
    if kit.lamps:
        # Nobody knows how much heat older birds there still want: all of it.
        yield _Room(
            "lamps",
            lambda day: carried(p.farm, kit, p.span.day(day)) - before.heads[day],
            lambda brood, day: float(brood.warmed[day]),
        )


def _brooder_room(m: Model, name: str, own: list[tuple[Choice, int, int, int]]) -> None:
    """What those who are in it together need; and what one set alone may not pass, which lets a solver see
    that no set is half in one brooder and half in another."""
    p, rooms, on = m.problem, list(_rooms(m.problem, name)), m.brooder_on[name]
    for day in _days(p, [(a, b) for _, _, a, b in own]):
        there = [(c, p.curves[o].brood) for c, o, a, b in own if a <= day < b]
        used = next((v for a, b, v in on if a <= day < b), None)
        for room in rooms:
            need = {c.trays: ceil(FINE * room.need(brood, day)) for c, brood in there}
            within(m, need, room.there(day), used, room.group)
    for choice, o, _, _ in own:
        for group, most in _alone(p, o, rooms).items():
            if most < m.most[o]:
                m.linear.row({choice.trays: 1, choice.taken: -most}, most=0, group=group)


def _brooder_ages(m: Model, own: list[tuple[Choice, int, int, int]]) -> None:
    apart = m.problem.farm.planning.mixed_ages_d
    if apart is None:
        return
    for i, (one, _, a, b) in enumerate(own):
        for other, _, x, y in own[i + 1 :]:
            if abs(x - a) > apart and x < b and a < y:
                m.linear.row({one.taken: 1, other.taken: 1}, most=1, group="brooders")


def _brooder_use(m: Model, name: str, own: list[tuple[Choice, int, int, int]]) -> None:
    p = m.problem
    lamp_w = sum(lamp.watts for lamp in p.farm.brooders[name].lamps)
    a_day = m.work("brooder_h_per_d") * m.price("labour")
    a_day += lamp_w / WATTS * m.work("lamp_h_per_d") * m.price("electricity")
    before = p.season.places[name].heads
    edges = sorted({day for _, _, a, b in own for day in (a, b)})
    on = m.brooder_on.setdefault(name, [])
    for a, b in pairwise(edges):
        there = [(o, c.taken) for c, o, x, y in own if x <= a < y]
        empty = int((before[a:b] <= 0).sum())
        if there and empty:
            used = m.linear.number(1)
            m.linear.earns(used, -round(MONEY * a_day * empty))
            used_by(m, used, there)
            on.append((a, b, used))
