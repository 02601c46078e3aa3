"""A bit of the file flips: it is told, or it mattered nothing; never a silently different record."""

from __future__ import annotations

from pathlib import Path

from hardships import flipped


def test_a_flipped_bit_is_told_or_changes_nothing(memory: Path) -> None:
    found = flipped(memory, seed=7, flips=150)
    assert not found.wrong
    assert found.told > 50, "much of the file is records"
