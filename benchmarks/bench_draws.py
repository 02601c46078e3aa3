"""A thousand seasons tried by whole birds, against the same lives as one SimPy process a bird.

    python benchmarks/bench_draws.py

Held: counts of 1,000 seasons of a farm that sets 640 eggs, over 365 days, at least 1,000 times faster than
SimPy, in one run on one machine. SimPy lives through a few seasons, and the time of the fastest is carried
to 1,000 in proportion; bird-days and deaths are shown beside, to see that both live the same lives (SimPy
without foxes, shelters and books). Shown too: all daily totals, chances of limits and bands of those 1,000
(wanted: under 1 s and 500 MB), and 200 draws of the example farm (under 0.2 s). Each time is the best of
several, in seconds of processor time.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from farms import farm
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Plan
from leyfold.season.chances.lives import lives
from leyfold.season.complete import complete
from leyfold.season.course import YEAR_D
from leyfold.season.draw import draw
from leyfold.season.tried import band, limit_chances
from leyfold.services.opened import open_farm

SEASONS = 1000
PLAIN_SEASONS = 5
AT_LEAST = 1000.0


def best(times: int, work: Callable[[], object]) -> float:
    """Seconds of processor time of the fastest of several runs: other work on the machine counts less."""
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took)


def the_plan(made: Farm) -> Plan:
    """Four sets of 160 eggs, four weeks apart."""
    batches = []
    for i in range(4):
        on = date(2027, 1, 4) + timedelta(days=28 * i)
        hatch = on + timedelta(days=21)
        batches.append(Batch(f"b{i}", "tawny", "set", hatch, hatch, set_on=on, eggs=160))
    return complete(made, Plan(tuple(batches), first=date(2027, 1, 4), last=date(2028, 1, 2)))


def lived_by_simpy(made: Farm, plan: Plan, seed: int) -> tuple[int, int]:
    """One season, every bird a process that wakes each morning; birds that died, and days lived."""
    import simpy

    line = made.lines["tawny"]
    rng = random.Random(seed)
    world = simpy.Environment()
    dead = lived = 0

    def bird(stages: list[tuple[int, float]], hatch: int):  # type: ignore[no-untyped-def]
        nonlocal dead, lived
        yield world.timeout(hatch)
        for days, rate in stages:
            for _ in range(days):
                lived += 1
                if rng.random() < rate:
                    dead += 1
                    return
                yield world.timeout(1)

    for batch in plan.batches:
        hatch = (batch.hatched_on - date(2027, 1, 4)).days
        steady = line.hatch_concentration.value
        chance = line.fertility.value * line.hatch_of_fertile.value
        rate = rng.betavariate(steady * chance, steady * (1 - chance))
        chicks = sum(rng.random() < rate for _ in range(batch.eggs or 0))
        shared = [
            survived(rng, line, s)
            for s in (
                line.survival_first_week.value,
                line.survival_brooder.value,
                line.survival_shelter.value,
            )
        ]
        grown = {
            sex: survived(rng, line, line.of(sex).survival_grower.value) for sex in ("pullet", "cockerel")
        }  # type: ignore[arg-type]
        hens = survived(rng, line, line.hen.survival_hen_year.value)
        for _ in range(chicks):
            sex = "pullet" if rng.random() < line.share_pullets.value else "cockerel"
            end = 126 if sex == "pullet" else 98
            leaves = 364 - hatch if sex == "pullet" else 98
            stages, from_d = [], 0
            for to_d, share in zip((7, 28, 56, end, end + YEAR_D), (*shared, grown[sex], hens), strict=True):
                stages.append((max(min(to_d, leaves) - from_d, 0), 1 - share ** (1 / (to_d - from_d))))
                from_d = to_d
            world.process(bird(stages, hatch))
    world.run()
    return dead, lived


def survived(rng: random.Random, line, mean: float) -> float:  # type: ignore[no-untyped-def]
    """A batch's own survival of a stage."""
    steady = line.loss_concentration.value
    return rng.betavariate(steady * mean, steady * (1 - mean))


def main() -> None:
    """Measures, prints, and fails where what is held does not hold."""
    made = farm()
    plan = the_plan(made)
    lives(made, plan, n=10, seed=0)
    ours = best(5, lambda: lives(made, plan, n=SEASONS, seed=1))
    plain, took = [], []
    for seed in range(PLAIN_SEASONS):
        start = time.process_time()
        plain.append(lived_by_simpy(made, plan, seed))
        took.append(time.process_time() - start)
    theirs = min(took) * SEASONS
    draws = draw(made, plan, n=SEASONS, seed=1)
    died = (draws.dead_cells.sum() + draws.taken.birds.sum()) / SEASONS
    dead, lived = np.mean(plain, axis=0)
    print(f"SimPy, {PLAIN_SEASONS} seasons carried to {SEASONS:,}:      {theirs:8.1f} s")
    print(f"    {lived:,.0f} bird-days and {dead:.1f} deaths a season")
    print(f"counts of {SEASONS:,} seasons:                {ours:8.3f} s")
    print(
        f"    {draws.cells.sum() / SEASONS:,.0f} bird-days and {died:.1f} deaths a season, foxes among them"
    )
    print(f"ratio {theirs / ours:,.0f}")

    def everything() -> None:
        tried = draw(made, plan, n=SEASONS, seed=1)
        limit_chances(made, tried)
        for totals in (tried.feed_kg.sum(axis=1), tried.water_l, tried.eggs, tried.killed_kg):
            band(totals)

    print(f"with daily totals, limits and bands:   {best(3, everything):8.3f} s (wanted: under 1)")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at its highest:                 {peak:8.0f} MB (wanted: under 500)")
    opened = open_farm(Path(__file__).parents[1] / "examples" / "demo", datetime(2026, 12, 1, tzinfo=UTC))
    demo = complete(opened.farm, opened.ahead)
    draw(opened.farm, demo, n=10, seed=0)
    few = best(5, lambda: draw(opened.farm, demo, n=200, seed=0))
    print(f"200 draws of the example farm:          {few:8.3f} s (wanted: under 0.2)")
    if theirs / ours < AT_LEAST:
        raise SystemExit(f"below {AT_LEAST:,.0f} times")


if __name__ == "__main__":
    main()
