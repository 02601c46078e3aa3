"""A farm's own station: a CSV with headings, whatever its signs, zone and gaps."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import cast

import numpy as np
from numpy.typing import NDArray

from leyfold import units
from leyfold.nature.air import dew_point_C
from leyfold.nouns.clock import read_clock, shown_twice
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Variable, Weather
from leyfold.weather.columns import Column, told
from leyfold.weather.faults import fault, refused
from leyfold.weather.plausible import known_unit, within
from leyfold.weather.series import by_hour
from leyfold.words import say

__all__ = ["read_station"]

Floats = NDArray[np.float64]

MOST_FAULTS = 8
MOST_YEARS = 20
"""Readings further apart than this are a slip of the clock or the pen."""
MOST_ROWS = 600_000
"""A year by the minute, and some."""
_MISSING = frozenset({"", "-", "--", "---", "na", "n/a", "nan", "null", "none", "missing", "m", "x", "#n/a"})
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_DAY = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})")
_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([ap]\.?m\.?)?", re.IGNORECASE)
_OFFSET = re.compile(r"(?:z|utc|gmt|([+-])(\d{2}):?(\d{2}))$", re.IGNORECASE)


def read_station(farm: Farm, text: str, *, name: str) -> Weather:
    """The readings of a station by the hour, origin measured.

    Delimiter, decimal comma and order of day and month are found from the file; headings as
    `columns.told`. Times without an offset are those of `farm.weather.zone`, else of the farm. Gaps stay
    gaps. BadInput for what has more than one reading; notes for what was left out.
    """
    rows, comma = _rows(text, name)
    if len(rows) < 2:
        raise refused(name, "empty")
    (line, headings), body = rows[0], rows[1:]
    columns = told(headings, farm.weather.columns, name, line)
    table = _Table(name, headings, columns, body, comma)
    stamps = _times(farm, table)
    if int(stamps.max() - stamps.min()) > MOST_YEARS * 366 * 86400:
        middle = np.median(stamps)
        line = body[int(np.abs(stamps - middle).argmax())][0]
        raise refused(name, "years_apart", line=line, years=MOST_YEARS)
    keep, notes = _once(table, stamps)
    values, more = _values(farm, table, keep, stamps[keep])
    return by_hour(stamps[keep], values, "measured", notes=(*notes, *more))


@dataclass(frozen=True, slots=True)
class _Table:
    name: str
    headings: Sequence[str]
    columns: Sequence[Column]
    body: Sequence[tuple[int, Sequence[str]]]
    comma: bool

    def cells(self, what: str) -> list[str]:
        at = next(i for i, c in enumerate(self.columns) if c.what == what)
        return [row[at].strip() if at < len(row) else "" for _, row in self.body]

    def has(self, what: str) -> bool:
        return any(c.what == what for c in self.columns)


def _rows(text: str, name: str) -> tuple[list[tuple[int, list[str]]], bool]:
    """Non-empty rows with their lines from the headings on, and whether the decimal sign is a comma."""
    if "\0" in text:
        raise refused(name, "not_text")
    head = next(
        (line for line in text.splitlines() if line.count(";") + line.count(",") + line.count("\t")), ""
    )
    delimiter = max(";\t,", key=lambda sign: head.count(sign))
    rows = []
    try:
        reader = csv.reader(text.splitlines(), delimiter=delimiter)
        for row in reader:
            if any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#"):
                rows.append((reader.line_num, row))
            if len(rows) > MOST_ROWS:
                raise refused(name, "too_long", most=MOST_ROWS)
    except csv.Error as error:
        raise refused(name, "not_csv", why=str(error)) from None
    rows = rows[next((i for i, (_, row) in enumerate(rows) if len(row) > 1), 0) :]
    return rows, delimiter != ","


def _times(farm: Farm, table: _Table) -> NDArray[np.int64]:
    """Unix seconds of every row."""
    both = table.has("date") and table.has("clock")
    texts = table.cells("time") if not both else [
        f"{d} {c}" for d, c in zip(table.cells("date"), table.cells("clock"), strict=True)
    ]  # fmt: skip
    unit = next(c.unit for c in table.columns if c.what in ("time", "clock"))
    zone = unit or farm.weather.zone or farm.holding.zone
    order = _order(farm, table, texts)
    clocks: list[tuple[datetime, bool]] = []
    wrong = []
    for (line, _), text in zip(table.body, texts, strict=True):
        clock = _clock(text, order)
        if clock is None:
            wrong.append(fault(table.name, "time_unread", line=line, text=text[:40]))
            if len(wrong) == MOST_FAULTS:
                break
        else:
            clocks.append(clock)
    if wrong:
        raise BadInput(*wrong)
    return np.array([*_instants(table, clocks, zone)], dtype=np.int64)


def _instants(table: _Table, clocks: Sequence[tuple[datetime, bool]], zone: str) -> Iterator[int]:
    """Of bare times shown twice the second is meant once the clock has gone back in the file."""
    falling = len(clocks) > 1 and clocks[-1][0] < clocks[0][0]
    order = range(len(clocks) - 1, -1, -1) if falling else range(len(clocks))
    found = [0] * len(clocks)
    before: datetime | None = None
    second = False
    for i in order:
        clock, sure = clocks[i]
        if sure:
            found[i] = int(clock.timestamp())
            continue
        twice = shown_twice(clock, zone)
        second = twice and (second or (before is not None and clock < before and shown_twice(before, zone)))
        at = read_clock(clock, zone, second=second)
        if at is None:
            shown = clock.isoformat(sep=" ", timespec="minutes")
            raise refused(table.name, "clock_skipped", line=table.body[i][0], zone=zone, clock=shown)
        found[i], before = int(at.timestamp()), clock
    return iter(found)


def _order(farm: Farm, table: _Table, texts: Sequence[str]) -> str:
    """Whether days stand before months: by the farm's word, or by a number over twelve."""
    if farm.weather.day_first is not None:
        return "dm" if farm.weather.day_first else "md"
    firsts, seconds, points = [], [], False
    for text in texts:
        found = _DAY.match(text)
        if found:
            firsts.append(int(found[1]))
            seconds.append(int(found[2]))
            points = points or "." in found[0]
    if points or not firsts or max(firsts) > 12:
        return "dm"
    if max(seconds) > 12:
        return "md"
    raise refused(table.name, "day_or_month", line=table.body[0][0], text=texts[0][:40])


