"""The picture's numbers as tables: by week, by place, and the chances."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from leyfold.nouns.draws import Draws
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.paper.picture.bands import bands
from leyfold.paper.picture.flow import Ribbon, kills, ribbons
from leyfold.paper.picture.strips import UNITS
from leyfold.paper.svg import el, escape
from leyfold.paper.wall_sheet import columns
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["chance_table", "places_table", "weeks_table"]


def _table(caption: str, headings: Sequence[str], rows: Sequence[Sequence[str]], words: int = 1) -> str:
    """The first cell of a row names it; the first `words` columns hold words, the rest numbers."""

    def look(column: int) -> dict[str, str]:
        return {"class_": "words"} if column < words else {}

    head = el("tr", *(el("th", escape(h), scope="col", **look(i)) for i, h in enumerate(headings)))
    body = [
        el(
            "tr",
            el("th", escape(row[0]), scope="row"),
            *(el("td", escape(cell), **look(i)) for i, cell in enumerate(row[1:], 1)),
        )
        for row in rows
    ]
    return el("table", el("caption", escape(caption)), el("thead", head), el("tbody", *body))


def weeks_table(season: Season, weeks: Sequence[Week], shown: Shown) -> str:
    """The wall sheet, feed by kind too."""
    sheet = columns(shown, season.feeds)
    rows = [[column.cell(week) for column in sheet] for week in weeks]
    return _table(say("page.weeks_caption"), [column.heading for column in sheet], rows)


def places_table(season: Season, shown: Shown) -> str:
    """Every ribbon of the picture: who is where, from which day to which, and how many."""
    drawn = ribbons(season)
    gone = {id(r): 0.0 for r in drawn}
    for kill in kills(season, drawn):
        gone[id(kill.ribbon)] += kill.heads

    def row(r: Ribbon) -> list[str]:
        eggs, pullets, cockerels = (r.layers.get(sex, np.zeros(1)) for sex in (None, "pullet", "cockerel"))
        return [
            season.plan.batches[r.batch].id,
            r.place,
            shown.short(season.day(r.start)),
            shown.short(season.day(r.end - 1)),
            shown.heads(float(eggs[0])),
            *(shown.heads(float(heads[at])) for at in (0, -1) for heads in (pullets, cockerels)),
            shown.heads(gone[id(r)]),
        ]

    names = (
        "batch",
        "place",
        "first",
        "last",
        "eggs",
        "pullets",
        "cockerels",
        "pullets_last",
        "cockerels_last",
    )
    headings = [say(f"page.column_{name}") for name in (*names, "killed")]
    return _table(say("page.places_caption"), headings, [row(r) for r in drawn], words=4)


def chance_table(draws: Draws, shown: Shown) -> str:
    """The bands of the strips on each Monday from the plan's first day on."""
    found = bands(draws)
    begun = max(draws.plan.first or draws.first, draws.first)
    mondays = range(draws.index(begun) + (-begun.weekday()) % 7, draws.days, 7)

    def span(name: str, at: int) -> str:
        low, high = (shown.n(shown.outward(float(edge[at]), UNITS[name])) for edge in found[name])
        return say("page.span_of", low=low, high=high)

    rows = [
        [shown.short(draws.first + timedelta(days=at)), *(span(name, at) for name in found)] for at in mondays
    ]
    headings = [say("page.column_monday"), *(_band_heading(name, shown) for name in found)]
    return _table(say("page.chances_caption", n=shown.n(draws.n)), headings, rows)


def _band_heading(name: str, shown: Shown) -> str:
    unit = say(f"picture.strip_{name}_unit", unit=shown.unit(UNITS[name]))
    return f"{say(f'picture.strip_{name}')}, {unit}"
