"""The book of records: put in once, read by whoever asks, in the order in which they came.

A record's `seq` is its place in that order; devices remember the last they have seen (their cursor) and ask
for what came since. Pushing is safe to repeat: an id is kept once.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from leyfold.log.kinds import payload
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record
from leyfold.store.content import TooMuch, chained, line_of, record_of, sha_of, stamp
from leyfold.store.database import Connect, Database, connect
from leyfold.store.faults import FILE, refused
from leyfold.words import say

__all__ = [
    "MOST_PULLED", "Pulled", "Pushed", "Refusal", "Store", "head", "open_store", "read_records",
    "set_head", "verified",
]  # fmt: skip

MOST_PULLED = 1000
"""Records in one page."""
CLOCK_AHEAD = timedelta(minutes=15)
"""How far ahead of ours a device's clock may be before it is told."""
_IDS_AT_ONCE = 500
_COLUMNS = "seq, id, line, sha256, received, via, chain"


@dataclass(frozen=True, slots=True)
class Refusal:
    """A record not taken, or taken with a doubt: why, and the mend."""

    id: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class Pushed:
    """What became of a push. `flagged` records are among the accepted: their clock is doubted. `cursor` is
    how far the book goes by now, and no page of it: others' records may stand before."""

    accepted: tuple[str, ...]
    duplicates: tuple[str, ...]
    refused: tuple[Refusal, ...]
    flagged: tuple[Refusal, ...]
    cursor: int


@dataclass(frozen=True, slots=True)
class Pulled:
    """A page of the book; ask again from `cursor` while there is `more`."""

    records: tuple[Record, ...]
    cursor: int
    more: bool


def open_store(folder: Path, *, connect: Connect = connect) -> Store:
    """The store of a farm's folder, to write in; made where there is none, upgraded where it is older.

    Only for who holds the lock (`leyfold.store.lock.hold`). BadInput where the file is damaged, of another
    program or of a newer version.
    """
    return Store(Database(folder, connect=connect))


def read_records(folder: Path) -> tuple[tuple[Record, ...], str]:
    """All records of a farm's folder to look at, without the lock, and a mark that changes with every one of
    them. Nothing is made or upgraded. BadInput as `open_store`."""
    store = Store(Database(folder, write=False))
    try:
        with store.database.reading() as book:
            return tuple(record for _, record in verified(book)), head(book)[1].hex()
    finally:
        store.close()


class Store:
    """The records of one farm. Safe for threads."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def push(self, records: Sequence[Record], device: str, at: datetime, *, whole: bool = False) -> Pushed:
        """Keep what `device` sends, received at the instant `at`: on the disk when this returns.

        The same id with the same content is a duplicate, with another content refused, as is what its kind
        rules out or what is too big. `whole`: one refused record refuses all (BadInput), nothing is kept.
        """
        lines: dict[str, str] = {}
        no: list[Refusal] = []
        for record in records:
            try:
                line = _checked(record)
            except TooMuch as wrong:
                no.append(Refusal(record.id, wrong.why, wrong.mend))
                continue
            if lines.setdefault(record.id, line) != line:
                no.append(_other_content(record.id))
        with self.database.writing() as book:
            known = _lines(book, lines)
            other = [id for id, line in known.items() if line != lines[id]]
            no += [_other_content(id) for id in other]
            if whole and no:
                raise BadInput(*(Fault(FILE, "", r.why, r.mend, feature=r.id) for r in no))
            new = {id: line for id, line in lines.items() if id not in known}
            cursor = _append(book, new, stamp(at), device)
        return Pushed(
            accepted=tuple(new),
            duplicates=tuple(id for id in known if id not in set(other)),
            refused=tuple(no),
            flagged=tuple(_doubted(record, at) for record in _ahead(records, new, at)),
            cursor=cursor,
        )

    def pull(self, since: int, limit: int = 500) -> Pulled:
        """The records that came after the cursor `since`, at most `limit` (1 to MOST_PULLED) of them.

        A cursor that comes back lower than it was sent: the book is an older one than the device knew.
        BadInput where what is kept is not what was once written.
        """
        limit = max(1, min(limit, MOST_PULLED))
        with self.database.reading() as book:
            rows = list(verified(book, since, limit + 1))
            end = head(book)[0]
        page = tuple(record for _, record in rows[:limit])
        cursor = rows[len(page) - 1][0] if page else max(0, min(since, end))
        return Pulled(page, cursor, len(rows) > limit)

    def all(self, since: int = 0) -> tuple[Record, ...]:
        """Every record that came after the cursor `since`, in the order they came. BadInput as `pull`."""
        with self.database.reading() as book:
            return tuple(record for _, record in verified(book, since, -1))

    @property
    def version(self) -> int:
        """The cursor of the last record: rises with every one accepted."""
        with self.database.reading() as book:
            return head(book)[0]

    @property
    def book(self) -> str:
        """The id of this book; a restored one has another."""
        with self.database.reading() as book:
            return str(book.execute("SELECT value FROM about WHERE name = 'book'").fetchone()[0])

    def devices(self) -> dict[str, str]:
        """Each device that ever sent something, and the last instant it did."""
        with self.database.reading() as book:
            return dict(book.execute("SELECT via, max(received) FROM record GROUP BY via ORDER BY via"))

    def close(self) -> None:
        """Let go of the file."""
        self.database.close()


def _checked(record: Record) -> str:
    """The record's line, once its kind has nothing against it. TooMuch with all that is wrong."""
    line = line_of(record)
    try:
        payload(record)
    except BadInput as wrong:
        raise _no(wrong) from None
    return line


