"""Disks that fail, in their long form: every single operation in turn, once and for good, every length of
room by the hundred bytes, and 5,000 flipped bits.

    python benchmarks/long_failing_disk.py [STRIDE]
"""

from __future__ import annotations

import sys
import tempfile
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from hardships import failing_disk, flipped

FLIPS = 5000


def main(stride: int) -> int:
    """Exit 1 where something was lost, halved, or silently other than it was written."""
    shm = Path("/dev/shm")
    bad = 0
    with tempfile.TemporaryDirectory(dir=shm if shm.is_dir() else None) as name:
        folder = Path(name)
        runs = {
            "one operation fails": failing_disk(folder / "once", 1, count(1, stride)),
            "all fail from one on": failing_disk(folder / "good", 2, count(1, stride), for_good=True),
            "the disk is full": failing_disk(folder / "full", 3, count(), rooms=count(0, 101 * stride)),
            "a bit flips": flipped(folder / "bits", 4, FLIPS // stride),
        }
    for said, found in runs.items():
        wrongs = [*found.lost, *found.halves, *found.wrong]
        bad += len(wrongs)
        told = f", {found.told} told" if found.told else ""
        print(f"{said}: {found.tried} times{told}, {len(wrongs)} wrong", *wrongs[:5], sep="\n  ")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1))
