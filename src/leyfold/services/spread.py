"""Records as tables: one a kind, a line a record, in CSV that a spreadsheet opens and that comes back whole.

A cell is a text as it is, or JSON: a number, `true`, a list. A text that could be taken for either stands in
quotes within its cell, and so does one that a spreadsheet would take for a formula. An empty cell is a field
left out, `null` one that was given as unknown. Units stand in the names of the fields.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from leyfold.log.kinds import KINDS
from leyfold.log.lines import write
from leyfold.nouns.record import Record
from leyfold.store.faults import refused

__all__ = ["ENVELOPE", "rows_of", "tables_of"]

ENVELOPE = ("id", "device", "who", "at", "entered", "kind")
_DATA = "data."
_FORMULA = ("=", "+", "-", "@", '"')
_WIDEST_CELL = 10_000_000


def tables_of(records: Iterable[Record]) -> dict[str, str]:
    """The name of each table's file ("found-dead.csv") and its text, rows in the order given."""
    pages: dict[str, list[dict[str, Any]]] = {}
    for line in write(records).split("\n")[:-1]:
        page = json.loads(line)
        pages.setdefault(_file_of(page["kind"]), []).append(page)
    return {name: _table(rows) for name, rows in sorted(pages.items())}


def rows_of(name: str, text: str) -> Iterator[tuple[int, str]]:
    """The number of each row's first line in the table of the file `name`, and the row as a line of
    `records.jsonl`. BadInput, with that line, where the text is no table of records."""
    csv.field_size_limit(_WIDEST_CELL)
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        header = next(rows, [])
        if not set(ENVELOPE) <= set(header) or len(set(header)) < len(header):
            raise refused("no_table", file=name, line=1, columns=", ".join(ENVELOPE))
        before = rows.line_num
        for row in rows:
            if len(row) != len(header):
                raise refused("ragged", file=name, line=before + 1, cells=len(row), columns=len(header))
            if any(row):
                yield before + 1, _line(dict(zip(header, row, strict=True)))
            before = rows.line_num
    except csv.Error as error:
        raise refused("not_csv", file=name, line=rows.line_num, reason=str(error)) from None


def _file_of(kind: str) -> str:
    return (re.sub(r"[^a-z0-9]+", "-", kind.lower()).strip("-") or "other") + ".csv"


def _table(pages: list[dict[str, Any]]) -> str:
    model = KINDS.get(pages[0]["kind"])
    known = [info.alias or name for name, info in model.model_fields.items()] if model else []
    given = {field for page in pages for field in page["data"]}
    fields = [field for field in known if field in given] + sorted(given - set(known))
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow([*ENVELOPE, *map(_column, fields)])
    for page in pages:
        data: Mapping[str, Any] = page["data"]
        cells = [_cell(data[field]) if field in data else "" for field in fields]
        table.writerow([*(_cell(page[key]) for key in ENVELOPE), *cells])
    return "\ufeff" + out.getvalue()  # by the mark a spreadsheet knows UTF-8


def _column(field: str) -> str:
    """A field of a kind we do not know may be named anything."""
    plain = field.isprintable() and field == field.strip() and not field.startswith((*_FORMULA, _DATA))
    return field if field and plain and field not in ENVELOPE else _DATA + field


def _cell(value: Any) -> str:
    if isinstance(value, str) and value and value == value.strip() and value.isprintable():
        plain = not value.startswith(_FORMULA) and _read(value) == value
        return value if plain else json.dumps(value, ensure_ascii=False)
    return json.dumps(value, ensure_ascii=False)


def _read(cell: str) -> Any:
    try:
        return json.loads(cell, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        return cell


def _no_constant(word: str) -> Any:
    raise ValueError(word)


def _line(cells: Mapping[str, str]) -> str:
    # An id of digits alone is a text all the same.
    page = {key: _read(cells[key]) if cells[key].startswith('"') else cells[key] for key in ENVELOPE}
    data = {
        column.removeprefix(_DATA): _read(cell)
        for column, cell in cells.items()
        if column not in ENVELOPE and cell
    }
    return json.dumps({**page, "data": data}, ensure_ascii=False)