def _no(wrong: BadInput) -> TooMuch:
    no = TooMuch("other_content")
    no.why = " ".join(f"{fault.field}: {fault.wrong}" for fault in wrong.faults)
    no.mend = " ".join(dict.fromkeys(fault.mend for fault in wrong.faults))
    return no


def _other_content(id: str) -> Refusal:
    return Refusal(id, say("store.other_content"), say("store.other_content_mend"))


def _ahead(records: Iterable[Record], new: dict[str, str], at: datetime) -> Iterator[Record]:
    for record in {r.id: r for r in records if r.id in new}.values():
        if record.entered > at + CLOCK_AHEAD:
            yield record


def _doubted(record: Record, at: datetime) -> Refusal:
    values = {"entered": stamp(record.entered), "received": stamp(at)}
    return Refusal(record.id, say("store.clock_ahead", **values), say("store.clock_ahead_mend", **values))


def _lines(book: sqlite3.Connection, ids: Iterable[str]) -> dict[str, str]:
    """What is kept already under these ids."""
    asked = list(ids)
    found: dict[str, str] = {}
    for first in range(0, len(asked), _IDS_AT_ONCE):
        some = asked[first : first + _IDS_AT_ONCE]
        marks = ",".join("?" * len(some))
        found.update(book.execute(f"SELECT id, line FROM record WHERE id IN ({marks})", some).fetchall())
    return found


def _append(book: sqlite3.Connection, new: dict[str, str], received: str, via: str) -> int:
    seq, chain = head(book)
    rows = []
    for id, line in new.items():
        seq, sha = seq + 1, sha_of(line)
        chain = chained(chain, seq, id, sha, received, via)
        rows.append((seq, id, line, sha, received, via, chain))
    if rows:
        book.executemany(f"INSERT INTO record ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
        set_head(book, seq, chain)
    return seq


def head(book: sqlite3.Connection) -> tuple[int, bytes]:
    """The last cursor given out, and the last link of the chain. BadInput where the book has lost them."""
    about = dict(book.execute("SELECT name, value FROM about WHERE name IN ('seq', 'chain')").fetchall())
    try:
        return int(about["seq"]), bytes.fromhex(about["chain"])
    except (KeyError, TypeError, ValueError):
        raise refused("damaged", reason="about") from None


def set_head(book: sqlite3.Connection, seq: int, chain: bytes) -> None:
    """The book goes as far as `seq` from now on; the next record comes after."""
    values = [(str(seq), "seq"), (chain.hex(), "chain")]
    book.executemany("UPDATE about SET value = ? WHERE name = ?", values)


def verified(book: sqlite3.Connection, since: int = 0, limit: int = -1) -> Iterator[tuple[int, Record]]:
    """(cursor, record) after `since`, at most `limit` of them (-1: all), each held to its hash and the chain
    before it is believed. BadInput at the first that is not what was once written."""
    before = book.execute(
        "SELECT chain FROM record WHERE seq <= ? ORDER BY seq DESC LIMIT 1", (since,)
    ).fetchone()
    chain: bytes = before[0] if before else b""
    rows = book.execute(
        f"SELECT {_COLUMNS} FROM record WHERE seq > ? ORDER BY seq LIMIT ?", (max(since, 0), limit)
    )
    read = 0
    for seq, id, line, sha, received, via, link in rows:
        try:
            chain = chained(chain, seq, id, sha, received, via)
            record = record_of(line)
            sound = sha == sha_of(line) and chain == link and record.id == id
        except (AttributeError, KeyError, TypeError, ValueError):
            sound = False
        if not sound:
            raise refused("changed", seq=seq)
        yield seq, record
        read += 1
    if read != limit and chain != head(book)[1]:
        raise refused("changed", seq="?")
