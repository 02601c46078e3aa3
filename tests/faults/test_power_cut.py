"""Power cuts: what was acknowledged is on the disk. The long form is `benchmarks/long_power_cuts.py`."""

from __future__ import annotations

from pathlib import Path

from hardships import power_cuts


def test_no_cut_loses_what_was_acknowledged(memory: Path) -> None:
    found = power_cuts(memory, seed=11, cuts=80)
    assert found.tried == 80
    assert not found.lost
    assert not found.halves
    assert not found.wrong


def test_the_same_cuts_bite_a_store_that_does_not_wait_for_the_disk(memory: Path) -> None:
    """`synchronous=NORMAL` keeps the file whole but loses what was acknowledged: the test above can fail."""
    found = power_cuts(memory, seed=11, cuts=80, synchronous="NORMAL")
    assert len(found.lost) > 10
    assert not found.halves


def test_and_a_store_that_never_syncs_comes_apart(memory: Path) -> None:
    found = power_cuts(memory, seed=11, cuts=80, synchronous="OFF")
    assert found.lost or found.wrong
