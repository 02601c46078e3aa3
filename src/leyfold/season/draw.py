"""The season tried many times by whole birds."""

from __future__ import annotations

import numpy as np

from leyfold.nouns.draws import Cohort, Draws
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.season.chances import luck
from leyfold.season.chances.lives import lives
from leyfold.season.chances.totals import totals
from leyfold.season.chances.weather_years import anomalies

__all__ = ["draw"]


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
    lived = lives(farm, plan, n=n, seed=seed, shared=shared)
    plan, run = lived.plan, lived.run
    growth = np.array([luck.growth(b, n=n, seed=seed) for b in plan.batches], dtype=np.float32).reshape(-1, n)
    weather = anomalies(farm, run.window, n=n, seed=seed)
    sums = totals(farm, plan, run, lived.stand, lived.cells, lived.killed, growth, weather, seed)
    return Draws(
        first=run.window.first,
        days=run.window.days,
        n=n,
        seed=seed,
        shared=shared,
        plan=plan,
        lots=lived.stand.lots,
        cohorts=tuple(Cohort(row.batch.id, row.sex) for row in run.rows),
        first_day=lived.first_day,
        at=lived.at,
        cells=lived.cells,
        dead_cells=lived.dead_cells,
        taken=lived.taken,
        killed=lived.killed,
        chicks=lived.chicks,
        came=lived.came,
        growth=growth,
        anomaly_K=weather,
        feeds=tuple(farm.feeds),
        feed_kg=sums.feed_kg,
        water_l=sums.water_l,
        eggs=sums.eggs,
        killed_kg=sums.killed_kg,
    )
