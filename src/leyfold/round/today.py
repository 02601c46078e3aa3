"""The season as the round of today sees it: what is to leave today leaves today."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.plan import Plan
from leyfold.nouns.record import State
from leyfold.nouns.season import Season

__all__ = ["leaving_today"]

_OF_THE_LOT = ("dead", "feed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg")


def leaving_today(season: Season, planned: Season, state: State) -> Season:
    """A season that begins with the records feeds all birds of its first day and lets none leave before the
    next. Where the plan as written (`planned`) kills or puts out birds today and the book still has them,
    they leave today in the season returned, as they stood at the day's start. Places keep their sums."""
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
