"""Power cuts in their long form: 1,000 of them, none of which may lose what was acknowledged; and the same
with `synchronous=NORMAL`, which must lose some, or the test proves nothing.

    python benchmarks/long_power_cuts.py [CUTS]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from hardships import Tally, power_cuts

EACH = 100


def main(cuts: int) -> int:
    """Exit 1 where something was lost, or where nothing was though it should be."""
    sound = _many(cuts, "")
    loose = _many(max(EACH, cuts // 5), "NORMAL")
    for name, found in (("synchronous=FULL", sound), ("synchronous=NORMAL", loose)):
        print(f"{name}: {found.tried} cuts, {len(found.lost)} acknowledged records lost, "
              f"{len(found.halves)} pushes halved, {len(found.wrong)} files wrong")  # fmt: skip
    for said in (*sound.lost[:5], *sound.halves[:5], *sound.wrong[:5]):
        print(said)
    return int(bool(sound.lost or sound.halves or sound.wrong or not loose.lost))


def _many(cuts: int, synchronous: str) -> Tally:
    whole = Tally()
    shm = Path("/dev/shm")
    for seed in range(max(1, cuts // EACH)):
        with tempfile.TemporaryDirectory(dir=shm if shm.is_dir() else None) as folder:
            found = power_cuts(Path(folder), seed, min(EACH, cuts), synchronous)
        whole.tried += found.tried
        whole.lost += found.lost
        whole.halves += found.halves
        whole.wrong += found.wrong
    return whole


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
