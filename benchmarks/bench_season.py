"""The season expected: its time against its aims, medians.

    python benchmarks/bench_season.py

The demo's season from a plan as written, the same with ten times the batches and shelters (a ratio within one
run, so the machine does not matter), the same of the checker's walk, and the commands as whole processes,
cold imports and all. The times of a machine with other work say little: look at the processor's column then.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.plan.checker import check
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm

DEMO = Path(__file__).resolve().parents[1] / "examples" / "demo"
TIMES = 10


def copied(farm: Farm, plan: Plan) -> tuple[Farm, Plan]:
    """The farm and its plan several times over, on the same days."""
    copies = range(TIMES)
    shelters = {f"{k}-{n}": replace(s, id=f"{k}-{n}") for n in copies for k, s in farm.shelters.items()}
    batches = tuple(replace(b, id=f"{b.id}-{n}") for n in copies for b in plan.batches)
    stays = [
        replace(
            stay,
            id=f"{stay.id}-{n}",
            batch=f"{stay.batch}-{n}",
            place=f"{stay.place}-{n}" if stay.place in farm.shelters else stay.place,
        )
        for n in copies
        for stay in plan.stays
    ]
    outs = [replace(out, batch=f"{out.batch}-{n}") for n in copies for out in plan.outs]
    return replace(farm, shelters=shelters), replace(
        plan, batches=batches, stays=tuple(stays), outs=tuple(outs)
    )


def spent() -> float:
    """Processor seconds of this process and of those it has waited for."""
    now = os.times()
    return now.user + now.system + now.children_user + now.children_system


def median_s(work: Callable[[], object], runs: int) -> tuple[float, float]:
    """(on the wall, of the processor)"""
    wall, processor = [], []
    for _ in range(runs):
        start, start_cpu = time.perf_counter(), spent()
        work()
        wall.append(time.perf_counter() - start)
        processor.append(spent() - start_cpu)
    return statistics.median(wall), statistics.fmean(processor)


def command(*words: str) -> Callable[[], object]:
    call = [sys.executable, "-m", "leyfold", *words]
    return lambda: subprocess.run(call, check=True, stdout=subprocess.DEVNULL)


def main() -> int:
    opened = open_farm(DEMO, datetime.now(UTC))
    many, plans = copied(opened.farm, opened.ahead)
    expect(opened.farm, opened.ahead)  # imports and caches are no part of it
    one = median_s(lambda: expect(opened.farm, opened.ahead), 40)
    ten = median_s(lambda: expect(many, plans), 10)
    plan, long = complete(opened.farm, opened.ahead), complete(many, plans)
    walked = median_s(lambda: check(opened.farm, plan), 10)
    walked_ten = median_s(lambda: check(many, long), 5)
    bare = median_s(command("--help"), 5)
    whole = median_s(command("season", str(DEMO)), 5)
    rows = (
        ("season of the demo", one[0], one[1], 0.030, "s"),
        (f"{TIMES} times the batches", ten[0] / one[0], ten[1] / one[1], float(TIMES), "times"),
        (
            f"the plan walked, {TIMES} times",
            walked_ten[0] / walked[0],
            walked_ten[1] / walked[1],
            15.0,
            "times",
        ),
        ("leyfold --help", *bare, 0.150, "s"),
        ("leyfold season demo", *whole, 1.5, "s"),
    )
    print(f"{'':24}{'measured':>10}{'processor':>11}{'aim under':>11}")
    for name, wall, processor, aim, unit in rows:
        verdict = (
            "" if wall < aim else "  missed" if processor >= aim else "  missed, but not by the processor"
        )
        print(f"{name:24}{wall:10.3f}{processor:11.3f}{aim:11.3f} {unit}{verdict}")
    return int(any(wall >= aim for _, wall, _, aim, _ in rows))


if __name__ == "__main__":
    raise SystemExit(main())
