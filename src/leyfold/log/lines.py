"""`records.jsonl`: one record a line, appended and never changed.

    {"id": "01JNP...", "device": "...", "who": "...", "at": "2027-03-01T06:10:00Z",
     "entered": "2027-03-01T06:11:30Z", "kind": "found dead", "data": {...}}

`id` is a ULID made on the device. Times carry their offset; they are kept in UTC.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any, NoReturn

from leyfold.log.faults import FILE, refused
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record
from leyfold.words import say

__all__ = ["merge", "read", "write"]

MOST_LINE_CHARACTERS = 65_536
MOST_RECORDS = 1_000_000
MOST_FAULTS = 50
LONGEST_NAME = 64

_KEYS = ("id", "device", "who", "at", "entered", "kind", "data")
_ULID = re.compile(r"[0-7][0-9A-HJKMNP-TV-Z]{25}")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)")


class _Wrong(Exception):
    """A line that is refused: field, name of the sentences, and what they are filled with."""

    def __init__(self, field: str, name: str, **values: object) -> None:
        self.field, self.name, self.values = field, name, values


def read(text: str) -> tuple[Record, ...]:
    """The records of a log, in its order, each once. BadInput with every faulty line."""
    faults: list[Fault] = []
    known: dict[str, Record] = {}
    rows = text.split("\n")
    for number, row in enumerate(rows, start=1):
        if not row.strip():
            continue
        try:
            record = _record(row, number, torn=number == len(rows))
            if len(known) >= MOST_RECORDS:
                raise _Wrong("", "too_many", most=MOST_RECORDS)
            first = known.setdefault(record.id, record)
            if first != record:
                raise _Wrong("id", "two_contents", id=record.id, line=first.line)
        except _Wrong as wrong:
            faults.append(
                Fault(
                    file=FILE,
                    line=number,
                    field=wrong.field,
                    wrong=say(f"log.{wrong.name}", **wrong.values),
                    mend=say(f"log.{wrong.name}_mend", **wrong.values),
                )
            )
            if len(faults) == MOST_FAULTS:
                break
    if faults:
        raise BadInput(*faults)
    return tuple(known.values())


def write(records: Iterable[Record]) -> str:
    """The lines of `records`, each closed by a line feed: the inverse of `read`."""
    return "".join(
        json.dumps(
            {
                "id": r.id,
                "device": r.device,
                "who": r.who,
                "at": _utc(r.at),
                "entered": _utc(r.entered),
                "kind": r.kind,
                "data": r.data,
            },
            ensure_ascii=False,
            allow_nan=False,
        )
        + "\n"
        for r in records
    )


def merge(*logs: Iterable[Record]) -> tuple[Record, ...]:
    """All records of several devices, each once, in order of (at, id). BadInput when one id has two
    contents."""
    known: dict[str, Record] = {}
    for log in logs:
        for record in log:
            first = known.setdefault(record.id, record)
            if first != record:
                raise refused(record, "id", "two_contents", id=record.id, line=first.line or "?")
    return tuple(sorted(known.values(), key=lambda r: (r.at, r.id)))


def _record(row: str, number: int, *, torn: bool) -> Record:
    if len(row) > MOST_LINE_CHARACTERS:
        raise _Wrong("", "long_line", most=MOST_LINE_CHARACTERS)
    try:
        page = json.loads(row, object_pairs_hook=_once, parse_constant=_no_constant)
    except (json.JSONDecodeError, RecursionError) as error:
        column = getattr(error, "colno", 1)
        raise _Wrong("", "torn" if torn else "not_json", column=column) from None
    if not isinstance(page, dict):
        raise _Wrong("", "not_object", keys=", ".join(_KEYS))
    for key in _KEYS:
        if key not in page:
            raise _Wrong(key, "no_key", key=key, keys=", ".join(_KEYS))
    for key in page:
        if key not in _KEYS:
            raise _Wrong(key, "odd_key", key=key, keys=", ".join(_KEYS))
    names = {key: _name(page, key) for key in ("id", "device", "who", "kind")}
    if not _ULID.fullmatch(names["id"]):
        raise _Wrong("id", "not_ulid", id=names["id"])
    at, entered = _time(page, "at"), _time(page, "entered")
    if at > entered:
        raise _Wrong("at", "before_it_happened", at=_utc(at), entered=_utc(entered))
    if not isinstance(page["data"], dict):
        raise _Wrong("data", "no_data")
    return Record(at=at, entered=entered, data=page["data"], line=number, **names)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _Wrong(twice, "key_twice", key=twice)
    return found


def _no_constant(word: str) -> NoReturn:
    raise _Wrong("", "not_a_number", word=word)


def _name(page: Mapping[str, Any], key: str) -> str:
    value = page[key]
    if not isinstance(value, str) or not 0 < len(value) <= LONGEST_NAME:
        raise _Wrong(key, "bad_name", key=key, most=LONGEST_NAME)
    return value


def _time(page: Mapping[str, Any], key: str) -> datetime:
    value = page[key]
    try:
        if isinstance(value, str) and _TIME.fullmatch(value):
            return datetime.fromisoformat(value).astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise _Wrong(key, "bad_time", given=str(value)[:40])


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).replace(tzinfo=None).isoformat() + "Z"
