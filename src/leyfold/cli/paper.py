"""`leyfold paper`: sheets to print, the calendar, the workbook."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from leyfold.words import say

__all__ = ["paper"]


def paper(
    kind: str,
    farm: Path,
    *,
    out: Path | None = None,
    on: date | None = None,
    batch: str | None = None,
    ration: str | None = None,
    size: str = "a4",
) -> int:
    """Write a sheet to print, or the calendar or workbook of the season.

    Parameters
    ----------
    kind
        wall, week, day, shelter, brooder, kill, vet, neighbour or mix (PDF), calendar (iCalendar),
        workbook (XLSX).
    farm
        The farm's folder, or its farm.toml.
    out
        The file to write; else one named after the kind, in the folder you are in.
    on
        The day the sheet is for; else today.
    batch
        The batch of birds the sheet is for, where it is of one.
    ration
        The ration of a mixing sheet; else the first of the farm.
    size
        a4 or letter.
    """
    from leyfold.paper.picture_file import write_whole
    from leyfold.services.paper import paper_of

    made = paper_of(farm, kind, datetime.now(UTC), on=on, batch=batch, ration=ration, size=size)
    path = out or Path(made.name)
    write_whole(made.content, path, "--out")
    print(say("paper.written", file=path))
    return 0
