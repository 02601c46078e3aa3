"""Rows of the model: sets and their eggs, incubators, and the day on which old hens leave."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from math import ceil, floor

from leyfold.plan.kit import least
from leyfold.plan.model import FINE, MONEY, Choice, Model, pick
from leyfold.plan.offers import stored_d
from leyfold.plan.problem import Problem, laid, settable

__all__ = ["add_incubators", "add_sets", "trays_hatched"]

HOURS = 24.0
WATTS = 1000.0
HATCHER_D = 3


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
    inside: dict[str, list[tuple[Choice, int, int, float]]] = {name: [] for name in p.farm.incubators}
    for (day, line), own in by_day.items():
        begins, ends = p.span.index(day), p.span.clipped(p.offers[own[0]].hatched_on)
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
            inside[kit.id].append((choice, begins, ends, p.farm.lines[line].fertility.value))
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


def _machine(m: Model, name: str, sets: Sequence[tuple[Choice, int, int, float]]) -> None:
    p, kit = m.problem, m.problem.farm.incubators[name]
    before = p.season.places[name].heads
    most = min(kit.eggs, least(p.farm, "incubator", name, "eggs"))
    on = _machine_use(m, name, sets)
    for day in sorted({begins for _, begins, _, _ in sets}):
        there = {c.trays: m.tray for c, a, b, _ in sets if a <= day < b}
        room = max(floor(most - before[day] + 1e-9), 0)
        used = next((v for a, b, v in on if a <= day < b), None)
        if used is None:
            m.linear.row(there, most=room, group="incubators")
        else:
            m.linear.row({**there, used: -room}, most=0, group="incubators")
    if kit.hatcher_eggs is not None:
        for day in sorted({ends - HATCHER_D for _, _, ends, _ in sets}):
            hatching = {
                c.trays: _fertile(p, fertility) for c, _, b, fertility in sets if b - HATCHER_D <= day < b
            }
            m.linear.row(hatching, most=floor(kit.hatcher_eggs * FINE), group="incubators")


def _machine_use(
    m: Model, name: str, sets: Sequence[tuple[Choice, int, int, float]]
) -> list[tuple[int, int, int]]:
    """(first day, day after the last, variable) of the machine's being on: it draws as much half full."""
    p, kit = m.problem, m.problem.farm.incubators[name]
    before = p.season.places[name].heads
    watts = kit.watts if kit.watts is not None else m.work("incubator_w")
    cost = round(MONEY * watts / WATTS * HOURS * m.price("electricity"))
    edges = sorted({day for _, a, b, _ in sets for day in (a, b)})
    found = []
    for a, b in pairwise(edges):
        there = [c.taken for c, x, y, _ in sets if x <= a < y]
        empty = int((before[a:b] <= 0).sum())
        if cost > 0 and there and empty:
            on = m.linear.number(1)
            m.linear.earns(on, -cost * empty)
            for taken in there:
                m.linear.row({on: 1, taken: -1}, least=0)
            found.append((a, b, on))
    return found
