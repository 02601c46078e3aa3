"""The server with many clients and many records, over HTTP on this machine.

    python benchmarks/bench_web.py [RECORDS]

200 clients at once, each its own records, again until each was answered: none lost, none doubled, no 5xx.
A sync of 10,000 records in batches of 200. With 200,000 records in the book: the round and the state, asked
for again and again, then each time as soon as a new record was taken: eggs, then one kind after the other. Of
these the processor's time is told beside the clock's: it says what is made anew, however busy the machine is.
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

import httpx
from ulid import ULID

from leyfold.nouns.record import Record
from leyfold.services.round import opening
from web import AT, Farm, copy_of_demo, record, served

CLIENTS, EACH, BATCH, SYNC, ASKED, EACH_KIND = 200, 50, 10, 10_000, 100, 5
LATE = ", three days late"
EGGS_LATE = f"eggs{LATE}"


def main(records: int) -> None:
    """Print every figure beside its aim."""
    with tempfile.TemporaryDirectory() as name:
        with served(copy_of_demo(Path(name) / "many"), token="bench") as farm:
            _many(farm)
            _sync(farm)
        with served(copy_of_demo(Path(name) / "large"), token="bench", ahead=True) as farm:
            _fill(farm, records)
            _answers(farm, records)


def _many(farm: Farm) -> None:
    codes: Counter[int] = Counter()
    sent: set[str] = set()
    lock, gate = threading.Lock(), threading.Barrier(CLIENTS)

    def client(number: int) -> None:
        ours = [record("note", "runa", text=f"{number} {i}") for i in range(EACH)]
        with httpx.Client(base_url=farm.address, timeout=120, trust_env=False) as line:
            gate.wait()
            for at in range(0, EACH, BATCH):
                body = {"device": f"phone {number}", "records": ours[at : at + BATCH]}
                while True:
                    answer = line.post("/api/sync", json=body, headers={"Authorization": "Bearer bench"})
                    with lock:
                        codes[answer.status_code] += 1
                    if answer.status_code == 200:
                        break
                    time.sleep(float(answer.headers.get("Retry-After", "1")))
        with lock:
            sent.update(one["id"] for one in ours)

    begun = time.perf_counter()
    threads = [threading.Thread(target=client, args=(n,)) for n in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    took = time.perf_counter() - begun
    kept = [one.id for one in farm.house.store.all()]
    print(f"{CLIENTS} clients at once, {len(sent)} records: {took:.1f} s, answers {dict(codes)}")
    print(f"  lost {len(sent - set(kept))}, doubled {len(kept) - len(set(kept))} (aim 0 and 0), 5xx "
          f"{sum(n for code, n in codes.items() if code >= 500)} (aim 0)")  # fmt: skip


def _sync(farm: Farm) -> None:
    ours = [record("eggs", "runa", AT, place="caravan", eggs=i % 60) for i in range(SYNC)]
    with farm.client(Authorization="Bearer bench") as line:
        begun = time.perf_counter()
        for at in range(0, SYNC, 200):
            body = json.dumps({"device": "phone", "records": ours[at : at + 200]})
            answer = line.post("/api/sync", content=body, headers={"Content-Type": "application/json"})
            assert answer.status_code == 200, answer.text
        print(f"sync of {SYNC} records over HTTP: {time.perf_counter() - begun:.2f} s (aim 5)")


def _fill(farm: Farm, records: int) -> None:
    first = AT - timedelta(minutes=50 * records + 60)
    birds = {"batch": "old-flock", "line": "rowan", "age_d": 200, "heads": 58, "place": "caravan"}
    store, live = farm.house.store, farm.house.live
    store.push([Record(str(ULID()), "phone", "runa", first, first, "present", birds)], "phone", AT)
    # All other birds that stand there by the plan: before the eggs, so that the first answer reads the book.
    opened = AT - timedelta(days=9)
    store.push(opening(live.opened(opened), opened), "phone", AT)
    made = [
        Record(str(ULID()), "phone", "runa", at, at, "eggs", {"place": "caravan", "eggs": i % 60})
        for i in range(records)
        for at in [AT - timedelta(minutes=50 * (records - i))]
    ]
    for at in range(0, records, 5000):
        store.push(made[at : at + 5000], "phone", AT)


def _answers(farm: Farm, records: int) -> None:
    runa = farm.as_("runa")
    asked = ("/api/state", "/api/rounds?days=1", "/api/rounds")
    for path in asked:
        begun = time.perf_counter()
        assert runa.get(path).status_code == 200
        print(f"{path}, the first answer with {records} records: {time.perf_counter() - begun:.1f} s")
    for path in asked:
        _say(f"{path}, nothing new", _times(lambda path=path: runa.get(path)))  # type: ignore[misc]
        _say(f"{path}, a record before each", _times(lambda path=path: runa.get(path), runa))  # type: ignore[misc]
    for path in asked:
        _after_each_kind(path, runa)


def _of_kinds(number: int) -> Mapping[str, Mapping[str, Any]]:
    """One of each kind that a day may bring."""
    yule, january = {"batch": "yule", "place": "s2"}, {"batch": "january", "place": "s3"}
    return {
        "found dead": {"batch": "old-flock", "place": "caravan"}, "missing": january, "culled": yule,
        "eggs": {"place": "caravan", "eggs": 20 + number}, "fed": {"place": "s3", "kg": 4.0 + number},
        "watered": {"place": "s2", "litres": 12.0 + number}, "killed": {**yule, "heads": 1},
        "feed read": {"bin": "tower", "kg": 300.0 - number},
        "delivered": {"feed": "grower", "kg": 250.0 + number},
        "weighed": {"batch": "january", "weights_kg": [0.71, 0.64 + number / 100]},
        "bought": {"batch": f"more-{number}", "line": "rowan", "heads": 5, "place": "loft"},
        "temperature read": {"lowest_C": -1.0 - number}, "grass height": {"where": "s1", "height_cm": 9.0},
        "shelter moved": {"place": "s1", "again": True}, "glance": {"place": "s3", "heads": 60},
        "fence voltage": {"net": "round-the-caravan", "kV": 3.0},
        "treated": {"medicine": "drops", **january, "eggs_d": 3, "meat_d": 7},
        "expense": {"what": "twine", "paid": 4.0 + number}, "note": {"text": f"rain {number}"},
        EGGS_LATE: {"place": "caravan", "eggs": 50 + number},
    }  # fmt: skip


def _after_each_kind(path: str, runa: httpx.Client) -> None:
    clock: dict[str, list[float]] = {}
    processor: dict[str, list[float]] = {}
    for number in range(EACH_KIND):
        for kind, data in _of_kinds(number).items():
            at = AT - timedelta(days=3) if kind == EGGS_LATE else AT
            one = record(kind.removesuffix(LATE), "runa", at + timedelta(seconds=number), **data)
            answer = runa.post("/api/sync", json={"device": "phone", "records": [one]})
            assert answer.json()["accepted"] == [one["id"]], answer.text
            begun, worked = time.perf_counter(), time.process_time()
            assert runa.get(path).status_code == 200
            clock.setdefault(kind, []).append(time.perf_counter() - begun)
            processor.setdefault(kind, []).append(time.process_time() - worked)
    _say(f"{path}, a record of each kind before it", [t for took in clock.values() for t in took])
    _say(f"{path}, the same, processor", [t for took in processor.values() for t in took])
    for kind, took in sorted(processor.items(), key=lambda one: -statistics.median(one[1])):
        print(f"  {kind}: processor {1000 * statistics.median(took):.0f} ms (most {1000 * max(took):.0f}), "
              f"clock {1000 * statistics.median(clock[kind]):.0f} ms")  # fmt: skip


def _times(ask: Callable[[], httpx.Response], writer: httpx.Client | None = None) -> list[float]:
    took = []
    for number in range(ASKED if writer is None else ASKED // 4):
        if writer is not None:
            body = {"device": "phone", "records": [record("eggs", "runa", place="caravan", eggs=number)]}
            assert writer.post("/api/sync", json=body).status_code == 200
            time.sleep(0.01)
        begun = time.perf_counter()
        answer = ask()
        took.append(time.perf_counter() - begun)
        assert answer.status_code == 200, answer.text
    return took


def _say(what: str, took: list[float]) -> None:
    ordered = sorted(took)
    middle, high = statistics.median(ordered), ordered[int(len(ordered) * 0.95)]
    print(f"{what}: median {1000 * middle:.1f} ms, p95 {1000 * high:.1f} ms (aim p95 50)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
