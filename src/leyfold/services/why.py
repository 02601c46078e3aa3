"""Why a figure of a farm's season is what it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm
from leyfold.nouns.why import Reason
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.why import why
from leyfold.services.opened import open_farm

__all__ = ["WhyAnswer", "why_of"]


@dataclass(frozen=True, slots=True)
class WhyAnswer:
    farm: Farm
    reason: Reason
    inputs_sha256: str


def why_of(where: Path, figure: str, day: date | None, at: datetime) -> WhyAnswer:
    """The sum behind `figure` on `day`, with what the records of the farm in `where` say up to `at`."""
    opened = open_farm(where, at)
    season = expect(opened.farm, complete(opened.farm, opened.ahead))
    today = civil(at, opened.farm.holding.zone)
    reason = why(opened.farm, season, figure, day, today=today, recorded=opened.state.batches)
    return WhyAnswer(opened.farm, reason, opened.sha256)
