"""The season expected: every lot on every day, smooth, as a hand sum gives it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm, Incubator
from leyfold.nouns.plan import Batch, Lot, Plan
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES
from leyfold.season.bird import alike
from leyfold.season.complete import complete
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, lifted_on, window
from leyfold.season.hens_ground import hens_ground
from leyfold.season.party import all_takes
from leyfold.season.places import breaches, place_days

__all__ = ["Birds", "Stand", "expect", "follow", "lots_of"]

Floats = NDArray[np.float64]

BALANCE = 1e-9


def expect(farm: Farm, plan: Plan) -> Season:
    """What follows from `plan` (completed first where it is not) in an average year.

    Raises ArithmeticError where birds are lost or doubled between stays by more than 1e-9 of the flock:
    a fault of the program, never of the plan.
    """
    plan = complete(farm, plan)
    span = window(plan)
    run = course(farm, plan.batches, span)
    stand = lots_of(plan, run)
    heads = run.alive[stand.row] * stand.share[:, None] * stand.here
    dead = heads * (1.0 - run.survive[stand.row])
    killed, killed_kg = _killed(run, plan, stand)
    _check_birds(run, plan, stand, heads, dead, killed)
    return follow(farm, plan, run, stand, stand.factor, Birds(heads, dead, killed, killed_kg))


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """The lots of a completed plan: of each its row of the course, share and weight factor, [lot], and the
    days of its stay, [lot, day]."""

    lots: tuple[Lot, ...]
    row: NDArray[np.intp]
    share: Floats
    factor: Floats
    here: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Birds:
    """[lot, day] heads, deaths, birds killed and their live weight."""

    heads: Floats
    dead: Floats
    killed: Floats
    killed_kg: Floats


def follow(
    farm: Farm,
    plan: Plan,
    run: Course,
    stand: Stand,
    factor: Floats,
    birds: Birds,
    warmth_C: Floats | None = None,
) -> Season:
    """All that follows from the birds there are: weights (`factor` [lot] over the mean of the sex), feed,
    water, dung, eggs, places and breaches, at the temperatures of the months or at `warmth_C` [day]."""
    span, heads = run.window, birds.heads
    each, of = alike(farm, run, stand.row, factor, warmth_C)
    weight = run.weight_kg[stand.row] * factor[:, None] * stand.here
    hatching = _hatching(plan, run)
    by_machine = {
        name: sum(
            (_in_machine(kit, span, b) for b in plan.batches if b.incubator == name), np.zeros(span.days)
        )
        for name, kit in farm.incubators.items()
    }
    n_kg = heads * each.n_kg[of]
    places = place_days(farm, stand.lots, heads, heads * weight, n_kg, run.age_d[stand.row], by_machine)
    return Season(
        first=span.first,
        days=span.days,
        plan=plan,
        lots=stand.lots,
        age_d=run.age_d[stand.row],
        heads=heads,
        weight_kg=weight,
        dead=birds.dead,
        killed=birds.killed,
        killed_kg=birds.killed_kg,
        feed_kg=heads * each.feed_kg[of],
        feeds=tuple(farm.feeds),
        feed_kind=np.where(stand.here, each.feed_kind[of], -1).astype(np.int8),
        water_l=heads * each.water_l[of],
        n_kg=n_kg,
        p_kg=heads * each.p_kg[of],
        k_kg=heads * each.k_kg[of],
        eggs=heads * each.eggs[of],
        egg_kg=heads * each.egg_kg[of],
        hatching_eggs=hatching,
        places=places,
        breaches=tuple(
            sorted(
                (*breaches(farm, span, places), *hens_ground(farm, span, plan, stand.lots, heads, n_kg)),
                key=lambda b: (b.first, b.where, b.limit.id),
            )
        ),
    )


def lots_of(plan: Plan, run: Course) -> Stand:
    """Every stay of the completed plan times the sexes in it, in the order of the stays."""
    lots, pick, share, factor = [], [], [], []
    here = []
    for stay in plan.stays:
        days = np.zeros(run.window.days, dtype=bool)
        days[run.window.clipped(stay.first) : run.window.clipped(stay.until)] = True
        for sex in SEXES if stay.sex is None else (stay.sex,):
            lots.append(Lot(f"{stay.id}.{sex}", stay.batch, sex, stay.id, stay.place))
            pick.append(run.row(stay.batch, sex))
            share.append(stay.share)
            factor.append(stay.weight_factor)
            here.append(days)
    there = np.array(here, dtype=bool).reshape(len(lots), run.window.days)
    return Stand(tuple(lots), np.array(pick, dtype=np.intp), np.array(share), np.array(factor), there)


def _killed(run: Course, plan: Plan, stand: Stand) -> tuple[Floats, Floats]:
    """Heads killed or put out and their live weight, on the day they leave, by the lots that end that day."""
    lots, share = stand.lots, stand.share
    killed = np.zeros((len(lots), run.window.days))
    kg = np.zeros_like(killed)
    until = {stay.id: stay.until for stay in plan.stays}
    ends: dict[tuple[int, date], list[int]] = {}
    for i, lot in enumerate(lots):
        ends.setdefault((int(stand.row[i]), until[lot.stay]), []).append(i)
    for (batch, sex), takes in all_takes(run.rows, plan.outs).items():
        row = run.row(batch, sex)
        for take in takes:
            day = run.window.index(take.on)
            if not 0 <= day < run.window.days:
                continue
            ending = ends.get((row, take.on), [])
            stood = sum(float(share[i]) for i in ending)
            for i in ending:
                part = take.taken * float(share[i]) / stood
                killed[i, day] = run.alive[row, day] * part
                kg[i, day] = killed[i, day] * run.weight_kg[row, day] * take.taken_factor
    return killed, kg


def _hatching(plan: Plan, run: Course) -> Floats:
    """[batch, day] eggs in the incubator."""
    eggs = np.zeros((len(plan.batches), run.window.days))
    for i, batch in enumerate(plan.batches):
        if batch.set_on is not None and batch.eggs is not None:
            eggs[i, run.window.clipped(batch.set_on) : run.window.clipped(batch.hatched_on)] = batch.eggs
    return eggs


def _in_machine(kit: Incubator, span: Window, batch: Batch) -> Floats:
    """[day] eggs of a set in the places of its machine."""
    eggs = np.zeros(span.days)
    if batch.set_on is not None and batch.eggs is not None:
        eggs[span.clipped(batch.set_on) : span.clipped(lifted_on(kit, batch.hatched_on))] = batch.eggs
    return eggs


def _check_birds(run: Course, plan: Plan, stand: Stand, heads: Floats, dead: Floats, killed: Floats) -> None:
    """Alive + dead + killed = hatched + bought, for each batch and sex on every day. A window that opens
    later begins with those whom the drafts before it have left."""
    drafts = all_takes(run.rows, plan.outs)
    for line, row in enumerate(run.rows):
        mine = np.flatnonzero(stand.row == line)
        start = run.window.clipped(row.batch.arrives_on)
        past = [take.left for take in drafts[row.batch.id, row.sex] if take.on < run.window.first]
        came = run.alive[line, start] * (past[-1] if past else 1.0) if start < run.window.days else 0.0
        lost = np.concatenate(([0.0], np.cumsum(dead[mine].sum(axis=0))[:-1])) + np.cumsum(
            killed[mine].sum(axis=0)
        )
        off = np.abs(heads[mine].sum(axis=0) + lost - came)[start:]
        if off.size and off.max() > BALANCE * max(came, 1.0):
            day = run.window.day(start + int(off.argmax()))
            raise ArithmeticError(f"{row.batch.id} {row.sex}: {off.max():.3g} birds unaccounted on {day}")
