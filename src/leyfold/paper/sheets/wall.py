"""The season on the wall: the picture on the face of one sheet, all dated work by week on its back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import groupby

from leyfold.paper.picture import season_picture
from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    cell,
    fitted,
    heading,
    page_break,
    picture,
    table,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.round.told import told
from leyfold.season.work import Task
from leyfold.words import say

__all__ = ["wall"]

LEFT_OFF = frozenset({"kill_eve", "gather"})
"""On the week sheet, where there is room."""
PAPER = "#fbf9f3"
"""The ground of the picture on a screen; on paper it is the paper's own."""
MOST_MM = 182.0


def wall(ready: Ready) -> Sheet:
    """Two pages for the two sides of a sheet; the work is set as large as its page allows."""
    farm = ready.farm
    svg = season_picture(farm, ready.season).replace(PAPER, "#ffffff")
    name = say("paper.wall", farm=farm.holding.name)
    return Sheet(
        title=name,
        foot=foot(ready, say("paper.wall_kind")),
        flipped=True,
        files={"year.svg": svg.encode()},
        blocks=(
            picture("year.svg", say("picture.desc", farm=farm.holding.name), MOST_MM),
            page_break(),
            title(name, say("paper.wall_sub")),
            fitted(*_by_week(ready), columns=4, most_pt=9.5),
        ),
    )


def _by_week(ready: Ready) -> Iterator[Block]:
    tasks = [task for task in ready.tasks if task.kind not in LEFT_OFF]
    for monday, due in groupby(tasks, lambda t: t.day - timedelta(days=t.day.weekday())):
        yield heading(say("paper.week_of", monday=ready.shown.day(monday)))
        yield table(
            [Column("", "l"), Column("", "l", "1fr")], [_line(ready, task) for task in due], tight=True
        )


def _line(ready: Ready, task: Task) -> list[Cell]:
    words = told(task, ready.shown)
    return [ready.shown.weekday_short(task.day), cell(bold=words) if task.kind == "limit" else words]
