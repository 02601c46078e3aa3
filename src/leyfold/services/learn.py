"""What a farm's own records make of the figures it was planned with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from leyfold.nouns.farm import Farm
from leyfold.season.learn import Learned, learn, learned, years
from leyfold.services.opened import open_farm

__all__ = ["LearnAnswer", "learn_from"]

YEARS = 2
"""How many years are set beside each other."""


@dataclass(frozen=True, slots=True)
class LearnAnswer:
    """`rows` by all records; `by_year` by those of one year's batches alone, the last years first."""

    farm: Farm
    rows: tuple[Learned, ...]
    by_year: Mapping[int, tuple[Learned, ...]]
    inputs_sha256: str


def learn_from(where: Path, at: datetime) -> LearnAnswer:
    """The farm in `where` and what was learned from its records up to `at`."""
    opened = open_farm(where, at)
    before, state = opened.described, opened.state
    by_year = {
        year: learned(before, learn(before, state, year=year)) for year in years(before, state)[:YEARS]
    }
    return LearnAnswer(opened.farm, learned(before, opened.farm), by_year, opened.sha256)
