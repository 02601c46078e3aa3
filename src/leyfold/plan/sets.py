"""Rows of the model: sets and their eggs, incubators, and the day on which old hens leave."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.kit import least
from leyfold.plan.model import FINE, MONEY, Choice, Model, pick
from leyfold.plan.offers import stored_d
from leyfold.plan.problem import Problem, laid, settable
from leyfold.season.dates import LIFT_BEFORE_D, lifted_on

__all__ = ["add_incubators", "add_sets", "trays_hatched"]

HOURS = 24.0
WATTS = 1000.0


class _Set(NamedTuple):
    """A set in a machine: its variables; the days (index) on which it comes, goes to the hatcher, where that
    is a machine of its own, and hatches; and the fertile share of its eggs."""

    choice: Choice
    begins: int
    lifted: int
    hatches: int
    fertility: float


def add_sets(m: Model) -> None:
    """Offers, ways of killing, old hens' leaving, and eggs that the breeding pen gives."""
    p, linear = m.problem, m.linear
    set_cost = m.work("set_h") * m.price("labour")
    for o, curve in enumerate(p.curves):
        most = p.eggs[o] // m.tray
        whole = Choice(linear.number(1), linear.number(most))
        m.offers.append(whole)
        m.most.append(most)
        linear.row({whole.trays: 1, whole.taken: -most}, most=0)
        linear.row({whole.trays: 1, whole.taken: -1}, least=0)
        linear.earns(whole.taken, round(-MONEY * set_cost))
        linear.earns(whole.trays, round(MONEY * (curve.hens.money + m.tray * p.egg_money[o])))
        m.cocks.append(pick(m, whole, most, len(curve.cocks)))
        for way, cocks in zip(m.cocks[o], curve.cocks, strict=True):
            linear.earns(way.trays, round(MONEY * cocks.money))
        for group in p.offers[o].forbidden:
            linear.row({whole.taken: 1}, most=0, group=group)
        for way, groups in zip(m.cocks[o], p.offers[o].ways_forbidden, strict=False):
            for group in groups:
                linear.row({way.taken: 1}, most=0, group=group)
    for f, (_, choices) in enumerate(p.flocks):
        for k, choice in enumerate(choices):
            m.flocks[f, k] = linear.number(1)
            linear.earns(m.flocks[f, k], round(MONEY * choice.money))
        linear.row({m.flocks[f, k]: 1 for k in range(len(choices))}, least=1, most=1)
    _gathered(m)


def _gathered(m: Model) -> None:
    """Eggs laid in one stretch of days go into one set, and no set has more than were laid for it. What is
    set when no pen is there is bought."""
    p = m.problem
    for line in p.farm.lines.values():
        own = [o for o, offer in enumerate(p.offers) if offer.line == line.id]
        days = sorted({p.offers[o].set_on for o in own})
        fed = {o for o in own if settable(p.farm, p.offers[o]) is not None}
        for day in days:
            on = [o for o in own if p.offers[o].set_on == day]
            apart = max(stored_d(p.farm, line), 1) if fed & {*on} else 1
            within = [
                o
                for o in own
                if 0 <= (p.offers[o].set_on - day).days < apart and (o in fed or p.offers[o].set_on == day)
            ]
            if len(within) > 1:
                m.linear.row({m.offers[o].taken: 1 for o in within}, most=1, group="pen")
            share = settable(p.farm, p.offers[on[0]])
            of_fixed, of_flocks = laid(p.farm, p.season, p.flocks, p.offers[on[0]])
            if share is None or not (of_fixed > 0 or any(of_flocks.values())):
                continue
            m.linear.row(
                {
                    **{m.offers[o].trays: FINE * m.tray for o in on},
                    **{m.flocks[key]: -floor(FINE * share * eggs) for key, eggs in of_flocks.items()},
                },
                most=floor(FINE * share * of_fixed),
                group="pen",
            )


def add_incubators(m: Model) -> None:
    """One machine for each set, places to day 18 and in the hatcher, current on every day in use."""
    p = m.problem
    by_day: dict[tuple[date, str], list[int]] = {}
    for o, offer in enumerate(p.offers):
        by_day.setdefault((offer.set_on, offer.line), []).append(o)
    inside: dict[str, list[_Set]] = {name: [] for name in p.farm.incubators}
    for (day, line), own in by_day.items():
        begins, hatch = p.span.index(day), p.offers[own[0]].hatched_on
        most = max(m.most[o] for o in own)
        able = [k for k in p.farm.incubators.values() if k.owned(day)]
        places = [min(most, _places(p, k.id)) for k in able]
        put = [Choice(m.linear.number(1), m.linear.number(n)) for n in places]
        for kit, choice, n in zip(able, put, places, strict=True):
            m.linear.row({choice.trays: 1, choice.taken: -n}, most=0)
            if (hatched := _hatched(p, kit.id, line)) < n:
                m.linear.row({choice.trays: 1, choice.taken: -hatched}, most=0, group="incubators")
            for o in own:
                m.machine[o, kit.id] = choice
            at = begins, p.span.clipped(lifted_on(kit, hatch)), p.span.clipped(hatch)
            inside[kit.id].append(_Set(choice, *at, p.farm.lines[line].fertility.value))
        taken = {m.offers[o].taken: -1 for o in own}
        trays = {m.offers[o].trays: -1 for o in own}
        m.linear.row({**{c.taken: 1 for c in put}, **taken}, least=0, most=0, group="incubators")
        m.linear.row({**{c.trays: 1 for c in put}, **trays}, least=0, most=0, group="incubators")
    for name, sets in inside.items():
        _machine(m, name, sets)


