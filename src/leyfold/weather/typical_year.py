"""Typical years in the two open formats: TMY3 and EPW. Their hours end at the stamp, in standard time.

TMY3: Wilcox & Marion 2008, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, tables 1-3. EPW: EnergyPlus
Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary". Rain is left out: where such files have
any, it repeats sums of several hours.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime

import numpy as np

from leyfold.nouns.weather import Variable, Weather, hour_of
from leyfold.weather.faults import refused
from leyfold.weather.series import BOUNDS, of_hours

__all__ = ["YEAR", "is_epw", "is_tmy3", "read_epw", "read_tmy3"]

YEAR = 2001
"""Months of a typical year come from many years: all are put into one, without a leap day."""
HOURS = 8760

# Heading or place in the row; the factor to our unit; the least value that means "missing".
_TMY3: Mapping[Variable, tuple[str, float, float]] = {
    "temperature_C": ("Dry-bulb (C)", 1.0, np.inf),
    "dew_point_C": ("Dew-point (C)", 1.0, np.inf),
    "wind_m_per_s": ("Wspd (m/s)", 1.0, np.inf),
    "cloud_share": ("TotCld (tenths)", 0.1, np.inf),
    "global_w": ("GHI (W/m^2)", 1.0, np.inf),
}
_EPW: Mapping[Variable, tuple[int, float, float]] = {
    "temperature_C": (6, 1.0, 99.9),
    "dew_point_C": (7, 1.0, 99.9),
    "wind_m_per_s": (21, 1.0, 999.0),
    "cloud_share": (22, 0.1, 99.0),
    "global_w": (13, 1.0, 9999.0),
}


def is_tmy3(text: str) -> bool:
    """Whether the second line is the heading of a TMY3 file."""
    lines = text.split("\n", 2)
    return len(lines) > 2 and lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM),")


def is_epw(text: str) -> bool:
    """Whether the file opens as an EPW file does."""
    return text[:9].upper() == "LOCATION,"


def read_tmy3(text: str, *, name: str) -> Weather:
    """A TMY3 file as one year by the hour, origin typical. BadInput where it is cut short or broken."""
    lines = text.splitlines()
    head, headings = next(csv.reader(lines[:1])), next(csv.reader(lines[1:2]))
    if len(head) < 7:
        raise refused(name, "year_head", line=1)
    wanted = {}
    for variable, (heading, factor, missing) in _TMY3.items():
        if heading not in headings:
            raise refused(name, "year_column", line=2, field=heading)
        wanted[variable] = (headings.index(heading), factor, missing)

    def when(row: Sequence[str]) -> tuple[int, int, int]:
        month, day, _ = row[0].split("/")
        hour, minute = row[1].split(":")
        if int(minute) != 0:
            raise ValueError(row[1])
        return int(month), int(day), int(hour)

    return _year(lines, 2, wanted, when, _zone(head[3], name), name, least=2)


def read_epw(text: str, *, name: str) -> Weather:
    """An EPW file as one year by the hour, origin typical; a leap day is left out. BadInput as above."""
    lines = text.splitlines()
    head = next(csv.reader(lines[:1]))
    if len(head) < 10 or len(lines) < 9:
        raise refused(name, "year_head", line=1)

    def when(row: Sequence[str]) -> tuple[int, int, int]:
        return int(row[1]), int(row[2]), int(row[3])

    return _year(lines, 8, _EPW, when, _zone(head[8], name), name, least=23)


def _zone(text: str, name: str) -> float:
    try:
        hours = float(text)
    except ValueError:
        raise refused(name, "year_head", line=1) from None
    if not -12 <= hours <= 14:
        raise refused(name, "year_head", line=1)
    return hours


def _year(
    lines: Sequence[str], skip: int, wanted: Mapping[Variable, tuple[int, float, float]],
    when: Callable[[Sequence[str]], tuple[int, int, int]], zone_h: float, name: str, *, least: int,
) -> Weather:  # fmt: skip
    values = {variable: np.full(HOURS, np.nan) for variable in wanted}
    seen = np.zeros(HOURS, dtype=bool)
    opens = date(YEAR, 1, 1).toordinal()
    for line, row in enumerate(csv.reader(lines[skip:]), start=skip + 1):
        if not row:
            continue
        try:
            if len(row) <= least:
                raise ValueError(f"{len(row)} columns")
            month, day, ends = when(row)
            if (month, day) == (2, 29):
                continue
            if not 1 <= ends <= 24:
                raise ValueError(f"hour {ends}")
            i = (date(YEAR, month, day).toordinal() - opens) * 24 + ends - 1
            for variable, (at, factor, missing) in wanted.items():
                text = row[at].strip() if at < len(row) else ""
                value = float(text) if text else np.nan
                low, high = BOUNDS[variable]
                given = factor * value
                if value < missing and low <= given <= high:
                    values[variable][i] = given
        except ValueError as error:
            raise refused(name, "year_row", line=line, why=str(error)[:60]) from None
        if seen[i]:
            raise refused(name, "year_twice", line=line)
        seen[i] = True
    if not seen.all():
        raise refused(name, "year_short", n=int(seen.sum()), wanted=HOURS)
    first = hour_of(datetime(YEAR, 1, 1, tzinfo=UTC)) - int(np.floor(zone_h))
    return of_hours(first, values, "typical", HOURS)
