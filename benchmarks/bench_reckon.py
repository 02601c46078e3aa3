"""The reckoning of the example farm: its time against its aim.

    python benchmarks/bench_reckon.py

Held: costs, takings and bands of 1,000 seasons drawn under 1 s of processor time, the drawing itself counted.
Shown too: the expected reckoning alone, which a planner would ask for again and again, the figures that
matter (every figure tried at both ends), promises and ringing, each as the best of several runs; and each
over the time of one expected season in the same run, so that the machine does not matter.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

from leyfold.reckoning.matters import matters
from leyfold.reckoning.orders import filled, promises, ring_first, supplies
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm

DEMO = Path(__file__).parents[1] / "examples" / "demo"
DRAWS = 1000
AIM_S = 1.0


def best(times: int, work: Callable[[], object]) -> float:
    """Seconds of processor time of the fastest of several runs."""
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took)


def main() -> int:
    opened = open_farm(DEMO, datetime(2026, 12, 1, tzinfo=UTC))
    farm = opened.farm
    season = expect(farm, complete(farm, opened.ahead))
    drawn = draw(farm, season.plan, n=DRAWS, seed=1)
    money = reckon(farm, season)

    def promise() -> None:
        found = supplies(farm, season, drawn)
        promises(farm, season, found)
        filled(farm, season, found)
        ring_first(farm, season, drawn, days=14, slips_on=date(2027, 5, 1))

    rows: dict[str, Callable[[], object]] = {
        "one expected season": lambda: expect(farm, season.plan),
        "reckoning, expected": lambda: reckon(farm, season),
        f"reckoning, {DRAWS} draws at hand": lambda: reckon(farm, season, drawn),
        f"reckoning, {DRAWS} draws drawn": lambda: reckon(
            farm, season, draw(farm, season.plan, n=DRAWS, seed=1)
        ),
        "figures that matter": lambda: matters(farm, season, money),
        "promises, orders, ringing": promise,
    }
    took = {name: best(5, work) for name, work in rows.items()}
    one = took["one expected season"]
    for name, seconds in took.items():
        print(f"{name:36} {seconds:8.3f} s {seconds / one:8.1f} x")
    held = took[f"reckoning, {DRAWS} draws drawn"] < AIM_S
    print(f"aim: {DRAWS} draws, drawn and reckoned, under {AIM_S:g} s: {'held' if held else 'MISSED'}")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