def trays_hatched(p: Problem, o: int) -> int:
    """The most trays of an offer that some machine holds and hatches, were no other set in it."""
    able = [name for name, kit in p.farm.incubators.items() if kit.owned(p.offers[o].set_on)]
    most = (min(_places(p, name), _hatched(p, name, p.offers[o].line)) for name in able)
    return min(max(most, default=0), p.eggs[o] // p.farm.planning.tray)


def _places(p: Problem, name: str) -> int:
    """Trays that a machine holds."""
    kit = p.farm.incubators[name]
    return int(min(kit.eggs, least(p.farm, "incubator", name, "eggs"))) // p.farm.planning.tray


def _hatched(p: Problem, name: str, line: str) -> int:
    """Trays of a line of which its hatcher holds all fertile eggs."""
    kit = p.farm.incubators[name]
    if kit.hatcher_eggs is None:
        return _places(p, name)
    return floor(kit.hatcher_eggs * FINE) // _fertile(p, p.farm.lines[line].fertility.value)


def _fertile(p: Problem, fertility: float) -> int:
    """Fertile eggs of one tray: clears are taken out at the second candling, when the rest go to the
    hatcher."""
    return ceil(p.farm.planning.tray * fertility * FINE)


def _machine(m: Model, name: str, sets: Sequence[_Set]) -> None:
    p, kit = m.problem, m.problem.farm.incubators[name]
    before = p.season.places[name].heads
    most = min(kit.eggs, least(p.farm, "incubator", name, "eggs"))
    on = _machine_use(m, name, sets)
    for day in sorted({one.begins for one in sets}):
        there = {one.choice.trays: m.tray for one in sets if one.begins <= day < one.lifted}
        room = max(floor(most - before[day] + 1e-9), 0)
        used = next((v for a, b, v in on if a <= day < b), None)
        if used is None:
            m.linear.row(there, most=room, group="incubators")
        else:
            m.linear.row({**there, used: -room}, most=0, group="incubators")
    if kit.hatcher_eggs is not None:
        fixed = _in_hatcher(p, name)
        comes = np.flatnonzero(np.diff(fixed, prepend=0.0) > 0).tolist()
        for day in sorted({*comes, *(one.lifted for one in sets)} - {p.span.days}):
            hatching = {
                one.choice.trays: _fertile(p, one.fertility)
                for one in sets
                if one.lifted <= day < one.hatches
            }
            room = max(floor((kit.hatcher_eggs - fixed[day]) * FINE), 0)
            m.linear.row(hatching, most=room, group="incubators")


def _in_hatcher(p: Problem, name: str) -> NDArray[np.float64]:
    """[day] fertile eggs, of sets already there or dated, in the hatcher of a machine."""
    eggs = np.zeros(p.span.days)
    for batch in p.season.plan.batches:
        if batch.incubator == name and batch.set_on is not None and batch.eggs is not None:
            share = p.farm.lines[batch.line].fertility.value
            fertile = batch.eggs * share if batch.fertile is None else batch.fertile
            lifted = batch.hatched_on - timedelta(days=LIFT_BEFORE_D)
            eggs[p.span.clipped(lifted) : p.span.clipped(batch.hatched_on)] += fertile
    return eggs


def _machine_use(m: Model, name: str, sets: Sequence[_Set]) -> list[tuple[int, int, int]]:
    """(first day, day after the last, variable) of the machine's being on, its hatcher with it: it draws as
    much half full."""
    p, kit = m.problem, m.problem.farm.incubators[name]
    own = [i for i, batch in enumerate(p.season.plan.batches) if batch.incubator == name]
    before = p.season.hatching_eggs[own].sum(axis=0)
    watts = kit.watts if kit.watts is not None else m.work("incubator_w")
    cost = round(MONEY * watts / WATTS * HOURS * m.price("electricity"))
    edges = sorted({day for one in sets for day in (one.begins, one.hatches)})
    found = []
    for a, b in pairwise(edges):
        there = [one.choice.taken for one in sets if one.begins <= a < one.hatches]
        empty = int((before[a:b] <= 0).sum())
        if cost > 0 and there and empty:
            on = m.linear.number(1)
            m.linear.earns(on, -cost * empty)
            for taken in there:
                m.linear.row({on: 1, taken: -1}, least=0)
            found.append((a, b, on))
    return found
