"""Eggs set: where they come from, and what their weeks in the incubator take.

Eggs come from the farm's own hens where it keeps a breeding pen of the line: those that hens of the line have
laid in the season, over the days the eggs were stored for, are settable by the pen's share and not sold. What
that does not cover is priced as bought: eggs from elsewhere, or of hens whose keep is not in the season.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.reckoning import Class
from leyfold.nouns.season import Season
from leyfold.reckoning.lump import Lump
from leyfold.reckoning.rates import work

__all__ = ["at_setting"]

Floats = NDArray[np.float64]

WATTS = 1000.0
HOURS = 24.0


def at_setting(farm: Farm, season: Season) -> Iterator[Lump]:
    """What each set uses, shared by the sexes as they hatch."""
    free = season.eggs.copy()
    for i, batch in sorted(enumerate(season.plan.batches), key=lambda x: x[1].set_on or x[1].arrives_on):
        if batch.set_on is None or batch.eggs is None:
            continue
        pullets = farm.lines[batch.line].share_pullets.value
        halves: tuple[tuple[Class, float], ...] = (("pullets", pullets), ("table", 1.0 - pullets))
        current = _kwh(farm, season, i, batch)
        day = season.index(batch.set_on)
        once = np.zeros(season.days)
        own: dict[str, Floats] = {}
        if 0 <= day < season.days:
            once[day] = 1.0
            own = _own_eggs(farm, season, batch, free)
        # What is left of a batch by rounding alone is not bought.
        taken = min(sum(float(laid.sum()) for laid in own.values()), float(batch.eggs))
        outside = batch.eggs - taken if taken < batch.eggs - 1e-9 else 0.0
        for kind, part in halves:
            amounts = {
                "electricity": current * part,
                "labour": once * work(farm, "set_h") * part,
                "hatching_egg_in": once * taken * part,
                "hatching_egg": once * outside * part,
                **_in_machine(season, i, day, batch.eggs * part),
            }
            for rate, amount in amounts.items():
                if amount.any():
                    yield Lump(rate, batch.id, kind, amount)
        for flock, laid in own.items():
            yield Lump("egg", flock, "eggs", -laid)
            yield Lump("hatching_egg_out", flock, "eggs", once * float(laid.sum()))


def _own_eggs(farm: Farm, season: Season, batch: Batch, free: Floats) -> dict[str, Floats]:
    """[day] eggs of each flock that go into the set, taken out of `free` [lot, day]."""
    assert batch.set_on is not None
    assert batch.eggs is not None
    pens = [pen for pen in farm.pens.values() if pen.line == batch.line and pen.owned(batch.set_on)]
    if not pens:
        return {}
    settable = max(1.0 if pen.settable_share is None else pen.settable_share for pen in pens)
    lines = {b.id: b.line for b in season.plan.batches}
    day = season.index(batch.set_on)
    # A set holds eggs of 0 to `stored_d` days, gathered evenly (`nature.hatch.storage_factor`).
    days = slice(max(day - max(batch.stored_d, 1), 0), day)
    rows = [i for i, lot in enumerate(season.lots) if lines[lot.batch] == batch.line]
    laid = free[rows, days]
    total = float(laid.sum()) * settable
    if total <= 0.0:
        return {}
    share = settable * min(batch.eggs / total, 1.0)
    free[rows, days] = laid * (1.0 - share)
    own: dict[str, Floats] = {}
    for row, eggs in zip(rows, laid * share, strict=True):
        if eggs.any():
            flock = own.setdefault(season.lots[row].batch, np.zeros(season.days))
            flock[days] += eggs
    return own


def _kwh(farm: Farm, season: Season, i: int, batch: Batch) -> Floats:
    """[day] the batch's part of what its machine draws, by the eggs in it: it draws as much half full."""
    machine = farm.incubators[batch.incubator] if batch.incubator else None
    watts = machine.watts if machine and machine.watts is not None else work(farm, "incubator_w")
    same = [k for k, b in enumerate(season.plan.batches) if b.incubator == batch.incubator]
    inside = season.hatching_eggs[same].sum(axis=0)
    eggs = season.hatching_eggs[i]
    part: Floats = np.divide(eggs, inside, out=np.zeros(season.days), where=inside > 0)
    return part * watts / WATTS * HOURS


def _in_machine(season: Season, i: int, set_day: int, eggs: float) -> dict[str, Floats]:
    """Eggs in the incubator when the season begins or ends."""
    found = {}
    for name, day, there in (
        ("first", 0, set_day < 0 and season.hatching_eggs[i, 0] > 0),
        ("left", -1, season.hatching_eggs[i, -1] > 0 and set_day < season.days),
    ):
        if there:
            amount = np.zeros(season.days)
            amount[day] = eggs
            found[f"{name}.hatching_egg"] = amount
    return found
