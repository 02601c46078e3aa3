"""Rows of the model: hens on their ground, by the limits that the farmer set for nets and under houses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Net
from leyfold.plan.model import FINE, Model
from leyfold.plan.problem import WEEK, Problem
from leyfold.season.hens_ground import GROUND, growing, night_share
from leyfold.season.party import M2_PER_HA, limits_of

__all__ = ["add_nets", "net_ground"]

Floats = NDArray[np.float64]

WHOLE = 1_000_000
"""Whole numbers to a whole limit: so finely is it kept to."""


@dataclass(frozen=True, slots=True, eq=False)
class Some:
    """Hens in a house: of a set by the tray, of a flock as a whole, were it to leave on some day, or (no
    variable) those nobody chooses. [day] heads, kg of nitrogen dropped outside the house and in it."""

    variable: int | None
    heads: Floats
    out_kg: Floats
    in_kg: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """What hens need of a limit: so much a head, a kg dropped outside, a kg in the house, on some days."""

    group: str
    at_most: float
    days: NDArray[np.bool_]
    head: float = 0.0
    out_kg: float = 0.0
    in_kg: float = 0.0

    def needs(self, some: Some, first: int, until: int) -> float:
        """What some hens need on their worst day."""
        at = slice(first, until)
        each = some.heads[at] * self.head + some.out_kg[at] * self.out_kg + some.in_kg[at] * self.in_kg
        return float((each * self.days[at]).max())


def add_nets(m: Model) -> None:
    """No more hens than their net and the ground under their house take, on any day, or than there must be.

    A row holds for days without coming or going, a week at the most, and takes the worst day of each flock.
    """
    p = m.problem
    choices = [[m.flocks[f, k] for k in range(len(own))] for f, (_, own) in enumerate(p.flocks)]
    for house in p.farm.houses:
        if rules := list(_rules(p, house)):
            hens = list(_hens(m, house))
            for rule in rules:
                for first, until in _stretches(p, hens):
                    terms, fixed = _worst(hens, rule, first, until)
                    row = {v: ceil(WHOLE * need / rule.at_most) for v, need in terms.items()}
                    # A flock that cannot leave by then is no fault of any plan.
                    must = sum(min(row.get(v, 0) for v in own) for own in choices)
                    room = floor(WHOLE * (1.0 - fixed / rule.at_most))
                    m.linear.row(row, most=max(room, must), group=rule.group)


def net_ground(m: Model) -> list[int]:
    """For each net with a limit of hens to the m2 a variable for the ground of all paddocks that it goes
    round in turn, each as large as the limit asks for the most hens there ever are."""
    p, found = m.problem, list[int]()
    grows = int(growing(p.farm, p.span).sum())
    for house in p.farm.houses:
        for net in _nets(p, house):
            dense = [x.at_most for x in limits_of(p.farm, "net", net.id) if x.quantity == "heads_per_m2"]
            if not dense:
                continue
            many, hens = max(net.paddocks(grows), 1), list(_hens(m, house))
            rule = Rule("nets", 1.0, _there(p, net), head=many / min(dense))
            most = sum(float(some.heads.max(initial=0.0)) for some in hens if some.variable is None)
            most += sum(max(float(c.heads.max(initial=0.0)) for c in own) for _, own in p.flocks)
            m2 = m.linear.number(ceil(max(many * net.most_m2, most * rule.head)) + 1)
            for first, until in _stretches(p, hens):
                terms, fixed = _worst(hens, rule, first, until)
                row = {v: -ceil(FINE * need) for v, need in terms.items()}
                m.linear.row({**row, m2: FINE}, least=ceil(FINE * fixed), group="nets")
            found.append(m2)
    return found


def _nets(p: Problem, house: str) -> list[Net]:
    return [net for net in p.farm.nets.values() if net.house == house]


def _there(p: Problem, net: Net) -> NDArray[np.bool_]:
    return np.array([net.owned(p.span.day(d)) for d in range(p.span.days)], dtype=bool)


def _rules(p: Problem, house: str) -> Iterator[Rule]:
    for net in _nets(p, house):
        for limit in limits_of(p.farm, "net", net.id):
            if limit.quantity == "heads_per_m2":
                yield Rule("nets", limit.at_most, _there(p, net), head=1.0 / net.most_m2)
            elif limit.quantity == GROUND:
                each = net.stay_d / net.most_m2 * M2_PER_HA
                yield Rule("nets", limit.at_most, _there(p, net) & growing(p.farm, p.span), out_kg=each)
    for limit in limits_of(p.farm, "house", house):
        if limit.quantity == GROUND:
            each = M2_PER_HA / p.farm.houses[house].floor_m2
            yield Rule("house_ground", limit.at_most, growing(p.farm, p.span), in_kg=each)


def _hens(m: Model, house: str) -> Iterator[Some]:
    p = m.problem

    def some(variable: int | None, line: str, heads: Floats, n_kg: Floats) -> Some:
        night = night_share(p.farm, line)
        return Some(variable, heads, n_kg * (1.0 - night), n_kg * night)

    for (o, name), choice in m.house.items():
        if name == house:
            hens = p.curves[o].hens
            yield some(choice.trays, p.offers[o].line, hens.heads, hens.n_kg)
    for (f, k), variable in m.flocks.items():
        batch, flock = p.flocks[f][0], p.flocks[f][1][k]
        if flock.house == house:
            yield some(variable, batch.line, flock.heads, flock.n_kg)
    lines = {batch.id: batch.line for batch in p.fixed.batches}
    for i, lot in enumerate(p.season.lots):
        if lot.place == house:
            yield some(None, lines[lot.batch], p.season.heads[i], p.season.n_kg[i])


def _stretches(p: Problem, hens: list[Some]) -> list[tuple[int, int]]:
    """The days of the plan in weeks, cut where hens come or go."""
    edges = {*range(0, p.span.days, WEEK), p.span.days}
    for some in hens:
        there = np.concatenate(([False], some.heads > 0, [False]))
        edges |= set(np.flatnonzero(there[1:] != there[:-1]).tolist())
    return list(pairwise(sorted(edges)))


def _worst(hens: list[Some], rule: Rule, first: int, until: int) -> tuple[dict[int, float], float]:
    """What each flock needs on its worst day: by variable, and of those that are fixed."""
    terms, fixed = dict[int, float](), 0.0
    for some in hens:
        need = rule.needs(some, first, until)
        if some.variable is None:
            fixed += need
        elif need > 0.0:
            terms[some.variable] = terms.get(some.variable, 0.0) + need
    return terms, fixed
