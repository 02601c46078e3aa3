"""kill -9 in its long form: 500 times the program that pushes, 40 times the real server while three devices
send.

python benchmarks/long_killed.py [TIMES [SERVERS]]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from leyfold.store.check import examine
from leyfold.store.records import read_records
from pusher import killed
from served import killed_server

EACH = 25


def main(times: int, servers: int) -> int:
    """Exit 1 where something acknowledged was lost, or anything doubled."""
    lost = doubled = wrong = acknowledged = hit = 0
    for seed in range(max(1, times // EACH)):
        with tempfile.TemporaryDirectory() as name:
            acked, every, still = killed(Path(name), min(EACH, times), seed)
            ids = [record.id for record in read_records(Path(name) / "book")[0]]
            found = examine(Path(name) / "book" / "records.db")
        hit += still
        acknowledged += len(acked)
        lost += len(acked - set(ids))
        doubled += len(ids) - len(set(ids))
        wrong += len(found.wrong) + len(set(ids) - every)
    print(f"{times} kills, {hit} at work: {acknowledged} acknowledged, {lost} lost, {doubled} doubled")
    if servers:
        with tempfile.TemporaryDirectory() as name:
            acked, sent, farm = killed_server(Path(name), servers, seed=1)
            ids = [record.id for record in read_records(farm)[0]]
            wrong += len(examine(farm / "records.db").wrong) + len(set(ids) - sent)
        lost += len(acked - set(ids))
        doubled += len(ids) - len(set(ids))
        print(f"{servers} servers killed: {len(acked)} acknowledged, {lost} lost, {doubled} doubled")
    return int(bool(lost or doubled or wrong))


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    sys.exit(main(asked[0] if asked else 500, asked[1] if len(asked) > 1 else 40))
