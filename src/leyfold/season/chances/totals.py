"""Farm totals of every draw and day: feed by kind, water, eggs, live weight killed.

What a bird eats and drinks is reckoned by `season.bird` at a row of temperatures and read off between them;
the batch's luck in growth enters in the first order. Against reckoning each draw anew (`season.tried`) feed
of a day is right within 0.5 % and water within 3 %, without a bias to speak of: the tests hold it so.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.season.bird import PerHead, per_head, temperatures
from leyfold.season.chances.streams import stream
from leyfold.season.course import Course
from leyfold.season.expect import Stand
from leyfold.season.party import all_takes

__all__ = ["KNOTS_K", "Table", "Totals", "batch_cv", "between", "table", "totals"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]

KNOTS_K = np.arange(-14.0, 14.1, 2.0)
"""Departures from the month's mean at which birds are reckoned."""
STEP_K = 2.0
LUCK = 0.05
"""Step in the weight factor over which the slope by growth is taken."""

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True, eq=False)
class Totals:
    feed_kg: Singles
    water_l: Singles
    eggs: Singles
    killed_kg: Singles


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """[knot, lot, day] of one bird of the lot: feed, water and nitrogen at each knot; [lot, day] their slopes
    by the weight factor, at the month's mean."""

    feed_kg: Singles
    water_l: Singles
    n_kg: Singles
    feed_slope: Singles
    water_slope: Singles
    n_slope: Singles
    feed_kind: NDArray[np.int8]
    eggs: Singles


def table(farm: Farm, run: Course, stand: Stand) -> Table:
    """Reckoned once for each row and weight factor, then handed to the lots."""
    kinds, of_lot = np.unique(np.stack([stand.row, stand.factor]), axis=1, return_inverse=True)
    rows, factors = kinds[0].astype(np.intp), kinds[1]
    usual = temperatures(farm, run.window)
    warmth = np.clip(usual + KNOTS_K[:, None], -40.0, 50.0)
    k, m = KNOTS_K.size, rows.size
    each = per_head(farm, run, np.tile(rows, k), np.tile(factors, k), np.repeat(warmth, m, axis=0))
    more = per_head(farm, run, rows, factors * (1.0 + LUCK))
    less = per_head(farm, run, rows, factors * (1.0 - LUCK))
    of_lot = of_lot.reshape(-1)

    def knots(name: str) -> Singles:
        values = getattr(each, name).reshape(k, m, run.window.days)
        return np.asarray(values[:, of_lot], dtype=np.float32)

    def slope(name: str) -> Singles:
        return np.asarray(
            ((getattr(more, name) - getattr(less, name)) / (2 * LUCK))[of_lot], dtype=np.float32
        )

    at_mean: PerHead = more
    return Table(
        knots("feed_kg"),
        knots("water_l"),
        knots("n_kg"),
        slope("feed_kg"),
        slope("water_l"),
        slope("n_kg"),
        at_mean.feed_kind[of_lot],
        np.asarray(at_mean.eggs[of_lot], dtype=np.float32),
    )


def between(anomaly_K: Singles) -> tuple[NDArray[np.intp], Singles]:
    """The knot below each departure, and how far it is to the next."""
    place = np.clip((anomaly_K - KNOTS_K[0]) / STEP_K, 0.0, KNOTS_K.size - 1.001)
    knot = place.astype(np.intp)
    return knot, np.asarray(place - knot, dtype=np.float32)


def batch_cv(run: Course, stand: Stand) -> tuple[NDArray[np.intp], Singles]:
    """[lot] the batch's place in the plan, and how far one standard deviation of luck goes."""
    order = {b: i for i, b in enumerate(dict.fromkeys(row.batch.id for row in run.rows))}
    rows = [run.rows[i] for i in stand.row]
    return (
        np.array([order[r.batch.id] for r in rows], dtype=np.intp),
        np.array([r.traits.batch_weight_cv.value for r in rows], dtype=np.float32),
    )


