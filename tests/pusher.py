"""A program that pushes records and is killed for it.

    python pusher.py FOLDER ACKNOWLEDGED

Reads the seed of a season a line; for each, a child of its own (so that nothing is loaded anew) opens the
store of FOLDER and pushes what ACKNOWLEDGED does not name yet, in batches; each batch's ids are appended
there once the store has acknowledged them. The child's number is printed when it starts, and when it is gone
`killed` or `ended`.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

__all__ = ["killed"]


def killed(folder: Path, times: int, seed: int) -> tuple[set[str], set[str], int]:
    """Kill -9 the pushing child so many times, at random moments, while it opens and pushes. Returns the ids
    acknowledged, the ids that would be pushed, and how often the child was really still at work."""
    rng = random.Random(seed)
    book, acknowledged = folder / "book", folder / "acknowledged"
    book.mkdir(parents=True)
    acknowledged.touch()
    hit = 0
    command = [sys.executable, __file__, str(book), str(acknowledged)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdin is not None
        assert program.stdout is not None
        for _ in range(times):
            program.stdin.write(f"{seed}\n")
            program.stdin.flush()
            child = int(program.stdout.readline())
            _wait_for(acknowledged, rng.choice([0, 0, 1, 2, 5, 9]))
            time.sleep(rng.random() * rng.choice([0.0, 0.001, 0.005]))
            with suppress(ProcessLookupError):
                os.kill(child, signal.SIGKILL)
            hit += program.stdout.readline() == "killed\n"
        program.stdin.close()
    return set(acknowledged.read_text().split()), {record.id for record in _season(seed)}, hit


def _wait_for(acknowledged: Path, more: int) -> None:
    """Until so many more pushes were acknowledged, or nothing has come for long."""
    before, until = acknowledged.read_bytes().count(b"\n"), time.monotonic() + 2.0
    while acknowledged.read_bytes().count(b"\n") < before + more and time.monotonic() < until:
        time.sleep(0.0005)


def _season(seed: int) -> list:  # type: ignore[type-arg]
    from dataclasses import replace

    from hardships import season
    from logs import ulid

    records = [record for part in range(12) for record in season(seed + part)]
    return [replace(record, id=ulid(7_000_000 + n)) for n, record in enumerate(records)]


def _push(book: Path, acknowledged: Path, records: list, seed: int) -> None:  # type: ignore[type-arg]
    from hardships import NOW, pushes
    from leyfold.store.records import open_store

    known = set(acknowledged.read_text().split())
    store = open_store(book)
    with acknowledged.open("a", buffering=1) as out:
        for batch in pushes([r for r in records if r.id not in known], random.Random(seed + len(known))):
            pushed = store.push(batch, "phone", NOW)
            out.write(" ".join((*pushed.accepted, *pushed.duplicates)) + "\n")
    store.close()


def _main(book: Path, acknowledged: Path) -> None:
    from leyfold.store.records import open_store

    open_store(book).close()  # what is loaded to make it is loaded once
    for line in sys.stdin:
        seed = int(line)
        records = _season(seed)
        child = os.fork()
        if not child:
            _push(book, acknowledged, records, seed)
            os._exit(0)
        print(child, flush=True)
        _, status = os.waitpid(child, 0)
        print("killed" if os.WIFSIGNALED(status) else "ended", flush=True)


if __name__ == "__main__":
    _main(Path(sys.argv[1]), Path(sys.argv[2]))
