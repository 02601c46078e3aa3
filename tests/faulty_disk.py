"""A disk between SQLite and the real one (apsw's VFS): it notes what was written and synced, so that power
cuts can be laid out afterwards, and it fails or fills up when told. The store's own code runs on it as it is.
"""
# ruff: noqa: N802 - SQLite's names

from __future__ import annotations

import itertools
import random
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import apsw

__all__ = ["Disk", "Event", "after_power_cut"]

SECTOR = 512
_numbers = itertools.count()


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that was done to a file, or, with `acked`, that a push of these ids was acknowledged."""

    what: Literal["write", "truncate", "sync", "delete", "acked"]
    name: str = ""
    offset: int = 0
    data: bytes = b""
    acked: tuple[str, ...] = ()


@dataclass
class Disk:
    """`fail_at`: the number of the read, write, sync or truncation that fails, the first being 1; `for_good`:
    so do all after it. `room`: bytes that may still be written. `tiny_journal`: the journal is emptied into
    the database every few pages, so that short runs see it. `synchronous` replaces what the store asks for.
    """

    fail_at: int = 0
    for_good: bool = False
    room: int | None = None
    tiny_journal: bool = False
    synchronous: str = ""
    events: list[Event] = field(default_factory=list)
    done: int = 0
    failed: int = 0

    def __post_init__(self) -> None:
        self.name = f"disk{next(_numbers)}"
        self._vfs = _Vfs(self)

    def connect(self, path: Path) -> sqlite3.Connection:
        """In place of `leyfold.store.database.connect`."""
        with _told():
            connection = _Connection(apsw.Connection(str(path), vfs=self.name), self.synchronous)
            connection.inner.set_busy_timeout(5000)
            if self.tiny_journal:
                connection.execute("PRAGMA wal_autocheckpoint=6")
        return connection  # type: ignore[return-value]

    def acknowledge(self, ids: Sequence[str]) -> None:
        self.events.append(Event("acked", acked=tuple(ids)))

    def touch(self, size: int = 0) -> None:
        """Before every operation."""
        self.done += 1
        if self.fail_at and (self.done == self.fail_at or (self.for_good and self.done > self.fail_at)):
            self.failed += 1
            raise apsw.IOError("the disk fails")
        if self.room is not None and size:
            if size > self.room:
                self.failed += 1
                raise apsw.FullError("the disk is full")
            self.room -= size


class _Vfs(apsw.VFS):
    def __init__(self, disk: Disk) -> None:
        self.disk = disk
        super().__init__(disk.name, "")

    def excepthook(self, *_: object) -> None:
        """The failures are ours: SQLite has been told, nobody else needs to be."""

    def xOpen(self, name: Any, flags: list[int]) -> Any:
        return _File(self.disk, name, flags)

    def xDelete(self, filename: str, syncdir: bool) -> None:
        self.disk.touch()
        super().xDelete(filename, syncdir)
        self.disk.events.append(Event("delete", Path(filename).name))


class _File(apsw.VFSFile):
    def __init__(self, disk: Disk, name: Any, flags: list[int]) -> None:
        self.disk = disk
        filename = name.filename() if isinstance(name, apsw.URIFilename) else name
        self.name = Path(filename or "temporary").name
        super().__init__("", name, flags)

    def excepthook(self, *_: object) -> None:
        """The failures are ours: SQLite has been told, nobody else needs to be."""

    def xRead(self, amount: int, offset: int) -> bytes:
        self.disk.touch()
        return super().xRead(amount, offset)

    def xWrite(self, data: bytes, offset: int) -> None:
        self.disk.touch(len(data))
        super().xWrite(data, offset)
        self.disk.events.append(Event("write", self.name, offset, bytes(data)))

    def xTruncate(self, size: int) -> None:
        self.disk.touch()
        super().xTruncate(size)
        self.disk.events.append(Event("truncate", self.name, size))

    def xSync(self, flags: int) -> None:
        self.disk.touch()
        super().xSync(flags)
        self.disk.events.append(Event("sync", self.name))


def after_power_cut(disk: Disk, until: int, before: dict[str, bytes], seed: int) -> dict[str, bytes]:
    """What the files hold when the power failed before the event `until`.

    What was synced is there. Of what was written since: nothing, all, the first part, or any sectors of it,
    in whatever order the disk chose; a write may be torn between sectors. SQLite's shared memory is gone.
    """
    rng = random.Random(seed)
    durable = {name: bytearray(data) for name, data in before.items()}
    pending: dict[str, list[Event]] = {}
    for event in disk.events[:until]:
        if event.what == "sync":
            made = event.name not in durable or any(e.what == "delete" for e in pending.get(event.name, []))
            _settle(durable, pending, event.name)
            if made:  # SQLite syncs the folder with a file it made, and so every name in it
                for name in [n for n, held in pending.items() if any(e.what == "delete" for e in held)]:
                    _settle(durable, pending, name, names_alone=True)
        elif event.what != "acked":
            pending.setdefault(event.name, []).append(event)
    for _, held in sorted(pending.items()):
        how = rng.choice(["nothing", "all", "first part", "some"])
        kept = {"nothing": 0, "all": len(held)}.get(how, rng.randint(0, len(held)))
        for event in held[:kept] if how != "some" else held:
            if how == "some" and rng.random() < 0.5:
                if event.what == "delete":
                    break  # what follows was written to another file of the same name
                continue
            _apply(durable, event, rng if how in ("some", "first part") else None)
    return {name: bytes(data) for name, data in durable.items() if not name.endswith("-shm")}


def _settle(
    durable: dict[str, bytearray], pending: dict[str, list[Event]], name: str, *, names_alone: bool = False
) -> None:
    """What is pending of a file is on the disk; `names_alone`: as far as its last deletion."""
    held = pending.pop(name, [])
    last = max((n for n, event in enumerate(held) if event.what == "delete"), default=-1)
    settled = last + 1 if names_alone else len(held)
    for event in held[:settled]:
        _apply(durable, event, None)
    if names_alone:
        if held[settled:]:
            pending[name] = held[settled:]
    else:
        durable.setdefault(name, bytearray())


def _apply(files: dict[str, bytearray], event: Event, rng: random.Random | None) -> None:
    if event.what == "delete":
        files.pop(event.name, None)
        return
    file = files.setdefault(event.name, bytearray())
    if event.what == "truncate":
        del file[event.offset :]
        return
    for at, part in _sectors(event):
        if rng is None or rng.random() < 0.8:
            if len(file) < at + len(part):
                file.extend(bytes(at + len(part) - len(file)))
            file[at : at + len(part)] = part


def _sectors(event: Event) -> Iterator[tuple[int, bytes]]:
    at, end = event.offset, event.offset + len(event.data)
    while at < end:
        until = min(end, (at // SECTOR + 1) * SECTOR)
        yield at, event.data[at - event.offset : until - event.offset]
        at = until


@contextmanager
def _told() -> Iterator[None]:
    """apsw's exceptions as sqlite3's, with the code that the store looks at."""
    try:
        yield
    except apsw.Error as error:
        told = sqlite3.OperationalError(str(error))
        told.sqlite_errorcode = _code(error)
        raise told from error


def _code(error: apsw.Error) -> int:
    for kind, code in ((apsw.FullError, sqlite3.SQLITE_FULL), (apsw.BusyError, sqlite3.SQLITE_BUSY),
                       (apsw.CorruptError, sqlite3.SQLITE_CORRUPT), (apsw.NotADBError, sqlite3.SQLITE_NOTADB),
                       (apsw.CantOpenError, sqlite3.SQLITE_CANTOPEN)):  # fmt: skip
        if isinstance(error, kind):
            return code
    return sqlite3.SQLITE_IOERR


class _Connection:
    """As much of `sqlite3.Connection` as the store uses."""

    def __init__(self, inner: apsw.Connection, synchronous: str) -> None:
        self.inner = inner
        self._synchronous = synchronous

    def execute(self, sql: str, values: Sequence[Any] = ()) -> _Cursor:
        if self._synchronous and sql.startswith("PRAGMA synchronous="):
            sql = f"PRAGMA synchronous={self._synchronous}"
        with _told():
            return _Cursor(self.inner.execute(sql, tuple(values)))

    def executemany(self, sql: str, rows: Sequence[Sequence[Any]]) -> None:
        with _told():
            self.inner.executemany(sql, rows)

    def close(self) -> None:
        with _told():
            self.inner.close(True)


class _Cursor:
    def __init__(self, inner: Any) -> None:
        self._inner = inner

    def __iter__(self) -> Iterator[Any]:
        with _told():
            yield from self._inner

    def fetchone(self) -> Any:
        with _told():
            return self._inner.fetchone()

    def fetchall(self) -> list[Any]:
        with _told():
            return list(self._inner.fetchall())
