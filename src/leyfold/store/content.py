"""A record as it is kept: one canonical line of JSON, its hash, and the chain that binds the book."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from leyfold.nouns.record import Record
from leyfold.words import say

__all__ = ["DEEPEST", "LONGEST_BYTES", "TooMuch", "chained", "line_of", "record_of", "sha_of", "stamp"]

LONGEST_BYTES = 65_536
"""Of one record, as UTF-8."""
DEEPEST = 16
"""Levels of objects and lists in one record's data."""

_JSON = json.JSONDecoder()
"""Asked without `json.loads`, which looks for space around what has none."""


class TooMuch(ValueError):
    """A record that cannot be kept; says why and the mend."""

    def __init__(self, name: str, **values: object) -> None:
        self.why, self.mend = say(f"store.{name}", **values), say(f"store.{name}_mend", **values)
        super().__init__(self.why)


def line_of(record: Record) -> str:
    """The record in one line, the same for the same content whatever the order of its keys.

    TooMuch where it is too long, too deep, or holds what JSON or UTF-8 cannot say.
    """
    if _depth(record.data) > DEEPEST:
        raise TooMuch("too_deep", most=DEEPEST)
    page = {
        "id": record.id,
        "device": record.device,
        "who": record.who,
        "at": stamp(record.at),
        "entered": stamp(record.entered),
        "kind": record.kind,
        "data": record.data,
    }
    try:
        line = json.dumps(page, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))
        size = len(line.encode())
    except (ValueError, TypeError, RecursionError):
        raise TooMuch("unsayable") from None
    if size > LONGEST_BYTES:
        raise TooMuch("too_long", bytes=size, most=LONGEST_BYTES)
    return line


def record_of(line: str) -> Record:
    """The inverse of `line_of`."""
    page: dict[str, Any]
    page, end = _JSON.raw_decode(line)
    if end != len(line):
        raise ValueError("more than one line of JSON")
    page["at"] = datetime.fromisoformat(page["at"])
    page["entered"] = datetime.fromisoformat(page["entered"])
    return Record(**page)


def sha_of(line: str) -> bytes:
    """SHA-256 of the line as UTF-8, 32 bytes."""
    return hashlib.sha256(line.encode()).digest()


def chained(before: bytes, seq: int, id: str, sha: bytes, received: str, via: str) -> bytes:
    """The next link: no row of the book can change, go or come without all later links breaking."""
    row = f"{seq}\0{id}\0{received}\0{via}".encode()
    return hashlib.sha256(before + sha + row).digest()


def stamp(at: datetime) -> str:
    """An instant as it is written everywhere: UTC, with a Z."""
    return at.astimezone(UTC).replace(tzinfo=None).isoformat() + "Z"


def _depth(value: object) -> int:
    deepest, level = 0, [value]
    while level:
        deepest += 1
        inner = [one for one in level if isinstance(one, Mapping | list | tuple)]
        if deepest > DEEPEST + 1:
            break
        level = [child for one in inner for child in (one.values() if isinstance(one, Mapping) else one)]
    return deepest - 1
