"""The page of a farm's season."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from leyfold.nouns.clock import civil
from leyfold.paper.page import season_page
from leyfold.services.opened import FILES
from leyfold.services.season import season_of

__all__ = ["changed", "page_of"]


def page_of(where: Path, at: datetime) -> str:
    """The farm's season at the instant `at`, as one HTML document. BadInput as `season_of`."""
    answer = season_of(where, at)
    today = civil(at, answer.farm.holding.zone)
    return season_page(answer.farm, answer.season, answer.weeks, answer.totals, today=today)


def changed(where: Path) -> tuple[tuple[int, int] | None, ...]:
    """When the farm's files were last changed (ns) and their size; None for one that is not there. As long as
    this stays the same, so do the files."""
    folder = where.parent if where.is_file() else where
    return tuple(map(_stamp, (folder / name for name in FILES)))


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
