"""Sheets of the demo farm: a whole process each, and the compiling alone.

    python benchmarks/bench_paper.py

The aim is the wall plan's PDF in under a second: reading the farm, its season, the picture, the fitting and
the first compile of a fresh process, without the start and imports of Python. On a machine with other work on
it look at the column of processor time.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from bench_season import DEMO, command, median_s
from leyfold.services.paper import KINDS, paper_of

AT = datetime(2027, 5, 12, 9, tzinfo=UTC)
WALL_AIM_S = 1.0


FRESH = """
import sys, time
from datetime import UTC, datetime
from pathlib import Path
from leyfold.services import paper, season
import leyfold.paper.sheets.wall, leyfold.paper.sheets.printed, babel.numbers, babel.dates, pint, typst
at = datetime(2027, 5, 12, 9, tzinfo=UTC)
wall, processor = time.perf_counter(), time.process_time()
paper.paper_of(Path(sys.argv[1]), "wall", at)
print(time.perf_counter() - wall, time.process_time() - processor)
"""


def fresh_s(runs: int) -> tuple[float, float]:
    """The wall plan in a process that has made none yet: (on the wall, of the processor), medians."""
    call = [sys.executable, "-c", FRESH, str(DEMO)]
    found = [subprocess.run(call, check=True, capture_output=True, text=True).stdout for _ in range(runs)]
    pairs = [tuple(map(float, line.split())) for line in found]
    return statistics.median(w for w, _ in pairs), statistics.median(p for _, p in pairs)


def main() -> int:
    print(f"{'':24}{'measured':>10}{'processor':>11}{'bytes':>11}")
    alone, alone_processor = fresh_s(5)
    missed = alone >= WALL_AIM_S
    verdict = (
        ""
        if not missed
        else "  missed"
        if alone_processor >= WALL_AIM_S
        else "  missed, not by the processor"
    )
    print(f"{'wall plan, PDF alone':24}{alone:10.3f}{alone_processor:11.3f}{'':11}{verdict}")
    with tempfile.TemporaryDirectory() as folder:
        for kind in KINDS:
            out = Path(folder) / f"x{KINDS[kind]}"
            words = ["paper", kind, str(DEMO), "--out", str(out), "--on", "2027-05-12"]
            wall, processor = median_s(command(*words, *(["--batch", "march"] if kind == "vet" else [])), 3)
            print(f"{f'leyfold paper {kind}':24}{wall:10.3f}{processor:11.3f}{out.stat().st_size:11,}")
    same = paper_of(DEMO, "wall", AT).content == paper_of(DEMO, "wall", AT).content
    print(f"wall twice: {'the same bytes' if same else 'DIFFERENT BYTES'}")
    return int(missed or not same)


if __name__ == "__main__":
    sys.exit(main())
