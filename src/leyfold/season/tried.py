"""What the draws say: chances of passing limits, bands, and any one draw as a whole season."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.draws import Band, Draws, LimitChance
from leyfold.nouns.farm import Farm, Incubator
from leyfold.nouns.limits import Limit
from leyfold.nouns.season import Season
from leyfold.season.bird import temperatures
from leyfold.season.chances.risks import risk
from leyfold.season.chances.streams import by_date
from leyfold.season.chances.totals import Table, batch_cv, between, table
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, lifted_on
from leyfold.season.expect import Birds, Stand, follow, lots_of
from leyfold.season.filling.indoors import floor_need_m2
from leyfold.season.party import M2_PER_HA, limits_of
from leyfold.season.places import breaches

__all__ = ["PlaceTries", "band", "limit_chances", "one", "place_tries"]

Singles = NDArray[np.float32]

SINGLE = 1e-6
"""A place is over its limit when it passes it by more than this share: single precision, not tolerance."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceTries:
    """What stands on one place, [day, draw], over the days `span` on which the plan has birds or eggs in it.

    As in `PlaceDays`; a shelter left unmoved by mischance gives its stand the nitrogen of two days.
    """

    place: str
    kind: str
    span: slice
    heads: Singles
    heads_per_m2: Singles
    kg_per_m2: Singles
    kg_n_per_ha_pass: Singles
    floor_share: Singles


def band(values: NDArray[np.float32] | NDArray[np.int32], axis: int = 0) -> Band:
    """The 5, 50 and 95 % points over the axis of draws."""
    low, middle, high = np.percentile(values, (5, 50, 95), axis=axis)
    return Band(low.astype(np.float32), middle.astype(np.float32), high.astype(np.float32))


def one(farm: Farm, draws: Draws, index: int) -> Season:
    """Draw `index` in every detail, by the same equations as the season expected, at its own temperatures
    and with its own luck in growth. IndexError for a draw there is not."""
    if not 0 <= index < draws.n:
        raise IndexError(f"draw {index} of {draws.n}")
    run, stand = _again(farm, draws)
    batch, cv = batch_cv(run, stand)
    luck = 1.0 + cv.astype(np.float64) * draws.growth[batch, index]
    heads, dead, killed, kg = (np.zeros((len(draws.lots), draws.days)) for _ in range(4))
    for i in range(len(draws.lots)):
        heads[i, draws.span(i)] = draws.cells[draws.at[i], index]
        dead[i, draws.span(i)] = draws.dead_cells[draws.at[i], index]
        if draws.span(i).stop < draws.days:
            killed[i, draws.span(i).stop] = draws.killed[i, index]
    mine = draws.taken.draw == index
    np.add.at(dead, (draws.taken.lot[mine], draws.taken.day[mine]), draws.taken.birds[mine])
    # The draft's weight is known for the day: each lot has its part by heads and mean weight.
    raw = killed * run.weight_kg[stand.row] * luck[:, None]
    whole = raw.sum(axis=0)
    np.divide(raw * draws.killed_kg[index], whole, out=kg, where=whole > 0)
    warmth = np.clip(temperatures(farm, run.window) + draws.anomaly_K[:, index], -40.0, 50.0)
    season = follow(farm, draws.plan, run, stand, stand.factor * luck, Birds(heads, dead, killed, kg), warmth)
    places = {
        name: replace(
            at,
            kg_n_per_ha_pass=at.kg_n_per_ha_pass * _passes(farm, draws, name, slice(0, draws.days))[:, index],
        )
        if at.kind == "shelter"
        else at
        for name, at in season.places.items()
    }
    # Only shelters stand otherwise than in an average year.
    others = [b for b in season.breaches if places[b.where].kind != "shelter"]
    shelters = {name: at for name, at in places.items() if at.kind == "shelter"}
    passed = sorted(
        (*others, *breaches(farm, run.window, shelters)), key=lambda b: (b.first, b.where, b.limit.id)
    )
    return replace(season, places=places, breaches=tuple(passed))


