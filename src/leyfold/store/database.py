"""The file `records.db` in a farm's folder: made, opened, upgraded, and held to one way of writing.

SQLite in WAL mode with `synchronous=FULL`: what was committed is on the disk. One writing connection, and
`BEGIN IMMEDIATE` before it reads what it will write; readers see the last commit and wait for nobody.
The standard library's own `sqlite3` is used: see docs/decisions/0007-store.md.
"""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from threading import Lock

from leyfold.store.faults import FILE, refused, spoken

__all__ = [
    "APPLICATION_ID", "RESTORING", "SIDE_FILES", "VERSION", "Connect", "Database", "connect", "fsync_file",
    "fsync_folder", "kept_folder", "look_at_head", "stored_version",
]  # fmt: skip

APPLICATION_ID = 0x4C455946
"""The letters LEYF, by which the file is known as ours."""
VERSION = 2
"""Of what is stored: the number of the last migration."""
SIDE_FILES = ("-wal", "-shm", "-journal")
"""Files that SQLite keeps beside a database that is in use, or was when the power failed."""
RESTORING = "restoring"
"""A file of this name in the kept folder: a restore began and did not end."""

Connect = Callable[[Path], sqlite3.Connection]
_MAGIC = b"SQLite format 3\0"
_LEAST = 512  # bytes of the smallest page
_BUSY_S = 5.0


def connect(path: Path) -> sqlite3.Connection:
    """A connection that begins no transaction by itself and may go from thread to thread."""
    return sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None, check_same_thread=False)


def kept_folder(folder: Path) -> Path:
    """Where a farm's folder keeps what was replaced: the records' own corner of `.leyfold`."""
    kept = folder / ".leyfold" / FILE
    kept.mkdir(parents=True, exist_ok=True)
    return kept


class Database:
    """The opened file. Safe for threads; `close` it when done."""

    def __init__(self, folder: Path, *, write: bool = True, connect: Connect = connect) -> None:
        """Open `records.db` in `folder`. To write, it is made where it is not there, and upgraded where it
        is older: only who holds the lock (`leyfold.store.lock`) may ask for that.

        BadInput where the file is damaged, another program's, of a newer version, or cannot be opened.
        """
        self.path = folder / FILE
        self._connect = connect
        self._writing, self._keeping = Lock(), Lock()
        self._writer: sqlite3.Connection | None = None
        self._idle: list[sqlite3.Connection] = []
        if (folder / ".leyfold" / FILE / RESTORING).exists():
            raise refused("restore_cut_short")
        if not self.path.exists() and Path(f"{self.path}-wal").exists():
            raise refused("lost")  # its journal is still there, and would be laid over whatever is put here
        if write and not self.path.exists():
            _make(self.path, connect)
        look_at_head(self.path)
        with spoken(), closing(connect(self.path)) as first:
            self.stored = stored_version(first)
        if write and self.stored < VERSION:
            _upgrade(self.path, self.stored, connect)
            self.stored = VERSION

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """A transaction that sees one moment of the book."""
        with self._keeping:
            connection = self._idle.pop() if self._idle else None
        with spoken():
            if connection is None:
                connection = _ready(self._connect(self.path))
            try:
                connection.execute("BEGIN")
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                connection.close()
                raise
        with self._keeping:
            self._idle.append(connection)

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction alone with the book: on the disk when the block is left, or nothing of it.

        BadInput where the disk is full or fails; the block's own exceptions pass as they are.
        """
        with self._writing, spoken():
            if self._writer is None:
                self._writer = _ready(self._connect(self.path))
            try:
                self._writer.execute("BEGIN IMMEDIATE")
                yield self._writer
                self._writer.execute("COMMIT")
            except BaseException:
                # After a disk's failure nothing this connection remembers may be trusted: closing rolls back.
                writer, self._writer = self._writer, None
                with suppress(sqlite3.Error):
                    writer.close()
                raise

    def close(self) -> None:
        """Let go of the file; the last to do so leaves one tidy file."""
        with self._writing, self._keeping:
            held = [*self._idle, *([self._writer] if self._writer else [])]
            self._idle, self._writer = [], None
            for connection in held:
                with suppress(sqlite3.Error):
                    connection.close()


def stored_version(connection: sqlite3.Connection, file: str = FILE) -> int:
    """Which version the database is of. BadInput where it is not ours, or newer than this program."""
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master").fetchall()}
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        if {"about", "record"} <= tables:
            raise refused("damaged", file=file, reason="application_id")
        raise refused("foreign", file=file)
    stored = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if stored > VERSION:
        raise refused("newer", file=file, stored=stored, known=VERSION)
    if stored < 1:
        raise refused("damaged", file=file, reason=f"user_version {stored}")
    return stored


def fsync_file(path: Path) -> None:
    """What was written in the file is on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def fsync_folder(folder: Path) -> None:
    """Names made or changed in `folder` are on the disk. (Windows does not know how, nor needs to.)"""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _ready(connection: sqlite3.Connection) -> sqlite3.Connection:
    for pragma in ("foreign_keys=ON", "trusted_schema=OFF", "cell_size_check=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
    mode = connection.execute("PRAGMA journal_mode=WAL").fetchone()[0]
    if mode != "wal":
        raise refused("no_wal", mode=mode)
    return connection


def look_at_head(path: Path) -> None:
    """Before SQLite touches it: a file cut to nothing would pass for an empty book."""
    try:
        with path.open("rb") as file:
            head = file.read(_LEAST)
    except FileNotFoundError:
        raise refused("missing") from None
    except OSError as error:
        raise refused("unopened", reason=error.strerror or "") from None
    if head and not head.startswith(_MAGIC):
        raise refused("foreign")
    if len(head) < _LEAST:
        raise refused("damaged", reason=f"{len(head)} bytes")


def _make(path: Path, connect: Connect) -> None:
    """Made whole under another name, so that half a book is never found under its own."""
    from leyfold.store.migrate import migrate

    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{FILE}.", suffix=".new")
        os.close(handle)
    except OSError as error:
        raise refused("unopened", reason=error.strerror or "") from None
    beside = Path(name)
    try:
        with spoken(), closing(connect(beside)) as fresh:
            fresh.execute("PRAGMA synchronous=FULL")
            fresh.execute(f"PRAGMA application_id={APPLICATION_ID}")
            migrate(fresh, VERSION)
            fresh.execute("PRAGMA journal_mode=WAL")
        os.replace(beside, path)
        fsync_folder(path.parent)
    finally:
        for left in (beside, *(Path(name + side) for side in SIDE_FILES)):
            left.unlink(missing_ok=True)


def _upgrade(path: Path, stored: int, connect: Connect) -> None:
    """In one transaction, a copy of the older version kept first."""
    from leyfold.store.copies import backup
    from leyfold.store.migrate import migrate

    kept = kept_folder(path.parent) / f"before-version-{VERSION}.db"
    if not kept.exists():
        backup(path, kept)
    with spoken(), closing(_ready(connect(path))) as older:
        migrate(older, VERSION)
        if older.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            raise refused("damaged", reason=f"version {stored}")
