"""The book of records: its times against its aims, medians and the slowest of twenty.

    python benchmarks/bench_store.py [RECORDS]

A sync of 10,000 records in batches of 200; with 200,000 records, opening the book, a page of 500, one more
record and the state that follows, as the server does it: the fold is kept open and hears what is new.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from farms import farm
from leyfold.log.fold import Folding
from leyfold.nouns.record import Record
from leyfold.store.database import Database
from leyfold.store.records import Store, open_store, read_records
from logs import made_up, ulid

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)
SYNC, BATCH = 10_000, 200
TIMES = 20


def main(records: int) -> None:
    """Print every time beside its aim."""
    made = _made(max(records, SYNC))
    with tempfile.TemporaryDirectory() as name:
        store = open_store(Path(name))
        start = time.perf_counter()
        for at in range(0, SYNC, BATCH):
            store.push(made[at : at + BATCH], "phone", NOW)
        _say("sync of 10,000 records", [time.perf_counter() - start], 5.0)
        for at in range(SYNC, records, 5_000):
            store.push(made[at : at + 5_000], "phone", NOW)
        store.close()
        size = (Path(name) / "records.db").stat().st_size / 1e6
        print(f"{records} records: {size:.0f} MB")
        _large(Path(name), records)


def _large(folder: Path, records: int) -> None:
    def opened() -> None:
        store = Store(Database(folder))
        assert store.version == records
        store.close()

    _say("open, and its version", _times(opened), 0.05)
    start = time.perf_counter()
    everything, _ = read_records(folder)
    _say("read all, each held to its hash", [time.perf_counter() - start], 5.0)
    store = open_store(folder)
    start = time.perf_counter()
    folding = Folding(farm())
    folding.add(everything)
    folding.state(NOW)
    _say("the first fold of all", [time.perf_counter() - start], 30.0)
    _say("a page of 500", _times(lambda: store.pull(records // 2, 500)), 0.05)
    known, numbers = store.version, iter(range(10**6))

    def one_more() -> None:
        nonlocal known
        number = next(numbers)
        record = replace(
            everything[-1], id=ulid(80_000_000 + number), kind="note", data={"text": f"{number}"}
        )
        store.push([record], "phone", NOW)
        folding.add(store.all(known))
        known = store.version
        folding.state(NOW)

    _say("one more record, kept, and the state", _times(one_more), 0.05)
    _say("the state, nothing new", _times(lambda: (store.version, folding.state(NOW))), 0.05)
    store.close()


def _made(number: int) -> list[Record]:
    """A season, and as many days of eggs as it takes."""
    season = list(made_up(1)[0])
    start = season[0].at
    eggs = []
    for n in range(number - len(season)):
        at, data = start + timedelta(minutes=n), {"place": "coop", "eggs": 100 + n % 50}
        eggs.append(replace(season[0], id=ulid(1_000_000 + n), at=at, entered=at, kind="eggs", data=data))
    return [*season, *eggs]


def _times(act: Callable[[], object]) -> list[float]:
    found = []
    for _ in range(TIMES):
        start = time.perf_counter()
        act()
        found.append(time.perf_counter() - start)
    return found


def _say(what: str, times: list[float], aim_s: float) -> None:
    worst = sorted(times)[max(0, round(0.95 * len(times)) - 1)]
    middle = statistics.median(times)
    met = "" if worst <= aim_s else "  MISSED"
    print(f"{what:42} {1000 * middle:9.1f} ms  p95 {1000 * worst:9.1f} ms  aim {1000 * aim_s:6.0f} ms{met}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
