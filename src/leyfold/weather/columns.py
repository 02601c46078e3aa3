"""What the columns of a station's file hold: by its own words and units, or as the farm file says."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.weather import Variable
from leyfold.weather.faults import fault

__all__ = ["Column", "told"]


@dataclass(frozen=True, slots=True)
class Column:
    """`what`: a variable, "humidity", "time" (day and clock), "date", "clock" or "ignore"; `unit` a key of
    `units.COLUMNS`, or a zone word for times."""

    what: str
    unit: str = ""


# The first row that fits counts. All words of the first group must not be there, one of the second must.
_KINDS: tuple[tuple[str, str, str], ...] = (
    (
        "ignore",
        "",
        r"indoor|inside|soil|grass|max|min\b|minimum|high|low\b|rate|intensity|total|daily|sum\b|"
        r"direction|\bdir\b|chill|index|feels|apparent|uv|pressure|battery|source|uncert",
    ),
    ("time", "", r"^(date ?/? ?time|time ?stamp|time|datetime|date and time|utc|zeit|when)\b"),
    ("date", "", r"^(date|day|datum)\b"),
    ("clock", "", r"^(clock|hour|uhrzeit|local time)\b"),
    ("dew_point_C", "", r"dew"),
    ("humidity", "", r"\bhum|\brh\b"),
    ("gust_m_per_s", "", r"gust"),
    ("wind_m_per_s", "", r"wind|\bws\b"),
    ("cloud_share", "", r"cloud"),
    ("rain_mm", "", r"rain|precip"),
    ("global_w", "", r"solar|radiation|global|\bghi\b"),
    ("temperature_C", r"dew|wet", r"temp|dry.?bulb|^t$|^t[ _]?(air|out|2m)\b"),
)
_UNITS: tuple[tuple[str, str], ...] = (
    (r"[°º] ?c\b|\bdeg ?c\b|\bc\b|celsius", "C"),
    (r"[°º] ?f\b|\bdeg ?f\b|\bf\b|fahrenheit", "F"),
    (r"\bk\b|kelvin", "K"),
    (r"km ?/ ?h|kmh|kph", "km_per_h"),
    (r"m ?/ ?s\b|\bms\b|m s-1", "m_per_s"),
    (r"mph|mi ?/ ?h|mp/h", "mph"),
    (r"\bkn\b|knots?\b|\bkts?\b", "kn"),
    (r"okta|octa|/ ?8", "octas"),
    (r"tenths?|/ ?10", "tenths"),
    (r"%|percent", "percent"),
    (r"\bmm\b", "mm"),
    (r"\bcm\b", "cm"),
    (r"\bin\b|inch", "in"),
    (r"w ?/ ?m|w m-2", "w"),
)
_MEANT: Mapping[str, tuple[str, ...]] = {
    "temperature_C": ("C", "F", "K"),
    "dew_point_C": ("C", "F", "K"),
    "humidity": ("percent",),
    "wind_m_per_s": ("m_per_s", "km_per_h", "mph", "kn"),
    "gust_m_per_s": ("m_per_s", "km_per_h", "mph", "kn"),
    "cloud_share": ("percent", "octas", "tenths"),
    "rain_mm": ("mm", "cm", "in"),
    "global_w": ("w",),
}
_SURE = ("temperature_C", "dew_point_C", "humidity", "global_w")
"""Where no unit is said the first of those meant is taken: a wrong one shows in the values."""
_SAID: Mapping[str, Column] = {
    **{word: Column(word) for word in ("time", "date", "clock", "ignore")},
    "humidity_percent": Column("humidity", "percent"),
    "global_w": Column("global_w", "w"),
}


def told(headings: Sequence[str], own: Mapping[str, str], file: str, line: int) -> list[Column]:
    """What each column holds. BadInput with all that is wrong with the headings."""
    wrong: list[Fault] = []
    columns = []
    known = {heading.strip().casefold(): word for heading, word in own.items()}
    for heading in headings:
        word = known.get(heading.strip().casefold())
        column = _own(word) if word is not None else _guessed(heading)
        if column.unit == "?":
            wrong.append(fault(file, "unit_missing", line=line, field=heading.strip(), what=column.what))
        columns.append(column)
    for name in {c.what for c in columns} - {"ignore"}:
        same = [h.strip() for h, c in zip(headings, columns, strict=True) if c.what == name]
        if len(same) > 1:
            wrong.append(fault(file, "column_twice", line=line, field=same[1], what=name, first=same[0]))
    whats = {c.what for c in columns}
    if "time" not in whats and not {"date", "clock"} <= whats:
        if "clock" in whats or "date" not in whats:
            wrong.append(fault(file, "no_time", line=line))
        else:  # a date alone that holds a clock as well is seen when it is read
            columns = [Column("time") if c.what == "date" else c for c in columns]
    elif {"date", "time"} <= whats:
        columns = [Column("clock", c.unit) if c.what == "time" else c for c in columns]
    if not whats & set(_MEANT):
        wrong.append(fault(file, "no_weather", line=line))
    if wrong:
        raise BadInput(*wrong)
    return columns


def _own(word: str) -> Column:
    if word in _SAID:
        return _SAID[word]
    name, _, unit = word.partition("_")
    if name == "dew":
        return Column("dew_point_C", word.rpartition("_")[2])
    whole = {"temperature": "temperature_C", "wind": "wind_m_per_s", "gust": "gust_m_per_s",
             "cloud": "cloud_share", "rain": "rain_mm"}  # fmt: skip
    return Column(whole[name], unit)


def _guessed(heading: str) -> Column:
    plain = re.sub(r"[_.,;:]+", " ", heading.casefold()).strip()
    bare = re.sub(r"[(\[].*?[)\]]", " ", plain).strip() or plain
    for what, without, needs in _KINDS:
        if re.search(needs, bare) and not (without and re.search(without, bare)):
            if what in ("time", "clock"):
                return Column(what, "UTC" if re.search(r"\butc\b|\bgmt\b|\bz\b", plain) else "")
            if what not in _MEANT:
                return Column(what)
            meant = _MEANT[what]
            unit_at = re.search(r"[(\[]", plain)
            rest = plain[unit_at.start() :] if unit_at else plain
            found = next((u for pattern, u in _UNITS if u in meant and re.search(pattern, rest)), None)
            if found is None:
                found = meant[0] if what in _SURE and not _other_unit(plain, meant) else "?"
            return Column(cast(Variable, what), found)
    return Column("ignore")


def _other_unit(plain: str, meant: tuple[str, ...]) -> bool:
    """Whether the brackets name some unit, but none of those meant."""
    inside = re.search(r"[(\[]\s*(.+?)\s*[)\]]", plain)
    return bool(inside and any(re.search(p, inside[1]) for p, u in _UNITS if u not in meant))