def place_tries(farm: Farm, draws: Draws) -> Iterator[PlaceTries]:
    """Every place in use, one after another: each is a few times n x days x 4 bytes."""
    run, stand = _again(farm, draws)
    each = table(farm, run, stand)
    batch, cv = batch_cv(run, stand)
    knot, part = between(draws.anomaly_K)
    for name, machine in farm.incubators.items():
        if (held := _hatching(draws, machine)) is not None:
            span, eggs = held
            heads = np.repeat(eggs[:, None], draws.n, axis=1)
            none = np.zeros_like(heads)
            yield PlaceTries(name, "incubator", span, heads, none, none, none, none)
    for kind, kits in (("brooder", farm.brooders), ("shelter", farm.shelters), ("house", farm.houses)):
        for name, kit in kits.items():
            lots = [i for i in draws.lots_in(name) if draws.at[i].stop > draws.at[i].start]
            if not lots:
                continue
            span = slice(min(draws.span(i).start for i in lots), max(draws.span(i).stop for i in lots))
            heads, kg, n_kg, need = (
                np.zeros((span.stop - span.start, draws.n), dtype=np.float32) for _ in range(4)
            )
            for i in lots:
                days = draws.span(i)
                part_of = slice(days.start - span.start, days.stop - span.start)
                birds = draws.cells[draws.at[i]].astype(np.float32)
                luck = cv[i] * draws.growth[batch[i]]
                heads[part_of] += birds
                weight = run.weight_kg[stand.row[i], days] * stand.factor[i]
                kg[part_of] += birds * weight.astype(np.float32)[:, None] * (1 + luck)
                if kind == "shelter":
                    n_kg[part_of] += birds * _of_bird(each, i, days, knot[days], part[days], luck)
                if kind == "brooder":
                    of_bird = floor_need_m2(farm, np.ones(birds.shape[0]), run.age_d[stand.row[i], days])
                    need[part_of] += birds * of_bird.astype(np.float32)[:, None]
            if kind == "shelter":
                n_kg *= np.float32(M2_PER_HA / farm.shelters[name].moves_per_day / kit.floor_m2)
                n_kg *= _passes(farm, draws, name, span)
            floor = np.float32(kit.floor_m2)
            per_m2 = [np.asarray(x / floor, dtype=np.float32) for x in (heads, kg, need)]
            yield PlaceTries(name, kind, span, heads, per_m2[0], per_m2[1], n_kg, per_m2[2])


def limit_chances(farm: Farm, draws: Draws) -> tuple[LimitChance, ...]:
    """Every limit of every place in use, likeliest to be passed first."""
    found = [
        _chance(draws, limit, at)
        for at in place_tries(farm, draws)
        for limit in limits_of(farm, at.kind, at.place)
    ]
    return tuple(sorted(found, key=lambda c: (-c.chance, c.where, c.limit.id)))


def _chance(draws: Draws, limit: Limit, at: PlaceTries) -> LimitChance:
    values: Singles = at.heads if limit.quantity in ("eggs", "heads") else getattr(at, limit.quantity)
    over = values > np.float32(limit.at_most * (1 + SINGLE))
    passed = over.any(axis=0)
    worst = float(np.percentile(values.max(axis=0), 95))
    first = None
    if passed.any():
        on = np.sort(over[:, passed].argmax(axis=0)) + at.span.start
        at_points = [int(on[min(int(q * on.size), on.size - 1)]) for q in (0.05, 0.5, 0.95)]
        first = (draws.day(at_points[0]), draws.day(at_points[1]), draws.day(at_points[2]))
    return LimitChance(limit, at.place, float(passed.mean()), first, worst)


def _again(farm: Farm, draws: Draws) -> tuple[Course, Stand]:
    run = course(farm, draws.plan.batches, Window(draws.first, draws.days))
    return run, lots_of(draws.plan, run)


def _of_bird(
    each: Table, lot: int, days: slice, knot: NDArray[np.intp], part: Singles, luck: Singles
) -> Singles:
    """[day, draw] nitrogen that one bird of a lot drops."""
    at = each.n_kg[:, lot, days].T
    low = np.take_along_axis(at, knot, axis=1)
    value: Singles = low + (np.take_along_axis(at, knot + 1, axis=1) - low) * part
    return value + each.n_slope[lot, days, None] * luck


def _passes(farm: Farm, draws: Draws, shelter: str, span: slice) -> Singles:
    """[day, draw] days' dung that the stand of the day gets: 1, or 2 where the shelter was not moved."""
    missed = by_date(
        draws.day(span.start), span.stop - span.start, "missed move", shelter, seed=draws.seed, n=draws.n
    )
    return 1.0 + (missed < risk(farm, "missed_move_chance")).astype(np.float32)


def _hatching(draws: Draws, kit: Incubator) -> tuple[slice, Singles] | None:
    """The days on which the incubator holds eggs, and how many: set by hand, no chance in it."""
    eggs = np.zeros(draws.days, dtype=np.float32)
    for batch in draws.plan.batches:
        if batch.incubator == kit.id and batch.set_on is not None and batch.eggs is not None:
            eggs[
                max(draws.index(batch.set_on), 0) : max(draws.index(lifted_on(kit, batch.hatched_on)), 0)
            ] += batch.eggs
    held = np.flatnonzero(eggs)
    if not held.size:
        return None
    span = slice(int(held[0]), int(held[-1]) + 1)
    return span, eggs[span]
