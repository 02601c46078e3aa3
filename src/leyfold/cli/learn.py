"""`leyfold learn`: each figure as it was planned with, as the records have it, and what stands behind it."""

from __future__ import annotations

from datetime import UTC, datetime
from math import floor, log10
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, print_json, table
from leyfold.words import say
from leyfold.words.forms import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from leyfold.season.learn import Learned
    from leyfold.services.learn import LearnAnswer

__all__ = ["learn"]

DIGITS = 3


def learn(farm: Path, *, json: bool = False) -> int:
    """Show what a farm's own records make of its figures.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: every figure before and after, by all records and by each year's.
    """
    from leyfold.services.learn import learn_from

    answer = learn_from(farm, datetime.now(UTC))
    if json:
        data = {
            "figures": _rows(answer.rows),
            "by_year": [{"year": year, "figures": _rows(rows)} for year, rows in answer.by_year.items()],
        }
        print_json("learn", data, inputs_sha256=answer.inputs_sha256)
        return 0
    page = console()
    if not answer.rows:
        page.print(say("learn.nothing"))
        return 0
    for line in answer.farm.lines.values():
        rows = [row for row in answer.rows if row.line == line.id]
        if rows:
            page.print(_figures(answer, line.name, rows))
    page.print(say("learn.how"), soft_wrap=True)
    return 0


def _rows(rows: Sequence[Learned]) -> list[dict[str, Any]]:
    return [
        {
            "line": row.line,
            "figure": row.name,
            "unit": row.after.unit,
            "before": row.before.value,
            "after": row.after.value,
            "n": row.n,
            "counted": row.counted,
            "source": row.after.source,
        }
        for row in rows
    ]


def _figures(answer: LearnAnswer, line: str, rows: Sequence[Learned]) -> Table:
    """One row a figure; the years stand beside each other, each with that year's batches alone."""
    language = answer.farm.holding.language
    columns = [(say("learn.column_figure"), False), (say("learn.column_unit"), False)]
    columns += [(say("learn.column_before"), True), (say("learn.column_now"), True)]
    columns += [(say("learn.column_n"), True), (say("learn.column_counted"), False)]
    columns += [(say("learn.column_year", year=year), True) for year in answer.by_year]
    page = table(say("learn.title", farm=answer.farm.holding.name, line=line), columns)
    for row in rows:
        alone = [
            next((r.after.value for r in year if (r.line, r.name) == (row.line, row.name)), None)
            for year in answer.by_year.values()
        ]
        page.add_row(
            _name(row),
            row.after.unit,
            _short(row.before.value, language),
            _short(row.after.value, language),
            number(row.n, 0, language),
            say(f"learn.of_{row.counted}"),
            *("·" if value is None else _short(value, language) for value in alone),
        )
    return page


def _name(row: Learned) -> str:
    sex = row.name.partition(".")[0]
    figure = say(f"learn.figure_{row.figure}")
    return say(f"learn.of_{sex}", figure=figure) if sex in ("pullet", "cockerel") else figure


def _short(value: float, language: str) -> str:
    """To three figures."""
    size = floor(log10(abs(value))) if value else 0
    return number(value, max(DIGITS - 1 - size, 0), language)
