"""The page of a farm's season."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from leyfold.farm.texts import folder_of
from leyfold.nouns.clock import civil
from leyfold.nouns.draws import Draws
from leyfold.paper.page import season_page
from leyfold.season.draw import draw
from leyfold.season.wished import wish_chances
from leyfold.services.opened import FILES
from leyfold.services.season import SeasonAnswer, season_of

__all__ = ["changed", "page_of"]

DRAWS = 400
SEED = 0


def page_of(where: Path, at: datetime) -> str:
    """The farm's season at the instant `at`, expected and tried `DRAWS` times, as one HTML document. BadInput
    as `season_of`."""
    answer = season_of(where, at)
    farm, season = answer.farm, answer.season
    tried = tried_of(answer)
    wishes = wish_chances(farm, season.plan, tried, killed=answer.killed)
    today = civil(at, farm.holding.zone)
    return season_page(farm, season, answer.weeks, answer.totals, tried, wishes, today=today)


def tried_of(answer: SeasonAnswer) -> Draws:
    """The season tried `DRAWS` times, for the bands of picture and page: the same ones each time."""
    return draw(answer.farm, answer.season.plan, n=DRAWS, seed=SEED)


def changed(where: Path) -> tuple[tuple[int, int] | None, ...]:
    """When the farm's files were last changed (ns) and their size; None for one that is not there. As long as
    this stays the same, so do the files."""
    folder = folder_of(where)
    return tuple(map(_stamp, (folder / name for name in FILES)))


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
