"""Disks that fail or fill up: nothing acknowledged is lost, nothing half-written stays, and sending again
works. The long form is `benchmarks/long_failing_disk.py`."""

from __future__ import annotations

import subprocess
import sys
from itertools import count
from pathlib import Path

import pytest

from hardships import Tally, failing_disk
from leyfold.store.check import examine


def assert_sound(found: Tally, tried: int) -> None:
    assert found.tried >= tried
    assert not found.lost
    assert not found.halves
    assert not found.wrong


@pytest.mark.parametrize("for_good", [False, True], ids=["once", "for good"])
def test_any_operation_may_fail(memory: Path, for_good: bool) -> None:
    """Every ninth one here."""
    assert_sound(failing_disk(memory, 5, count(1, 9), for_good=for_good), 15)


def test_the_disk_may_be_full_at_any_byte(memory: Path) -> None:
    assert_sound(failing_disk(memory, 5, count(), rooms=count(0, 9_001)), 10)


def test_a_real_file_that_may_not_grow(memory: Path) -> None:
    """The system's own limit on the size of a file, in a process of its own."""
    ask = f"""
import resource, sys
sys.path.insert(0, {str(Path(__file__).parents[1])!r})
from pathlib import Path
from hardships import NOW, season
from leyfold.nouns.errors import BadInput
from leyfold.store.records import open_store
store = open_store(Path({str(memory)!r}))
resource.setrlimit(resource.RLIMIT_FSIZE, (150_000, resource.RLIM_INFINITY))
for record in season(3):
    try:
        print(*store.push([record], "phone", NOW).accepted)
    except BadInput as error:
        print(error.faults[0].mend, file=sys.stderr)
        break
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
print(*store.push([record], "phone", NOW).accepted)
print(len(store.all()))
"""
    run = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    *acked, there = run.stdout.split()
    assert run.stderr.strip(), "the limit was never met"
    assert int(there) == len(acked) == examine(memory / "records.db").records
