"""Rows of the model: shelters, hens' houses."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import ceil, floor

import numpy as np

from leyfold.plan.kit import least
from leyfold.plan.model import FINE, MONEY, Choice, Model, pick, used_by, within
from leyfold.plan.problem import WEEK
from leyfold.plan.share import add_joins, joined_places

__all__ = ["add_houses", "add_shelters"]


def add_shelters(m: Model) -> None:
    """As many shelters of each class for each party as its limits ask for, and no more than are free. A party
    that one shelter of any kind holds takes one, whichever is left; two that share have one between them."""
    p, linear = m.problem, m.linear
    a_day = m.work("shelter_h_per_d") * m.price("labour")
    any_: list[tuple[int, int, int, int]] = []
    at: dict[int, list[tuple[int, int, int, int]]] = {k: [] for k in range(len(p.classes))}
    for s, sub in enumerate(p.subs):
        choice = m.cocks[sub.offer][sub.way] if sub.sex == "cockerel" else m.offers[sub.offer]
        cost = -round(MONEY * (sub.until - sub.first) * a_day)
        if sub.one:
            m.one[s] = choice.taken
            any_.append((choice.taken, sub.first, sub.until, 1))
            linear.earns(choice.taken, cost)
            continue
        most, have = m.most[sub.offer], dict[int, int]()
        for k, kind in enumerate(p.classes):
            if not (many := kind.many(sub.first, sub.until)):
                continue
            need = p.need(sub, k)
            holds = most if need * most <= 1.0 else 1.0 / need
            number = linear.number(min(many, ceil(most / holds)))
            m.shelters[s, k] = number
            have[number] = floor(holds * FINE)
            at[k].append((number, sub.first, sub.until, 1))
            linear.earns(number, cost)
        linear.row({**have, choice.trays: -FINE}, least=0, group="shelters")
        linear.row({**dict.fromkeys(have, 1), choice.taken: -1}, least=0, group="shelters")
    add_joins(m)
    for k, kind in enumerate(p.classes):
        own = [*at[k], *joined_places(m, k)]
        for day in sorted({first for _, first, _, _ in own}):
            linear.row(_there(own, day), most=kind.many(day, day + 1), group="shelters")
    every = [*any_, *(x for own in at.values() for x in own), *joined_places(m)]
    there_are = [p.many(day, day + 1) for day in range(p.span.days)]
    fewer = {day for day in range(1, p.span.days) if there_are[day] < there_are[day - 1]}
    for day in sorted(fewer | {first for _, first, _, _ in every}):
        linear.row(_there(every, day), most=there_are[day], group="shelters")


def _there(places: Iterable[tuple[int, int, int, int]], day: int) -> dict[int, int]:
    """Terms of all that is there on a day: of each, a variable, days from and until, how many places."""
    terms: dict[int, int] = {}
    for variable, a, b, many in places:
        if a <= day < b:
            terms[variable] = terms.get(variable, 0) + many
    return terms


def add_houses(m: Model) -> None:
    """A house for the pullets of each set where the farm has one, its limits, and its hours when in use."""
    p = m.problem
    if not p.farm.houses:
        return
    going: dict[str, list[tuple[Choice, int, int]]] = {name: [] for name in p.farm.houses}
    last = p.span.day(p.span.days - 1)
    for o, (offer, curve) in enumerate(zip(p.offers, p.curves, strict=True)):
        if not curve.hens.heads.any():
            continue
        able = [name for name, kit in p.farm.houses.items() if kit.owned(offer.house_on) and kit.owned(last)]
        if not able:
            m.linear.row({m.offers[o].taken: 1}, most=0, group="house")
            continue
        for name, choice in zip(able, pick(m, m.offers[o], m.most[o], len(able)), strict=True):
            m.house[o, name] = choice
            going[name].append((choice, o, p.span.clipped(offer.house_on)))
    for name, own in going.items():
        _house_use(m, name, own)
        _house_room(m, name, own)


def _house_room(m: Model, name: str, own: list[tuple[Choice, int, int]]) -> None:
    p, floor_m2 = m.problem, m.problem.farm.houses[name].floor_m2
    before = p.season.places[name]
    old = [(key, p.flocks[key[0]][1][key[1]]) for key in m.flocks]
    old = [(key, flock) for key, flock in old if flock.house == name]
    for quantity, of, per in (
        ("heads", "heads", 1.0),
        ("heads_per_m2", "heads", floor_m2),
        ("kg_per_m2", "kg", floor_m2),
    ):
        most = least(p.farm, "house", name, quantity)
        if not np.isfinite(most):
            continue
        fixed = before.heads if of == "heads" else before.kg
        days = {comes for _, _, comes in own if comes < p.span.days}
        days |= set(np.flatnonzero(np.diff(fixed, prepend=0.0) > 0).tolist())
        if of == "kg":
            days |= set(range(0, p.span.days, WEEK)) | {p.span.days - 1}
        for day in sorted(days):
            terms = {
                c.trays: ceil(FINE * getattr(p.curves[o].hens, of)[day]) for c, o, at in own if at <= day
            }
            terms |= {m.flocks[key]: ceil(FINE * getattr(flock, of)[day]) for key, flock in old}
            used = next((v for a, b, v in m.house_on[name] if a <= day < b), None)
            within(m, terms, most * per - fixed[day], used, "house")


def _house_use(m: Model, name: str, own: list[tuple[Choice, int, int]]) -> None:
    """The house in use: from some day on by young hens, up to some day by old ones."""
    p = m.problem
    a_day = m.work("house_h_per_d") * m.price("labour")
    before = p.season.places[name].heads
    old = [
        (key, variable, flock)
        for key, variable in m.flocks.items()
        if (flock := p.flocks[key[0]][1][key[1]]).house == name and flock.heads.any()
    ]
    ends = {int(np.flatnonzero(flock.heads)[-1]) + 1 for _, _, flock in old}
    ends |= {int(np.flatnonzero(flock.heads)[0]) for _, _, flock in old}
    edges = sorted({0, p.span.days, *(at for _, _, at in own), *ends})
    on = m.house_on.setdefault(name, [])
    for a, b in pairwise(edges):
        empty = int((before[a:b] <= 0).sum())
        if not empty:
            continue
        used = m.linear.number(1)
        m.linear.earns(used, -round(MONEY * a_day * empty))
        on.append((a, b, used))
        used_by(m, used, [(o, c.taken) for c, o, at in own if at <= a])
        by_flock: dict[int, dict[int, int]] = {}
        for key, variable, flock in old:
            if flock.heads[a:b].any():
                by_flock.setdefault(key[0], {})[variable] = -1
        for there in by_flock.values():
            m.linear.row({used: 1, **there}, least=0)
