"""`leyfold season`: week by week, what passes a limit, and the totals."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, table, typed
from leyfold.words import say

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.services.season import SeasonAnswer

__all__ = ["season"]


NOTHING = "·"


def season(farm: Path, *, json: bool = False, csv: Path | None = None, picture: Path | None = None) -> int:
    """Show the season that follows from a farm's files, week by week.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: weeks, breaches, totals, and every lot on every day.
    csv
        Also write every daily table into this folder, one CSV each, units in the headings.
    picture
        Also draw the season into this file, as SVG or PNG by its ending.
    """
    from dataclasses import asdict

    from leyfold.paper.tables import season_sheets, write_sheets
    from leyfold.services.season import season_of

    answer = season_of(farm, datetime.now(UTC))
    sheets = season_sheets(answer.season, answer.weeks) if json or csv else ()
    if picture is not None:
        from leyfold.paper.picture import season_picture
        from leyfold.paper.picture_file import write_picture
        from leyfold.services.page import tried_of

        write_picture(season_picture(answer.farm, answer.season, tried_of(answer)), picture)
    if csv is not None:
        write_sheets(sheets, csv)
    if json:
        data = {"totals": asdict(answer.totals), **{sheet.name: sheet.records() for sheet in sheets}}
        print_json("season", data, inputs_sha256=answer.inputs_sha256)
    else:
        page = console()
        page.print(weekly(answer))
        for sentence in said(answer):
            page.print(sentence, soft_wrap=True, markup=False)
        page.print(say("cli.next_season", farm=typed(farm)), soft_wrap=True, markup=False)
    return 0


def weekly(answer: SeasonAnswer) -> Table:
    """The wall sheet: one row a week, from the first in which there is anything to the last."""
    from leyfold.paper.wall_sheet import columns
    from leyfold.round.shown import Shown

    holding = answer.farm.holding
    sheet = columns(Shown(answer.farm))
    heads = [(column.heading, i > 0) for i, column in enumerate(sheet)]
    page = table(say("season.title", farm=holding.name), heads)
    rows = [[column.cell(week) for column in sheet] for week in answer.weeks]
    busy = [i for i, row in enumerate(rows) if any(cell != NOTHING for cell in row[1:])]
    for row in rows[busy[0] : busy[-1] + 1] if busy else ():
        page.add_row(*row)
    return page


def said(answer: SeasonAnswer) -> list[str]:
    """What passes a limit, and the totals."""
    from leyfold.paper.wall_sheet import in_all, limits_passed
    from leyfold.round.shown import Shown

    shown = Shown(answer.farm)
    passed = [f"  {line}" for line in limits_passed(answer.season, shown)]
    first = [say("season.breaches"), *passed] if passed else [say("season.no_breach")]
    return [*first, *in_all(answer.totals, shown)]
