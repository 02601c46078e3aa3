"""Every bird of a season, lived through many times: who comes, where it is, when it dies or is taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.draws import Taken
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan, Stay
from leyfold.season.chances import luck
from leyfold.season.chances.foxes import visits
from leyfold.season.chances.grass import segments
from leyfold.season.chances.risks import risk
from leyfold.season.chances.streams import stream
from leyfold.season.chances.walk import LotStay, Walked, drafted, walk
from leyfold.season.complete import complete
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, window
from leyfold.season.expect import Stand, lots_of
from leyfold.season.party import all_takes

__all__ = ["Lives", "lives"]

Ints = NDArray[np.int64]
Counts = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Lives:
    """The counts of `Draws`, whose fields say what they are, and what they were reckoned from."""

    plan: Plan
    run: Course
    stand: Stand
    first_day: Ints
    at: tuple[slice, ...]
    cells: Counts
    dead_cells: Counts
    taken: Taken
    killed: Counts
    chicks: Counts
    came: Counts


def lives(farm: Farm, plan: Plan, *, n: int, seed: int, shared: bool = False) -> Lives:
    """`plan` (completed first where it is not) lived through `n` times: see `season.draw`."""
    plan = complete(farm, plan)
    span = window(plan)
    run = course(farm, plan.batches, span)
    stand = lots_of(plan, run)
    lots = range(len(stand.lots))
    stays = {stay.id: stay for stay in plan.stays}
    first = np.array([span.clipped(stays[lot.stay].first) for lot in stand.lots], dtype=np.int64)
    ends = np.concatenate(([0], np.cumsum(stand.here.sum(axis=1))))
    at = tuple(slice(int(ends[i]), int(ends[i + 1])) for i in lots)
    cells = np.zeros((int(ends[-1]), n), dtype=np.int32)
    dead = np.zeros_like(cells)
    out = Walked(
        {i: cells[at[i]] for i in lots},
        {i: dead[at[i]] for i in lots},
        np.zeros((len(stand.lots), n), dtype=np.int32),
    )
    chicks = {b.id: luck.chicks(b, farm.lines[b.line], n=n, seed=seed, shared=shared) for b in plan.batches}
    came = _walk_all(farm, plan, run, stand, chicks, n, seed, out)
    taken = _taken(out)
    cell = ends[taken.lot] + taken.day - first[taken.lot]
    np.subtract.at(dead, (cell, taken.draw), taken.birds)
    all_chicks = np.array([chicks[b.id] for b in plan.batches], dtype=np.int32).reshape(-1, n)
    lived = Lives(plan, run, stand, first, at, cells, dead, taken, out.killed, all_chicks, came)
    _check_birds(lived)
    return lived


def _walk_all(
    farm: Farm,
    plan: Plan,
    run: Course,
    stand: Stand,
    chicks: dict[str, Ints],
    n: int,
    seed: int,
    out: Walked,
) -> Counts:
    """Walks every batch and sex; gives [cohort, draw] the birds alive when the window opens."""
    span = run.window
    takes = all_takes(run.rows, plan.outs)
    stays = {stay.id: stay for stay in plan.stays}
    held = {
        name: np.logical_or.reduce(stand.here[[i for i, lot in enumerate(stand.lots) if lot.place == name]])
        for name in farm.shelters
    }

    @cache
    def foxes(shelter: str) -> tuple[Ints, Ints]:
        return visits(farm, shelter, held[shelter], span, n=n, seed=seed)

    came = np.zeros((len(run.rows), n), dtype=np.int32)
    for row, r in enumerate(run.rows):
        mine = np.flatnonzero(stand.row == row)
        birds = luck.pullets(r.batch, r.line, chicks[r.batch.id], seed=seed)
        birds = birds if r.sex == "pullet" else chicks[r.batch.id] - birds
        arrives = span.index(r.batch.arrives_on)
        if arrives >= span.days:
            continue
        stages = luck.stages_of(r, arrives, span.days)
        base = luck.without_foxes(
            farm, stages, segments(farm, plan, r.batch.id, r.sex), span.first.toordinal()
        )
        dies = luck.death_days(r, stages, base, birds, seed=seed)
        there = dies >= max(arrives, 0)
        own = takes[r.batch.id, r.sex]
        if past := [take for take in own if span.index(take.on) < 0]:
            # The window opens on those whom earlier drafts have left.
            by_chance = stream(seed, r.batch.id, r.sex, "past drafts").random(n)
            gone = drafted(there, 1.0 - past[-1].left, by_chance)
            dies[gone] = -1
            there &= ~gone
        came[row] = np.count_nonzero(there, axis=0)
        dated = [take for take in own if 0 <= span.index(take.on) < span.days]
        walk(
            [_lot_stay(farm, span, stand, stays[stand.lots[i].stay], int(i)) for i in mine],
            dated,
            [span.index(t.on) for t in dated],
            dies,
            foxes,
            risk(farm, "fox_share"),
            stream(seed, r.batch.id, r.sex, "places"),
            stream(seed, r.batch.id, r.sex, "victims"),
            span.days,
            out,
        )
    return came


def _lot_stay(farm: Farm, span: Window, stand: Stand, stay: Stay, lot: int) -> LotStay:
    shelter = stay.place if stay.place in farm.shelters else None
    return LotStay(lot, span.clipped(stay.first), span.clipped(stay.until), float(stand.share[lot]), shelter)


def _taken(out: Walked) -> Taken:
    def column(pick: Callable[[tuple[Ints, int, Ints, Counts]], Ints | Counts]) -> Ints:
        return np.concatenate([np.zeros(0, dtype=np.int64), *map(pick, out.taken)])

    return Taken(
        column(lambda x: x[0]),
        column(lambda x: np.full(x[0].size, x[1], dtype=np.int64)),
        column(lambda x: x[2]),
        column(lambda x: x[3]).astype(np.int32),
    )


def _check_birds(lived: Lives) -> None:
    """Alive + dead + taken + killed = came, for each batch and sex of every draw, at the window's end."""
    rows = lived.stand.row
    balance = lived.came.astype(np.int64)
    np.subtract.at(balance, (rows[lived.taken.lot], lived.taken.draw), lived.taken.birds)
    for i, row in enumerate(rows):
        dead = lived.dead_cells[lived.at[i]]
        balance[row] -= lived.killed[i] + dead.sum(axis=0)
        if lived.stand.here[i, -1:].any():
            balance[row] -= lived.cells[lived.at[i]][-1] - dead[-1]
    last = lived.taken.day == lived.run.window.days - 1
    np.add.at(balance, (rows[lived.taken.lot[last]], lived.taken.draw[last]), lived.taken.birds[last])
    if balance.any():
        row, at = np.unravel_index(np.abs(balance).argmax(), balance.shape)
        who = lived.run.rows[row]
        raise ArithmeticError(f"{who.batch.id} {who.sex}: {balance[row, at]} birds unaccounted in draw {at}")