def _clock(text: str, order: str) -> tuple[datetime, bool] | None:
    """The time a cell says, and whether it says its offset as well."""
    day, rest = _ISO.match(text), ""
    if day:
        year, month, date_ = (int(part) for part in day.groups())
    else:
        day = _DAY.match(text)
        if not day:
            return None
        one, two, year = (int(part) for part in day.groups())
        date_, month = (one, two) if order == "dm" else (two, one)
    rest = text[day.end() :].lstrip("T ,").strip()
    offset = _OFFSET.search(rest)
    clock = _CLOCK.fullmatch(rest[: offset.start()].strip() if offset else rest)
    if not clock:
        return None
    hour, minute, second = int(clock[1]), int(clock[2]), int(clock[3] or 0)
    if clock[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if clock[4].lower().startswith("p") else 0)
    try:
        at = datetime(year, month, date_, 0 if hour == 24 else hour, minute, second)  # noqa: DTZ001
    except ValueError:
        return None
    if not 1900 <= year <= 2200:
        return None
    at = datetime.fromtimestamp(at.replace(tzinfo=UTC).timestamp() + (86400 if hour == 24 else 0), UTC)
    if not offset:
        return at.replace(tzinfo=None), False
    ahead = (int(offset[2]) * 60 + int(offset[3])) * (-1 if offset[1] == "-" else 1) if offset[1] else 0
    return datetime.fromtimestamp(at.timestamp() - 60 * ahead, UTC), True


def _once(table: _Table, stamps: NDArray[np.int64]) -> tuple[NDArray[np.intp], tuple[str, ...]]:
    """Rows in order of time, those written twice once. BadInput where two say different things."""
    order = np.argsort(stamps, kind="stable")
    again = np.flatnonzero(np.diff(stamps[order]) == 0)
    drop = set()
    for i in again.tolist():
        a, b = int(order[i]), int(order[i + 1])
        if list(table.body[a][1]) != list(table.body[b][1]):
            first = table.body[a][0]
            raise refused(table.name, "two_readings", line=table.body[b][0], first=first)
        drop.add(b)
    kept = np.array([i for i in order.tolist() if i not in drop], dtype=np.intp)
    return kept, (say("weather.note_doubled", file=table.name, n=len(drop)),) if drop else ()


def _values(
    farm: Farm, table: _Table, keep: NDArray[np.intp], stamps: NDArray[np.int64]
) -> tuple[dict[Variable, Floats], tuple[str, ...]]:
    """Every variable of the file [reading], and what was left out."""
    number = _reader(table.comma)
    wrong: list[Fault] = []
    values: dict[str, Floats] = {}
    notes: list[str] = []
    for column, heading in zip(table.columns, table.headings, strict=True):
        if column.what in ("time", "date", "clock", "ignore"):
            continue
        got = np.full(len(table.body), np.nan)
        for i, text in enumerate(table.cells(column.what)):
            try:
                got[i] = number(text)
            except ValueError:
                if len(wrong) < MOST_FAULTS:
                    line = table.body[i][0]
                    wrong.append(fault(table.name, "number_unread", line=line, field=heading, text=text[:40]))
        factor, offset = units.COLUMNS[column.unit]
        inside = factor * got[keep] + offset
        if column.what == "temperature_C":
            known_unit(farm, stamps, inside, column.unit, table.name, heading)
        inside, note = within(column.what, inside, table.name, heading)
        notes += note
        values[column.what] = inside
    if wrong:
        raise BadInput(*wrong)
    if "humidity" in values and "dew_point_C" not in values and "temperature_C" in values:
        t, wet = values["temperature_C"], np.clip(values["humidity"], 0.01, 1.0)
        there = ~np.isnan(t) & ~np.isnan(wet)
        dew = np.full(len(t), np.nan)
        dew[there] = dew_point_C(t[there], wet[there])
        values["dew_point_C"] = dew
    values.pop("humidity", None)
    return cast(dict[Variable, Floats], values), tuple(notes)


def _reader(comma: bool) -> Callable[[str], float]:
    def number(text: str) -> float:
        if text.casefold() in _MISSING:
            return float("nan")
        plain = text.replace("−", "-").replace("\u00a0", "")
        if comma and "," in plain:
            plain = plain.replace(",", ".")
        value = float(plain)
        if value in (float("inf"), float("-inf")) or "_" in plain:
            raise ValueError(text)
        return value

    return number
