"""A number that can be asked why."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["EVIDENCE", "Figure"]

EVIDENCE = (
    "standard",
    "paper",
    "extension",
    "common practice",
    "memory",
    "guess",
    "farm file",
    "records",
)
"""Where a figure rests, strongest outside evidence first; the last two are the farm's own word."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One value with its unit, its source, what kind of evidence that is, and how many birds or eggs of
    the farm's own stand behind it (0 where it comes from outside)."""

    value: float
    unit: str
    source: str
    evidence: str
    n_records: int = 0

    def __post_init__(self) -> None:
        if self.evidence not in EVIDENCE:
            raise ValueError(f"unknown evidence {self.evidence!r}")
        if self.value != self.value:
            raise ValueError("a figure cannot be NaN: leave it out if it is unknown")
