"""The season as a workbook: every table with units, dates as dates, totals that recalculate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.paper.tables import Sheet, season_sheets
from leyfold.round.shown import Shown
from leyfold.round.told import told
from leyfold.season.work import Task
from leyfold.words import say

if TYPE_CHECKING:
    import xlsxwriter  # type: ignore[import-untyped]

__all__ = ["workbook"]

DATES = frozenset({"date", "monday", "first", "last", "until", "worst_on", "day"})
SUMMED = {
    "weeks": (
        "dead_heads", "killed_heads", "killed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs",
    ),
    "farm": (
        "dead", "killed", "killed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg",
    ),
    "lots": (
        "dead", "killed", "killed_kg", "feed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg",
    ),
}  # fmt: skip
"""Columns of each sheet that add up; of feed by kind all do."""
ORDER = ("weeks", "work", "farm", "places", "stays", "breaches", "lots")
HEAD_ROWS = 2
"""Headings, then the totals, so that they stay in sight over long tables."""
TOP = datetime(1980, 1, 1)  # noqa: DTZ001
"""When the workbook says it was made: always then, so that the same season gives the same bytes."""


def workbook(farm: Farm, season: Season, weeks: Sequence[Week], tasks: Sequence[Task]) -> bytes:
    """XLSX of the tables of `paper.tables` and the dated work. Text is text, whatever it begins with."""
    import xlsxwriter

    out = BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    book = xlsxwriter.Workbook(out, options)
    book.set_properties({"title": say("paper.workbook", farm=farm.holding.name), "created": TOP})
    sheets = {sheet.name: sheet for sheet in (*season_sheets(season, weeks), _work(farm, tasks))}
    looks = _Looks(
        head=book.add_format({"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1}),
        total=book.add_format({"bold": True, "num_format": "#,##0.0", "bottom": 1}),
        date=book.add_format({"num_format": "yyyy-mm-dd", "align": "left"}),
        number=book.add_format({"num_format": "#,##0.00"}),
    )
    for name in ORDER:
        _write(book, sheets[name], looks)
    book.close()
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class _Looks:
    head: Any
    total: Any
    date: Any
    number: Any


def _work(farm: Farm, tasks: Sequence[Task]) -> Sheet:
    shown = Shown(farm)
    rows = tuple((t.day.isoformat(), t.kind, t.batch, t.place, told(t, shown)) for t in tasks)
    return Sheet("work", ("day", "kind", "batch", "place", "task"), rows)


def _write(book: xlsxwriter.Workbook, sheet: Sheet, looks: _Looks) -> None:
    """Headings with their units, a row of totals where columns add up, then the table; panes frozen."""
    page = book.add_worksheet(sheet.name)
    summed = [i for i, column in enumerate(sheet.columns) if _adds_up(sheet.name, column)]
    top = HEAD_ROWS if summed else 1
    last = top + len(sheet.rows)
    for i, column in enumerate(sheet.columns):
        page.write_string(0, i, column, looks.head)
        page.set_column(i, i, _width(sheet, i))
    if summed:
        page.write_string(1, 0, say("paper.total"), looks.total)
    for i in summed:
        letter = _letter(i)
        whole = sum(float(row[i] or 0.0) for row in sheet.rows)
        formula = f"=SUM({letter}{top + 1}:{letter}{last})" if sheet.rows else "=0"
        page.write_formula(1, i, formula, looks.total, whole)
    writers = [_writer(page, column, looks) for column in sheet.columns]
    for r, row in enumerate(sheet.rows, top):
        for c, value in enumerate(row):
            if value is not None:
                writers[c](r, c, value)
    page.freeze_panes(top, 1)
    if sheet.rows and not summed:
        # Sorting by a filter would carry the row of totals off into the table.
        page.autofilter(0, 0, last - 1, len(sheet.columns) - 1)
    page.set_landscape()
    page.repeat_rows(0, top - 1)
    page.fit_to_pages(1, 0)


def _writer(page: Any, column: str, looks: _Looks) -> Callable[[int, int, Any], object]:
    if column in DATES:
        return lambda r, c, v: page.write_datetime(r, c, date.fromisoformat(v), looks.date)

    def write(r: int, c: int, value: Any) -> object:
        if isinstance(value, bool):
            return page.write_boolean(r, c, value)
        if isinstance(value, str):
            return page.write_string(r, c, value)
        return page.write_number(r, c, value, None if isinstance(value, int) else looks.number)

    return write


def _adds_up(sheet: str, column: str) -> bool:
    return column in SUMMED.get(sheet, ()) or (sheet in ("weeks", "farm") and column.startswith("feed_"))


def _width(sheet: Sheet, i: int) -> float:
    if sheet.columns[i] == "task":
        return 80
    texts = [len(v) for row in sheet.rows[:200] if isinstance(v := row[i], str)]
    return min(max([10, *texts]) + 2, 42)


def _letter(column: int) -> str:
    from xlsxwriter.utility import xl_col_to_name  # type: ignore[import-untyped]

    return str(xl_col_to_name(column))
