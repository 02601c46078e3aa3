"""Is the book what was once written? SQLite's own check of the file, then every record's hash and chain."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from leyfold.nouns.errors import BadInput
from leyfold.store.database import connect, look_at_head, stored_version
from leyfold.store.faults import spoken
from leyfold.store.records import head, verified

__all__ = ["SQLITE_VERSION", "Examined", "examine"]

SQLITE_VERSION = sqlite3.sqlite_version
_MOST_SAID = 20


@dataclass(frozen=True, slots=True)
class Examined:
    """What a look through the whole file found. `wrong` in plain words, empty where all is well."""

    version: int
    book: str
    records: int
    cursor: int
    devices: tuple[tuple[str, str], ...]
    """Each device that ever sent something, and the last instant it did."""
    wrong: tuple[str, ...]


def examine(path: Path) -> Examined:
    """Read all of the database at `path`. BadInput where it cannot be read as a book at all."""
    look_at_head(path)
    with spoken(path.name), closing(connect(path)) as book:
        version = stored_version(book, path.name)
        book.execute("BEGIN")
        wrong = [
            str(said)
            for (said,) in book.execute(f"PRAGMA integrity_check({_MOST_SAID})").fetchall()
            if said != "ok"
        ]
        wrong += [f"{row[0]} {row[1]}" for row in book.execute("PRAGMA foreign_key_check").fetchall()]
        count = 0
        try:
            for _ in verified(book):
                count += 1
        except BadInput as changed:
            wrong += [fault.wrong for fault in changed.faults]
        name, cursor, devices = _about(book)
    return Examined(version, name, count, cursor, devices, tuple(wrong))


def _about(book: sqlite3.Connection) -> tuple[str, int, tuple[tuple[str, str], ...]]:
    name = book.execute("SELECT value FROM about WHERE name = 'book'").fetchone()
    devices = book.execute("SELECT via, max(received) FROM record GROUP BY via ORDER BY via").fetchall()
    return (str(name[0]) if name else ""), head(book)[0], tuple(devices)
