"""Plans: the demo farm, farms of twenty shelters and three lines over a year, farms at random; and the peer.

    python benchmarks/bench_plan.py [farms of each size, 5 where left out] [large farms, 3 where left out]
    python benchmarks/bench_plan.py 100 0     the 200 farms at random (half an hour)

The peer is HiGHS alone, on the same model, as long as our work took once the problem was posed; ours solves
two parts at once where there are two cores. Held: the checker finds no breach in any plan, the objective is
the reckoning, and no plan is worse than the peer's. Shown: when the first plan stood that keeps every wish,
and the gap. Seconds are the clock's; on a busy machine look at the processor's.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from unittest.mock import patch

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))
# As the command line does: small products of matrices are quicker in one thread.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from leyfold.nouns.farm import Farm  # noqa: E402
from leyfold.nouns.plan import Plan  # noqa: E402
from leyfold.nouns.planned import Planned  # noqa: E402
from leyfold.nouns.record import State  # noqa: E402
from leyfold.plan import make, settled  # noqa: E402
from leyfold.plan.bound import bounded  # noqa: E402
from leyfold.plan.checker import check  # noqa: E402
from leyfold.plan.finer import finer  # noqa: E402
from leyfold.plan.model import MONEY  # noqa: E402
from leyfold.plan.solver import solve_highs  # noqa: E402
from leyfold.reckoning.reckon import reckon  # noqa: E402
from leyfold.season.expect import expect  # noqa: E402
from leyfold.services.opened import open_farm  # noqa: E402
from random_farms import Size, random_farm  # noqa: E402

DEMO_AT = datetime(2026, 12, 21, 6, tzinfo=UTC)
DEMO_CAPS_S = (2.0, 10.0, 30.0)
LARGE_CAP_S, SMALL_CAP_S = 30.0, 20.0
CENT = 0.01


@dataclass(frozen=True)
class Case:
    name: str
    farm: Farm
    state: State
    plan: Plan
    at: datetime
    cap_s: float


def cases(count: int, large: int) -> Iterator[Case]:
    opened = open_farm(ROOT / "examples" / "demo", DEMO_AT)
    for cap_s in DEMO_CAPS_S:
        yield Case(f"demo, {cap_s:g} s", opened.farm, opened.state, opened.ahead, DEMO_AT, cap_s)
    sizes: tuple[tuple[Size, int, float], ...] = (
        ("year", large, LARGE_CAP_S),
        ("tiny", count, SMALL_CAP_S),
        ("small", count, SMALL_CAP_S),
    )
    for size, many, cap_s in sizes:
        for seed in range(many):
            made = random_farm(seed, size)
            farm = made.farm
            plan = made.plan(farm)
            yield Case(f"{size} {seed}", farm, State(), plan, made.at(plan), cap_s)


def tried(case: Case) -> list[str]:
    """What is wrong with the plan of a case, which is printed."""
    began, used, first = time.monotonic(), time.process_time(), list[float]()
    inner = settled.chances

    def watched(*args: object, **how: object) -> object:
        held = inner(*args, **how)  # type: ignore[arg-type]
        if not first and not any(row.short for row in held):
            first.append(time.monotonic() - began)
        return held

    with patch.object(settled, "chances", watched):
        problem = make.posed(case.farm, case.state, case.plan, case.at)
        posed = time.monotonic()
        weekly = make.solve_problem(problem, seconds=case.cap_s)
        answer = finer(weekly, seconds=case.cap_s - (time.monotonic() - began), seed=0)
        if not weekly.solved.proven and (left := case.cap_s - (time.monotonic() - began)) > 0.0:
            answer = answer.under(bounded(weekly.model, seconds=left))
    took, theirs_s = time.monotonic() - began, time.monotonic() - posed
    used = time.process_time() - used
    planned = answer.outcome
    if not isinstance(planned, Planned):
        print(
            f"{case.name}: no plan, {took:.1f} s: {[reason.group for reason in planned.reasons]}", flush=True
        )
        return []
    found = check(case.farm, planned.completed)
    off = reckon(case.farm, expect(case.farm, planned.completed)).total() - planned.objective
    before = planned.objective - answer.solved.gain / MONEY
    peer = solve_highs(weekly.model.linear, seconds=max(theirs_s, 1.0))
    theirs = None if peer.values is None else before + peer.gain / MONEY
    print(
        f"{case.name}: {took:.1f} s ({used:.1f} s of processor), first valid {first[0]:.1f} s, margin "
        f"{planned.objective:.2f}, gap {100 * planned.gap:.2f} %, stopped by the clock {planned.hit_limit}, "
        f"findings {len(found)}, off {off:.4f}; peer {'none' if theirs is None else f'{theirs:.2f}'}",
        flush=True,
    )
    wrong = [f"{case.name}: {finding.said}" for finding in found]
    if abs(off) > CENT:
        wrong.append(f"{case.name}: the reckoning is {off:.2f} off the objective")
    if theirs is not None and theirs > planned.objective + CENT:
        wrong.append(f"{case.name}: the peer's plan is {theirs - planned.objective:.2f} better")
    return wrong


def warm() -> None:
    """Loads what either solver needs, so that it counts for neither."""
    made = random_farm(0, "tiny")
    plan = made.plan(made.farm)
    model = make.solve_problem(make.posed(made.farm, State(), plan, made.at(plan)), seconds=1.0).model
    solve_highs(model.linear, seconds=1.0)


def main(count: int, large: int) -> int:
    warm()
    wrong = [fault for case in cases(count, large) for fault in tried(case)]
    print("\n".join(wrong) or "no breach, every objective the reckoning, no peer better")
    return 1 if wrong else 0


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*(given + [5, 3][len(given) :])))
