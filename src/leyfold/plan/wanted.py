"""Rows of the model: killing days, hours, and wishes at their levels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import ceil, floor

import numpy as np

from leyfold.nouns.farm import Wish
from leyfold.plan.kit import hours_on
from leyfold.plan.model import FINE, Choice, Model
from leyfold.plan.problem import WEEK, Problem

__all__ = ["Levels", "add_hours", "add_killing", "add_wishes", "brought", "fixed_brings", "reached"]

Levels = Mapping[tuple[str, date], float]
"""How many birds, or eggs in the week, a wish must bring on average to be kept at its chance."""


def add_killing(m: Model) -> None:
    """Birds killed on one day, and carcass for the freezer."""
    p, asked = m.problem, m.problem.farm.planning
    days = {p.span.index(d.on) for offer in p.offers for drafts in offer.drafts for d in drafts}
    cocks = [i for i, lot in enumerate(p.season.lots) if lot.sex == "cockerel"]
    lines = {b.id: b.line for b in p.fixed.batches}
    dressing = np.array(
        [p.farm.lines[lines[p.season.lots[i].batch]].dressing_share.value for i in cocks]
    ).reshape(-1, 1)
    killed = p.season.killed[cocks].sum(axis=0)
    carcass = (p.season.killed_kg[cocks] * dressing).sum(axis=0)
    for most, before, group, of in (
        (asked.kill_a_day, killed, "killing", "killed"),
        (asked.freezer_kg, carcass, "freezer", "carcass_kg"),
    ):
        for day in sorted(d for d in days if 0 <= d < p.span.days) if most is not None else ():
            terms = {
                way.trays: ceil(FINE * float(getattr(cocks, of)[day]))
                for o, curve in enumerate(p.curves)
                for way, cocks in zip(m.cocks[o], curve.cocks, strict=True)
            }
            assert most is not None
            m.linear.row(terms, most=max(floor(FINE * (most - before[day])), 0), group=group)


def add_hours(m: Model) -> None:
    """The day's hours: the round, eggs, setting, sorting, and killing where it is done at home. Rows stand on
    days when something changes and on the fewest hours of each week."""
    p, farm = m.problem, m.problem.farm
    hours = [hours_on(farm, p.span.day(d)) for d in range(p.span.days)]
    if not np.isfinite(hours[0]):
        return
    each = {kind: m.work(f"{kind}_h_per_d") for kind in ("brooder", "shelter", "house")}
    egg_h, set_h, sort_h = (m.work(name) for name in ("egg_h", "set_h", "sort_h"))
    kill_h = 0.0 if m.price("killing") else m.work("kill_h")
    events = {p.span.index(o.set_on) for o in p.offers} | {p.span.index(o.sort_on) for o in p.offers}
    if kill_h:
        events |= {p.span.index(d.on) for o in p.offers for drafts in o.drafts for d in drafts}
    weeks = {min(range(w, w + WEEK), key=lambda d: hours[d]) for w in range(0, p.span.days, WEEK)}
    fixed = p.season.eggs.sum(axis=0) * egg_h
    for place in p.season.places.values():
        fixed = fixed + each.get(place.kind, 0.0) * (place.heads > 0)
    numbers = [*((s, number) for (s, _), number in m.shelters.items()), *m.one.items()]
    stays = [(number, p.subs[s].first, p.subs[s].until) for s, number in numbers]
    for day in sorted(d for d in events | weeks if 0 <= d < p.span.days):
        terms: dict[int, float] = {}

        def adds(variable: int, amount: float, into: dict[int, float] = terms) -> None:
            if amount:
                into[variable] = into.get(variable, 0.0) + amount

        for o, (offer, curve) in enumerate(zip(p.offers, p.curves, strict=True)):
            adds(m.offers[o].trays, egg_h * float(curve.hens.eggs[day]))
            if p.span.index(offer.set_on) == day:
                adds(m.offers[o].taken, set_h)
            if p.span.index(offer.sort_on) == day:
                adds(m.offers[o].trays, sort_h * curve.sorted_heads)
            for way, cocks in zip(m.cocks[o], curve.cocks, strict=True) if kill_h else ():
                adds(way.trays, kill_h * float(cocks.killed[day]))
        for (f, k), variable in m.flocks.items():
            adds(variable, egg_h * float(p.flocks[f][1][k].eggs[day]))
        for kind, on in (("brooder", m.brooder_on), ("house", m.house_on)):
            for a, b, used in (span for spans in on.values() for span in spans):
                if a <= day < b:
                    adds(used, each[kind])
        for number, a, b in stays:
            if a <= day < b:
                adds(number, each["shelter"])
        for shared, join in zip(m.joins, p.joins, strict=True):
            if join.first <= day < join.until:
                adds(shared, -each["shelter"])
        row = {v: ceil(FINE * amount) for v, amount in terms.items()}
        room = max(floor(FINE * (hours[day] - fixed[day])), 0)
        m.linear.row(row, most=room, group="hours")


def add_wishes(m: Model, levels: Levels) -> None:
    """Every wish at its level, on each of its days."""
    p = m.problem
    for wish in p.farm.wishes:
        for day, _ in p.wanted(wish):
            at = p.span.index(day)
            terms = {
                choice.trays: floor(FINE * each)
                for o in range(len(p.offers))
                for _, choice, each in brought(m, wish, o, day)
            }
            if wish.what == "eggs a day":
                for (f, k), variable in m.flocks.items():
                    terms[variable] = floor(FINE * float(p.flocks[f][1][k].eggs[at : at + WEEK].sum()))
            level = levels[wish.id, day] - fixed_brings(p, wish, at)
            if wish.what == "eggs a day" and level > 0:
                _somebody_lays(m, at, f"wish:{wish.id}")
            m.linear.row(terms, least=ceil(FINE * level), group=f"wish:{wish.id}")


def brought(m: Model, wish: Wish, o: int, day: date) -> list[tuple[int | None, Choice, float]]:
    """What one tray of an offer brings of a wish by a day, on average: birds, or eggs of its week. One for
    each way of killing where that counts, else one alone with None."""
    p, curve = m.problem, m.problem.curves[o]
    at = p.span.index(day)
    if wish.what == "eggs a day":
        return [(None, m.offers[o], float(curve.hens.eggs[at : at + WEEK].sum()))]
    if wish.line not in (None, p.offers[o].line):
        return []
    if wish.what == "pullets":
        if (day - p.offers[o].hatched_on).days < wish.aged_d:
            return []
        return [(None, m.offers[o], float(curve.hens.alive[at]))]
    ways = zip(m.cocks[o], curve.cocks, strict=True)
    return [(w, way, float(cocks.killed[: at + 1].sum())) for w, (way, cocks) in enumerate(ways)]


def reached(m: Model, values: Sequence[int], wish: Wish, day: date) -> float:
    """The highest level of a wish for birds at which an answer still keeps its row."""
    new = sum(
        floor(FINE * each) * values[choice.trays]
        for o in range(len(m.offers))
        for _, choice, each in brought(m, wish, o, day)
    )
    return fixed_brings(m.problem, wish, m.problem.span.index(day)) + (new - 1) / FINE


def _somebody_lays(m: Model, at: int, group: str) -> None:
    """Where eggs come from houses alone, some house is in use in a week in which eggs are wished: true of
    every plan, and a solver sees the sooner what the house costs."""
    p = m.problem
    week = slice(at, at + WEEK)
    if any(c.hens.eggs[week].any() and not c.hens.heads[at + WEEK - 1] for c in p.curves):
        return
    if any(not flock.house and flock.eggs[week].any() for _, choices in p.flocks for flock in choices):
        return
    day = at + WEEK - 1
    used = [v for spans in m.house_on.values() for a, b, v in spans if a <= day < b]
    if len(used) == len(p.farm.houses):
        m.linear.row(dict.fromkeys(used, 1), least=1, group=group)


def fixed_brings(p: Problem, wish: Wish, at: int) -> float:
    """What birds neither on offer nor free to leave bring of a wish by a day, on average."""
    season = p.season
    lines = {b.id: b for b in p.fixed.batches}
    if wish.what == "eggs a day":
        return float(season.eggs[:, at : at + WEEK].sum())
    sex = "pullet" if wish.what == "pullets" else "cockerel"
    rows = [
        i
        for i, lot in enumerate(season.lots)
        if lot.sex == sex and wish.line in (None, lines[lot.batch].line)
    ]
    if wish.what == "table birds":
        return float(season.killed[rows, : at + 1].sum())
    young = [
        i
        for i in rows
        if (b := lines[season.lots[i].batch]).hatched_on + timedelta(days=wish.aged_d) <= p.span.day(at)
        and (
            b.origin == "set"
            or (b.arrives_on - b.hatched_on).days < p.farm.lines[b.line].point_of_lay_d.value
        )
    ]
    return float(season.heads[young, at].sum())
