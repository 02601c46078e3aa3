"""The season tried many times by whole birds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.draws import Cohort, Draws, Taken
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan, Stay
from leyfold.season import luck
from leyfold.season.complete import complete
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, window
from leyfold.season.expect import Stand, lots_of
from leyfold.season.foxes import visits
from leyfold.season.grass import segments
from leyfold.season.party import all_takes
from leyfold.season.risks import risk
from leyfold.season.streams import stream
from leyfold.season.totals import totals
from leyfold.season.walk import LotStay, Walked, drafted, walk
from leyfold.season.weather_years import anomalies

__all__ = ["draw"]

Ints = NDArray[np.int64]
Counts = NDArray[np.int32]


def draw(farm: Farm, plan: Plan, *, n: int, seed: int, shared: bool = False) -> Draws:
    """`plan` (completed first where it is not) lived through `n` >= 1 times, `seed` >= 0.

    By chance: the hatch (beta-binomial by the line's concentration; `shared`: all batches at one point of
    their spread), the sexes, how many die in each stage (beta-binomial; a batch's sexes share their luck
    until sorted), growth, the weather, and fox nights, which come in clusters. The losses foxes bring are
    part of the line's survivals, not on top of them: the other losses are reckoned less by as much, so that
    on every day and in every lot the mean of the draws is the season expected. Only where a survival is so
    high that it leaves no room for foxes do the draws lose more.

    Raises ArithmeticError where a balance of birds does not close: a fault of the program.
    """
    if n < 1 or seed < 0:
        raise ValueError("n must be at least 1 and seed at least 0")
    plan = complete(farm, plan)
    span = window(plan)
    run = course(farm, plan.batches, span)
    stand = lots_of(plan, run)
    lots = range(len(stand.lots))
    stays = {stay.id: stay for stay in plan.stays}
    first = np.array([span.clipped(stays[lot.stay].first) for lot in stand.lots], dtype=np.int64)
    length = stand.here.sum(axis=1)
    ends = np.concatenate(([0], np.cumsum(length)))
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
    for i in lots:
        mine = taken.lot == i
        np.subtract.at(dead[at[i]], (taken.day[mine] - first[i], taken.draw[mine]), taken.birds[mine])
    growth = np.array([luck.growth(b, n=n, seed=seed) for b in plan.batches], dtype=np.float32).reshape(-1, n)
    weather = anomalies(farm, span, n=n, seed=seed)
    sums = totals(farm, plan, run, stand, cells, out.killed, growth, weather, seed)
    draws = Draws(
        first=span.first,
        days=span.days,
        n=n,
        seed=seed,
        shared=shared,
        plan=plan,
        lots=stand.lots,
        cohorts=tuple(Cohort(row.batch.id, row.sex) for row in run.rows),
        first_day=first,
        at=at,
        cells=cells,
        dead_cells=dead,
        taken=taken,
        killed=out.killed,
        chicks=np.array([chicks[b.id] for b in plan.batches], dtype=np.int32).reshape(-1, n),
        came=came,
        growth=growth,
        anomaly_K=weather,
        feeds=tuple(farm.feeds),
        feed_kg=sums.feed_kg,
        water_l=sums.water_l,
        eggs=sums.eggs,
        killed_kg=sums.killed_kg,
    )
    _check_birds(draws)
    return draws


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


def _check_birds(draws: Draws) -> None:
    """Alive + dead + taken + killed = came, for each batch and sex of every draw, at the window's end."""
    lot_of: dict[tuple[str, str], Sequence[int]] = {}
    for i, lot in enumerate(draws.lots):
        lot_of[lot.batch, lot.sex] = (*lot_of.get((lot.batch, lot.sex), ()), i)
    for row, cohort in enumerate(draws.cohorts):
        balance = draws.came[row].astype(np.int64)
        for i in lot_of.get((cohort.batch, cohort.sex), ()):
            dead, heads = draws.dead_cells[draws.at[i]], draws.cells[draws.at[i]]
            balance -= dead.sum(axis=0) + draws.killed[i]
            mine = draws.taken.lot == i
            np.subtract.at(balance, draws.taken.draw[mine], draws.taken.birds[mine])
            if draws.span(i).stop == draws.days and heads.shape[0]:
                last = mine & (draws.taken.day == draws.days - 1)
                balance -= heads[-1] - dead[-1]
                np.add.at(balance, draws.taken.draw[last], draws.taken.birds[last])
        if balance.any():
            worst = int(np.abs(balance).argmax())
            raise ArithmeticError(
                f"{cohort.batch} {cohort.sex}: {balance[worst]} birds unaccounted in draw {worst}"
            )
