"""The season of a farm, and its daily tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.sums import Sums, sums
from leyfold.season.weeks import weeks
from leyfold.season.wished import killed_by_line
from leyfold.services.opened import open_farm

__all__ = ["SeasonAnswer", "season_of"]


@dataclass(frozen=True, slots=True)
class SeasonAnswer:
    """`killed`: birds for the table that the records say the plan's season has had already, by line."""

    farm: Farm
    season: Season
    weeks: tuple[Week, ...]
    totals: Sums
    inputs_sha256: str
    killed: Mapping[str, int] = field(default_factory=dict)


def season_of(where: Path, at: datetime) -> SeasonAnswer:
    """The expected season of the farm in `where`, with what its records say up to `at`."""
    opened = open_farm(where, at)
    season = expect(opened.farm, complete(opened.farm, opened.ahead))
    killed = killed_by_line(opened.state, opened.plan.first)
    totals = sums(opened.farm, season)
    return SeasonAnswer(opened.farm, season, weeks(season), totals, opened.sha256, killed)
