"""Devices in their long forms: the three of `tests/faults/test_devices.py` 200 times 50 steps; and a farm of
many phones over a whole season, simulated by seed: lost requests and replies, retries, clocks years off,
records written late and sent in any order, servers that die, books that are restored.

    python benchmarks/long_devices.py [SEEDS]
"""

from __future__ import annotations

import random
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "faults"))

from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test
from test_devices import Farmyard

from devices import Phone, sync
from farms import farm
from leyfold.log import fold
from leyfold.store.copies import backup, put_in_place, stage
from leyfold.store.records import open_store
from logs import made_up, ulid

PHONES = 6
STEPS = 2000


def main(seeds: int) -> int:
    """Exit 1 where a device ends with another farm than the others."""
    run_state_machine_as_test(
        Farmyard, settings=settings(max_examples=200, stateful_step_count=50, deadline=None)
    )
    print("200 runs of 50 steps of three devices: the same farm on all")
    bad = sum(not _season(seed) for seed in range(seeds))
    print(f"{seeds} seasons of {PHONES} phones, {STEPS} steps each: {bad} ended apart")
    return int(bad > 0)


def _season(seed: int) -> bool:
    rng = random.Random(seed)
    facts = list(made_up(seed)[0])
    rng.shuffle(facts)  # phones wake up in any order
    at = datetime(2027, 9, 1, tzinfo=UTC)
    skews = [timedelta(days=rng.choice([0, 0, 0, 0, 365 * 9, 365 * 40])) for _ in range(PHONES)]
    phones = [Phone(f"phone {n}") for n in range(PHONES)]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "aside").mkdir()
        store = open_store(folder)
        for step in range(STEPS):
            number = rng.randrange(PHONES)
            phone, lose = phones[number], rng.choice(["", "", "", "request", "reply"])
            match rng.choice(["write", "push", "push", "pull", "pull", "rare"]):
                case "write" if facts:
                    phone.write(facts.pop(), skews[number])
                case "write":
                    fact = replace(phones[0].written[0], id=ulid(600_000 + step), kind="note",
                                   data={"text": f"{step}"})  # fmt: skip
                    phone.write(fact)
                case "push":
                    for _ in range(rng.choice([1, 1, 3])):
                        phone.push(store, at, lose, most=rng.choice([1, 5, 200]))
                case "pull":
                    phone.pull(store, rng.choice([1, 20, 500]), lose)
                case _ if rng.random() < 0.1:
                    store.close()
                    if (folder / "kept.db").exists() and rng.random() < 0.5:
                        put_in_place(folder, stage(folder, folder / "kept.db")[0], folder / "aside")
                    store = open_store(folder)
                    backup(folder / "records.db", folder / "kept.db")
        for _ in range(2):
            for phone in phones:
                sync(phone, store, at)
        there = store.all()
        store.close()
    written = {record.id for phone in phones for record in phone.written}
    same = {record.id for record in there} == written and len(there) == len(written)
    states = [fold(farm(), records, at) for records in (there, *(list(p.held.values()) for p in phones))]
    return same and states.count(states[0]) == len(states)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
