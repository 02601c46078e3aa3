"""The records folded: all of a long log, and one record more. Medians of processor time.

    python benchmarks/bench_fold.py [records]

Aims on an ordinary laptop: 200,000 records under 2 s, one more under 5 ms, one that turns up a day late not
much more. The ratios (twice the records, twice the time) hold on any machine.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from farms import farm
from leyfold.log import Folding, fold
from leyfold.nouns.record import Record
from long_log import long_log

LATE = datetime(2099, 1, 1, tzinfo=UTC)


def median_s(work: Callable[[], object], runs: int) -> float:
    """Of the processor: a machine with other work on it says little on the wall."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main(number: int) -> None:
    ours = farm()
    records = long_log(1, number)
    last = max(record.at for record in records)
    half = records[: len(records) // 2]
    whole_s = median_s(lambda: fold(ours, records, last), 3)
    half_s = median_s(lambda: fold(ours, half, last), 3)
    shuffled = records.copy()
    random.Random(2).shuffle(shuffled)
    shuffled_s = median_s(lambda: fold(ours, shuffled, last), 3)
    print(f"{len(records)} records, in order   {whole_s:8.2f} s   (half of them: {whole_s / half_s:.2f} x)")
    print(f"{len(records)} records, shuffled   {shuffled_s:8.2f} s")

    folding = Folding(ours)
    folding.add(records)
    state = folding.state(last)
    print(f"questions {len(state.questions)}, groups {len(state.groups)}, spells {len(state.spells)}")
    alive = state.groups[0]
    made = 0

    def one_more(back: timedelta) -> Callable[[], object]:
        def work() -> object:
            nonlocal made
            made += 1
            record = Record(
                f"7{made:025d}", "phone", "ada", last - back, last, "fed", {"place": alive.place, "kg": 1.0}
            )
            folding.add([record])
            return folding.state(last)

        return work

    for name, back in (
        ("now", timedelta(0)), ("an hour late", timedelta(hours=1)), ("a day late", timedelta(days=1)),
        ("a month late", timedelta(days=30)),
    ):  # fmt: skip
        print(f"one more, {name:14s} {1000 * median_s(one_more(back), 15):10.2f} ms")
    asked = median_s(lambda: folding.state(last), 15)
    print(f"asked again, nothing new {1000 * asked:9.2f} ms")
    replayed = [replace(r, id="6" + r.id[1:]) for r in records[-200:]]
    start = time.process_time()
    folding.add(replayed)
    folding.state(last)
    print(f"200 at once, a week's sync {1000 * (time.process_time() - start):7.2f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
