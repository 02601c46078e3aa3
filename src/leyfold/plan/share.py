"""Sorted birds of two batches in one shelter: who may, and the rows of the model for it.

Joins are offered between few sets only, since there is one for every two parties and class of shelters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, islice, pairwise, product
from math import ceil

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nouns.stock import Line, Sex
from leyfold.plan.kit import shelters_by
from leyfold.plan.model import FINE, MONEY, Choice, Model
from leyfold.plan.problem import Join, Party, Problem, Sub

__all__ = ["add_joins", "cut", "join_needs", "joined_places", "sharing", "taken_joins"]

Floats = NDArray[np.float64]
LEAST_D = 7
"""Birds that meet fight for some days: nobody is put together for less than a week (a guess)."""


def _any(one: Party, other: Party) -> bool:  # noqa: ARG001 - whichever they are
    return True


def sharing(
    p: Problem, between: Callable[[Party, Party], bool] = _any, *, most: int | None = None
) -> Problem:
    """The same problem in which two sorted parties may share shelters, of those `between` which they may;
    without any such where there are more than `most`."""
    joins = tuple(islice(_joins(p, between), None if most is None else most + 1))
    return replace(p, joins=joins if most is None or len(joins) <= most else ())


def _joins(p: Problem, between: Callable[[Party, Party], bool]) -> Iterator[Join]:
    apart = p.farm.planning.mixed_ages_d
    apart_d = figure("space.mixed_ages_d").value if apart is None else apart
    ends: dict[int, dict[Party, int]] = {}
    for sub in p.subs:
        if sub.sex is not None:
            party = sub.offer, sub.sex, sub.way
            own = ends.setdefault(sub.offer, {})
            own[party] = max(own.get(party, 0), sub.until)
    for o, x in combinations(ends, 2):
        a, b = p.offers[o], p.offers[x]
        if (a.line, a.set_on) == (b.line, b.set_on) or abs((a.hatched_on - b.hatched_on).days) > apart_d:
            continue
        first = max(p.span.clipped(a.sort_on), p.span.clipped(b.sort_on))
        for (one, ends_one), (other, ends_other) in product(ends[o].items(), ends[x].items()):
            until = min(ends_one, ends_other)
            if one[1] != other[1] or until - first < LEAST_D or not between(one, other):
                continue
            if not _alike(p, one, other, first, until):
                continue
            for k, kind in enumerate(p.classes):
                join = Join((one, other), k, first, until)
                if kind.many(first, until) and all(s + t <= 1.0 for s, t in join_needs(p, join)):
                    yield join


def _load(p: Problem, party: Party, first: int, until: int) -> Floats:
    """[heads kg kg_n, day] of one tray."""
    return p.load(Sub(*party, first, until))


def _alike(p: Problem, one: Party, other: Party, first: int, until: int) -> bool:
    """Whether the mean weights are near enough on every day, and nobody too young for lime shares a trough
    with birds that eat it."""
    loads = [_load(p, party, first, until) for party in (one, other)]
    heads = np.array([load[0] for load in loads])
    if not (heads > 0).all():
        return False
    kg = np.array([load[1] for load in loads]) / heads
    if (kg.max(axis=0) > kg.min(axis=0) * (1.0 + figure("space.mixed_weight_share").value)).any():
        return False
    limy, young = zip(*(_at_trough(p, party, first, until) for party in (one, other)), strict=True)
    return not ((limy[0] & young[1]) | (limy[1] & young[0])).any()


def _at_trough(p: Problem, party: Party, first: int, until: int) -> tuple[NDArray[np.bool_], ...]:
    """[day] whether the party eats more lime than growing birds bear, and whether it is too young for it."""
    offer = p.offers[party[0]]
    line = p.farm.lines[offer.line]
    age = np.arange(first, until) - p.span.index(offer.hatched_on)
    phases = sorted(
        (x for x in line.feeding if x.sex in (None, party[1])), key=lambda x: (x.from_d, x.sex or "")
    )
    at = np.searchsorted([phase.from_d for phase in phases], age, side="right") - 1
    limy = np.array([_limy(p, phase.feed) for phase in phases])[np.maximum(at, 0)]
    return limy, age < _ready_d(p, line, party[1])


def _ready_d(p: Problem, line: Line, sex: Sex) -> float:
    """The age from which a line may eat lime: when its own feed has it, or a while before point of lay."""
    own = [x.from_d for x in line.feeding if x.sex in (None, sex) and _limy(p, x.feed)]
    return min([line.point_of_lay_d.value - figure("feeding.lime_lead_d").value, *own])


def _limy(p: Problem, feed: str) -> bool:
    calcium = p.farm.feeds[feed].calcium
    return calcium is not None and calcium.value > figure("feeding.calcium_grower_most").value


def join_needs(p: Problem, join: Join) -> list[tuple[float, float]]:
    """What part of a shelter one tray of each party needs, by limit and day; pairs that another has more of
    both of are left out. On a night cold for either, all count as cold."""
    kind, a, b = p.classes[join.kind], join.first, join.until
    group = p.farm.planning.cold_group or np.inf
    cold = np.zeros(b - a, dtype=bool)
    for party in join.parties if p.farm.planning.cold_group else ():
        cold |= p.cold(Sub(*party, a, b))
    x, y = (shelters_by(kind, _load(p, party, a, b), group, cold).ravel() for party in join.parties)
    found: list[tuple[float, float]] = []
    for i in np.lexsort((-y, -x)):
        if not found or y[i] > found[-1][1]:
            found.append((float(x[i]), float(y[i])))
    return found


def add_joins(m: Model) -> None:
    """Two parties that one shelter holds whole, in one: its work is done once. A party is in one join at a
    time; one that is counted by class of shelters has but one then, of the class of the join."""
    p, linear = m.problem, m.linear
    a_day = m.work("shelter_h_per_d") * m.price("labour")
    counted = _counted(m)
    for join in p.joins:
        on = linear.number(1)
        m.joins.append(on)
        linear.earns(on, round(MONEY * (join.until - join.first) * a_day))
        one, other = (_choice(m, party) for party in join.parties)
        most = [m.most[party[0]] for party in join.parties]
        for x, y in join_needs(p, join):
            need = ceil(FINE * x), ceil(FINE * y)
            more = max(need[0] * most[0] + need[1] * most[1] - FINE, 0)
            linear.row({one.trays: need[0], other.trays: need[1], on: more}, most=FINE + more)
        for s in counted[join]:
            numbers = [m.shelters[s, k] for k in range(len(p.classes)) if (s, k) in m.shelters]
            more = max(sum(linear.high[v] for v in numbers) - 1, 0)
            linear.row({**dict.fromkeys(numbers, 1), on: more}, most=1 + more)
            mine = m.shelters.get((s, join.kind))
            linear.row({on: -1} if mine is None else {mine: 1, on: -1}, least=0)
    by_party: dict[Party, list[int]] = {}
    for i, join in enumerate(p.joins):
        for party in join.parties:
            by_party.setdefault(party, []).append(i)
    for party, own in by_party.items():
        for day in sorted({p.joins[i].first for i in own}):
            there = [m.joins[i] for i in own if p.joins[i].first <= day < p.joins[i].until]
            linear.row({**dict.fromkeys(there, 1), _choice(m, party).taken: -1}, most=0)


def _choice(m: Model, party: Party) -> Choice:
    offer, sex, way = party
    return m.cocks[offer][way] if sex == "cockerel" else m.offers[offer]


def _counted(m: Model) -> dict[Join, list[int]]:
    """By join: stretches of days of its parties that are counted by class of shelters."""
    subs, of = m.problem.subs, dict[object, list[int]]()
    for s in dict.fromkeys(s for s, _ in m.shelters):
        of.setdefault(subs[s].party, []).append(s)
    return {
        join: [
            s
            for party in join.parties
            for s in of.get(party, ())
            if subs[s].first < join.until and join.first < subs[s].until
        ]
        for join in m.problem.joins
    }


def joined_places(m: Model, kind: int | None = None) -> list[tuple[int, int, int, int]]:
    """(join, first day, until day, how many more places) to be counted besides each party's own: of one
    class, in which those of any class are then; of all."""
    if kind is None:
        return [(on, x.first, x.until, -1) for on, x in zip(m.joins, m.problem.joins, strict=True)]
    found, counted = [], _counted(m)
    for on, join in zip(m.joins, m.problem.joins, strict=True):
        if join.kind == kind:
            found.append((on, join.first, join.until, 1))
            for s in counted[join]:
                sub = m.problem.subs[s]
                found.append((on, max(join.first, sub.first), min(join.until, sub.until), -1))
    return found


def taken_joins(m: Model, values: Sequence[int]) -> list[Join]:
    """The joins that an answer takes up."""
    return [join for on, join in zip(m.joins, m.problem.joins, strict=True) if values[on]]


def cut(
    p: Problem, wanted: Mapping[int, Mapping[int, int]], joins: Sequence[Join]
) -> tuple[Problem, dict[int, Mapping[int, int]]]:
    """The parties of an answer, and the shelters of each class `wanted` by each, cut on the days on which
    they come together and part: while they share, each wants the one shelter."""
    pieces: list[Sub] = []
    found: dict[int, Mapping[int, int]] = {}
    for s, counts in wanted.items():
        sub = p.subs[s]
        own = [join for join in joins if sub.party in join.parties]
        edges = {day for join in own for day in (join.first, join.until) if sub.first < day < sub.until}
        if not edges:
            inside = next((j for j in own if j.first <= sub.first < j.until), None)
            found[s] = counts if inside is None else {inside.kind: 1}
            continue
        for a, b in pairwise(sorted({sub.first, *edges, sub.until})):
            inside = next((j for j in own if j.first <= a < j.until), None)
            found[len(p.subs) + len(pieces)] = counts if inside is None else {inside.kind: 1}
            pieces.append(replace(sub, first=a, until=b))
    return replace(p, pieces=tuple(pieces)) if pieces else p, found
