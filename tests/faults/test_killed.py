"""kill -9 while records are pushed: what was acknowledged is there, once. The long form is
`benchmarks/long_killed.py`."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from leyfold.store.check import examine
from leyfold.store.records import read_records
from pusher import killed
from served import killed_server

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no fork")


def test_nothing_acknowledged_is_lost_or_doubled(tmp_path: Path) -> None:
    acknowledged, every, hit = killed(tmp_path, 12, seed=3)
    assert hit >= 4, "the child was gone before it was killed"
    assert acknowledged
    there = [record.id for record in read_records(tmp_path / "book")[0]]
    assert len(there) == len(set(there))
    assert acknowledged <= set(there) <= every
    assert examine(tmp_path / "book" / "records.db").wrong == ()


def test_nor_by_the_real_server(tmp_path: Path) -> None:
    acknowledged, sent, farm = killed_server(tmp_path, 2, seed=3)
    there = [record.id for record in read_records(farm)[0]]
    assert acknowledged
    assert len(there) == len(set(there))
    assert acknowledged <= set(there) <= sent
    assert examine(farm / "records.db").wrong == ()