def totals(
    farm: Farm,
    plan: Plan,
    run: Course,
    stand: Stand,
    cells: Counts,
    killed: Counts,
    growth: Singles,
    anomaly_K: Singles,
    seed: int,
) -> Totals:
    """Sums over the lots, day by day; arguments as in `Draws`."""
    days, n = anomaly_K.shape
    each = table(farm, run, stand)
    knot, part = between(anomaly_K)
    batch, cv = batch_cv(run, stand)
    feed = np.zeros((len(farm.feeds), days, n), dtype=np.float32)
    water, eggs = np.zeros((days, n), dtype=np.float32), np.zeros((days, n), dtype=np.float32)
    # Lots of no day begin and end on day 0 here, and so hold in no stretch of days.
    first, length = stand.here.argmax(axis=1), stand.here.sum(axis=1)
    until, start = first + length, np.cumsum(length) - length
    edges = np.unique(np.concatenate([first, until])[np.tile(length > 0, 2)])
    for a, b in pairwise(map(int, edges)):
        who = np.flatnonzero((first <= a) & (b <= until))
        if not who.size:
            continue
        span = slice(a, b)
        heads = np.empty((b - a, who.size, n), dtype=np.float32)
        for k, i in enumerate(who):
            heads[:, k] = cells[start[i] + a - first[i] : start[i] + b - first[i]]
        lucky = heads * (growth[batch[who]] * cv[who, None])
        read = _Reading(heads, lucky, knot[span, None], part[span])
        eggs[span] = _sum(each.eggs[who, span], heads)
        water[span] = read(each.water_l[:, who, span], each.water_slope[who, span])
        kinds = each.feed_kind[who, span]
        for kind in np.unique(kinds[kinds >= 0]):
            eats = kinds == kind
            feed[kind, span] = read(each.feed_kg[:, who, span] * eats, each.feed_slope[who, span] * eats)
    kg = _killed_kg(plan, run, stand, killed, growth, batch, cv, seed)
    return Totals(
        np.ascontiguousarray(feed.transpose(2, 0, 1)),
        np.ascontiguousarray(water.T),
        np.ascontiguousarray(eggs.T),
        np.ascontiguousarray(kg.T),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Reading:
    """Sums over the lots of one stretch of days, read between knots; arrays are [day, lot, draw]."""

    heads: Singles
    lucky: Singles
    knot: NDArray[np.intp]
    part: Singles

    def __call__(self, at: Singles, slope: Singles) -> Singles:
        """[day, draw] from [knot, lot, day] and [lot, day] of one bird."""
        rows = at.transpose(2, 0, 1) @ self.heads
        low = np.take_along_axis(rows, self.knot, axis=1)[:, 0]
        high = np.take_along_axis(rows, self.knot + 1, axis=1)[:, 0]
        return np.asarray(low + (high - low) * self.part + _sum(slope, self.lucky), dtype=np.float32)


def _sum(of_bird: Singles, birds: Singles) -> Singles:
    """[day, draw] from [lot, day] and [day, lot, draw]."""
    total: Singles = (of_bird.T[:, None, :] @ birds)[:, 0]
    return total


def _killed_kg(
    plan: Plan,
    run: Course,
    stand: Stand,
    killed: Counts,
    growth: Singles,
    batch: NDArray[np.intp],
    cv: Singles,
    seed: int,
) -> Singles:
    """[day, draw]: the birds of a draft weigh its part of the normal spread about the batch's own mean, and
    their sum spreads as that of so many birds."""
    n = killed.shape[1] if killed.size else growth.shape[1]
    kg = np.zeros((run.window.days, n), dtype=np.float32)
    until = {stay.id: stay.until for stay in plan.stays}
    for (name, sex), takes in all_takes(run.rows, plan.outs).items():
        row = run.row(name, sex)
        spread = run.rows[row].traits.weight_cv.value
        gone = 0.0
        for take in takes:
            day = run.window.index(take.on)
            upper, gone = gone, gone + take.taken
            ending = [i for i in np.flatnonzero(stand.row == row) if until[stand.lots[i].stay] == take.on]
            if not (0 <= day < run.window.days and ending):
                continue
            birds = killed[ending].sum(axis=0).astype(np.float32)
            weight = run.weight_kg[row, day] * (1.0 + cv[ending[0]] * growth[batch[ending[0]]])
            within = spread * (_spread_between(upper, gone) if sex == "cockerel" else 1.0)
            noise = stream(seed, name, sex, "weights", take.on).standard_normal(n, dtype=np.float32)
            kg[day] += weight * (birds * take.taken_factor + within * np.sqrt(birds) * noise)
    return kg


def _spread_between(upper: float, lower: float) -> float:
    """Standard deviation of a standard normal between the quantiles that cut off these shares above them."""
    share = lower - upper
    if share <= 0.0:
        return 0.0

    def edge(q: float) -> tuple[float, float]:
        if q <= 1e-12 or q >= 1.0 - 1e-12:
            return 0.0, 0.0
        z = _NORMAL.inv_cdf(1.0 - q)
        return _NORMAL.pdf(z), z * _NORMAL.pdf(z)

    (high, high_z), (low, low_z) = edge(upper), edge(lower)
    variance = 1.0 + (low_z - high_z) / share - ((low - high) / share) ** 2
    return float(max(variance, 0.0) ** 0.5)
