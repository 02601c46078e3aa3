"""Today as the round sees it: what is to leave today leaves today, and what the book does not know of yet is
still to be done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Kept
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.record import Group, State
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES
from leyfold.season.weeks import SOMEBODY
from leyfold.season.work import KINDS, Task, Value, heads_of, work

__all__ = ["leaving_today", "tasks_of"]

_OF_THE_LOT = ("dead", "feed_kg", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg")


_WORK: Kept[tuple[Task, ...]] = Kept(4)


def leaving_today(season: Season, planned: Season, state: State) -> Season:
    """A season that begins with the records feeds all birds of its first day and lets none leave before the
    next. Where the plan as written (`planned`) kills or puts out birds today and the book still has them,
    they leave today in the season returned, as they stood at the day's start. Places keep their sums, and
    the day its water: what is to be killed drinks until it is caught."""
    day = state.day
    if day is None or season.first > day or not 0 <= season.index(day) < season.days - 1:
        return season
    i, j = season.index(day), planned.index(day)
    if not 0 <= j < planned.days:
        return season
    written = {(lot.batch, lot.sex) for row, lot in enumerate(planned.lots) if planned.killed[row, j] > 0}
    in_book = {g.batch for g in state.groups}
    rows = [
        row
        for row, lot in enumerate(season.lots)
        if (lot.batch, lot.sex) in written and lot.batch in in_book and season.killed[row, i + 1] > 0
    ]
    if not rows:
        return season
    arrays = {name: getattr(season, name).copy() for name in ("heads", "killed", "killed_kg", *_OF_THE_LOT)}
    alive = season.heads[rows, i] - season.dead[rows, i]
    share = np.minimum(season.killed[rows, i + 1] / alive, 1.0)
    gone = season.heads[rows, i] * share
    arrays["killed"][rows, i] += gone
    arrays["killed_kg"][rows, i] += gone * season.killed_kg[rows, i + 1] / season.killed[rows, i + 1]
    arrays["killed"][rows, i + 1] = arrays["killed_kg"][rows, i + 1] = 0.0
    arrays["heads"][rows, i] -= gone
    for name in _OF_THE_LOT:
        arrays[name][rows, i] *= 1.0 - share
    who = {season.lots[row].batch for row in rows}
    return replace(season, plan=_dated(season.plan, who, day), **arrays)


def _dated(plan: Plan, who: set[str], day: date) -> Plan:
    """The drafts and outs of the next day on `day`."""
    late = day + timedelta(days=1)
    batches = tuple(
        replace(b, drafts=tuple(replace(d, on=day) if d.on == late else d for d in b.drafts))
        if b.id in who
        else b
        for b in plan.batches
    )
    outs = tuple(replace(o, on=day) if o.batch in who and o.on == late else o for o in plan.outs)
    return replace(plan, batches=batches, outs=outs)


def tasks_of(farm: Farm, planned: Season, season: Season, state: State) -> tuple[Task, ...]:
    """The season's dated work, and on the state's day what the book still waits for: a season that begins
    with the records takes its first day's steps as done. Birds that by the plan stand elsewhere tonight than
    in the book are to be turned out, sorted, housed or shifted today, however late that is."""
    tasks = _WORK.get((farm, season), lambda: work(farm, season))
    day = state.day
    if day is None or not state.groups or not 0 <= season.index(day) < season.days:
        return tasks
    known = {(t.kind, t.batch) for t in tasks if t.day == day}
    book = {g.batch for g in state.groups}
    waiting = [
        t
        for t in _WORK.get((farm, planned), lambda: work(farm, planned))
        if t.day == day and t.kind == "feed" and t.batch in book
    ]
    for batch in season.plan.batches:
        waiting += _steps(farm, season, state, batch, day) if batch.id in book else []
    more = [t for t in waiting if (t.kind, t.batch) not in known]
    return tuple(sorted((*tasks, *more), key=lambda t: (t.day, KINDS.index(t.kind), t.batch or "")))


def _steps(farm: Farm, season: Season, state: State, batch: Batch, day: date) -> Iterator[Task]:
    i = season.index(day)
    here = [g for g in state.groups if g.batch == batch.id]
    tonight = {
        (lot.sex, lot.place)
        for row, lot in enumerate(season.lots)
        if lot.batch == batch.id and season.heads[row, i] >= SOMEBODY
    }
    new = tuple(dict.fromkeys(p for _, p in sorted(tonight) if p not in {g.place for g in here}))
    heads = float(sum(g.heads for g in here))
    if batch.sort_on == day and any(g.sex is None for g in here):
        to = {f"{sex}s_to": tuple(p for s, p in sorted(tonight) if s == sex) for sex in SEXES}
        yield Task(day, "sort", batch.id, None, {"heads": heads, **to})
    elif new and any(g.place in farm.brooders for g in here) and new[0] in farm.shelters:
        yield Task(day, "turnout", batch.id, None, {"heads": heads, "to": new})
    elif new and new[0] in farm.houses:
        rows = [g.heads for g in here if g.sex != "cockerel" and g.place not in farm.houses]
        yield Task(day, "house", batch.id, new[0], {"heads": float(sum(rows))})
    elif new:
        yield from _shifts(here, season, batch, day)


def _shifts(here: Sequence[Group], season: Season, batch: Batch, day: date) -> Iterator[Task]:
    """Birds whose place of tonight has none of theirs in the book, those of each sex once they are parted."""
    for sex in dict.fromkeys(g.sex for g in here):
        book = {g.place: float(g.heads) for g in here if g.sex == sex}
        tonight = {
            place: heads
            for place in season.places
            if (heads := heads_of(season, day, batch.id, sex, place)) >= SOMEBODY
        }
        new = tuple(place for place in tonight if place not in book)
        if new:
            left = tuple(place for place in book if place not in tonight)
            heads = sum(book[place] for place in left) or sum(tonight[place] for place in new)
            values: dict[str, Value] = {"heads": heads, "sex": sex or "both"}
            yield Task(day, "shift", batch.id, None, values | {"from": left or tuple(book), "to": new})
