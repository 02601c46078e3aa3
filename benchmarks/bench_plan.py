"""Plans for farms at random, each walked by the checker; HiGHS on the same model.

    python benchmarks/bench_plan.py [farms of each size, 3 where left out]

Prints every figure; fails where the checker finds a breach in a plan or the objective is not the reckoning.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan.checker import check
from leyfold.plan.make import solved
from leyfold.plan.solver import solve_highs
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect
from random_farms import random_farm

PEER_S = 30.0


def main(count: int) -> int:
    wrong = 0
    for size in ("tiny", "small"):
        for seed in range(count):
            made = random_farm(seed, size)
            farm = made.farm
            plan = made.plan(farm)
            began = time.monotonic()
            answer = solved(farm, State(), plan, made.at(plan), seconds=PEER_S)
            took, planned = time.monotonic() - began, answer.outcome
            if not isinstance(planned, Planned):
                print(f"{size} {seed}: no plan, {took:.1f} s: {[r.group for r in planned.reasons]}")
                continue
            found = check(farm, planned.completed)
            off = reckon(farm, expect(farm, planned.completed)).total() - planned.objective
            peer = solve_highs(answer.model.linear, seconds=max(took, 1.0))
            peer_gain = peer.gain if peer.values is not None else None
            print(
                f"{size} {seed}: {took:.1f} s, margin {planned.objective:.2f}, gap {planned.gap:.4f}, "
                f"findings {len(found)}, off {off:.4f}; gain {answer.solved.gain}, peer {peer_gain}"
            )
            wrong += bool(found) or abs(off) > 0.01
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
