"""Reading land: seconds to refuse what is far too large, and ratios that ought to hold.

    python benchmarks/bench_ground_reading.py

Every huge file must be refused within two seconds. Twice the corners may cost at most three times the time,
and a thousand stands' skirt gaps at most a twentieth of one linear programme each.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from time import perf_counter

import numpy as np
from scipy.optimize import linprog

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from ground_huge import HUGE
from leyfold.ground.gap import rest, skirt
from leyfold.ground.read import read_land
from leyfold.nouns.errors import BadInput

MOST_S = 2.0


def seconds(work: Callable[[], object], times: int = 1) -> float:
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return min(taken)


def star(corners: int) -> str:
    """A round field of some 3 ha with that many corners."""
    a = np.arange(corners) / corners * 2 * np.pi
    r = 1 + 0.05 * np.cos(9 * a)
    ring = np.column_stack((14 + 0.0016 * r * np.cos(a), 56 + 0.0009 * r * np.sin(a))).tolist()
    return json.dumps({"type": "Polygon", "coordinates": [[*ring, ring[0]]]})


def refuse(text: str | bytes, name: str) -> None:
    with suppress(BadInput):
        read_land(text, name=name)
        raise AssertionError(f"{name}: not refused")


def main() -> int:
    failed = False
    read_land(star(100), name="warm")
    for name, (make, _) in HUGE.items():
        text = make()
        taken = seconds(partial(refuse, text, name))
        failed |= taken > MOST_S
        print(f"{taken:6.2f} s  {len(text) / 1e6:6.1f} MB  refused: {name}")

    few, many = (seconds(partial(read_land, star(n), name="star"), 5) for n in (5_000, 10_000))
    failed |= many > 3 * few
    print(f"{few:6.3f} s, {many:6.3f} s  5,000 and 10,000 corners: {many / few:.2f} times")

    around = skirt(3.35, 3.05)
    heights = np.random.default_rng(1).normal(0, 0.01, (1000, len(around.points))).cumsum(axis=1)
    rows = np.column_stack((np.ones(len(around.points)), around.points))
    ours = seconds(lambda: rest(around, heights), 3)
    theirs = 20 * seconds(
        lambda: [linprog([1, 0, 0], A_ub=-rows, b_ub=-z, bounds=[(None, None)] * 3) for z in heights[:50]]
    )
    failed |= ours > theirs / 20
    print(f"{ours:6.3f} s for 1,000 stands; {theirs:5.2f} s by a programme each: {theirs / ours:.0f} times")
    return int(failed)


if __name__ == "__main__":
    raise SystemExit(main())
