"""How the store refuses: what is wrong with the file of records, in plain words, and the mend."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["FILE", "refused", "spoken"]

FILE = "records.db"

_SAID = {
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_NOTADB: "damaged",
    sqlite3.SQLITE_BUSY: "busy",
    sqlite3.SQLITE_LOCKED: "busy",
    sqlite3.SQLITE_READONLY: "read_only",
    sqlite3.SQLITE_CANTOPEN: "unopened",
    sqlite3.SQLITE_PERM: "unopened",
    sqlite3.SQLITE_IOERR: "disk",
    sqlite3.SQLITE_TOOBIG: "disk",
}


def refused(name: str, /, *, file: str = FILE, line: int | None = None, **values: object) -> BadInput:
    """To be raised: the sentences `store.<name>` and `store.<name>_mend` about `file`."""
    mend = say(f"store.{name}_mend", file=file, **values)
    return BadInput(Fault(file, "", say(f"store.{name}", file=file, **values), mend, line))


@contextmanager
def spoken(file: str = FILE) -> Iterator[None]:
    """What the disk or a damaged file makes SQLite say, said in plain words as BadInput.

    A slip in our own SQL stays what it is.
    """
    try:
        yield
    except sqlite3.DatabaseError as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if "decode" in str(error):  # a text that is no text any more: Python's own find, without a code
            code = sqlite3.SQLITE_CORRUPT
        if code == sqlite3.SQLITE_ERROR and str(error).startswith("no such"):
            code = sqlite3.SQLITE_CORRUPT  # a damaged letter in the names of its tables
        if code not in _SAID:
            raise
        raise refused(_SAID[code], file=file, reason=str(error)) from error
