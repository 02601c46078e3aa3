"""Where the disks of these tests lie: in memory where there is a place, since their syncs are played."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

MEMORY = Path("/dev/shm")


@pytest.fixture
def memory(tmp_path: Path) -> Iterator[Path]:
    if MEMORY.is_dir() and os.access(MEMORY, os.W_OK):
        with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
            yield Path(folder)
    else:
        yield tmp_path
