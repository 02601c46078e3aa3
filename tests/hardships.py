"""What the store must survive, in forms that the quick tests and the long benchmarks share: power cuts, disks
that fail, flipped bits. Each returns what it found; who calls says what may be."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from faulty_disk import Disk, after_power_cut
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.store.check import examine
from leyfold.store.records import Store, open_store, read_records
from logs import made_up, ulid

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)


@dataclass
class Tally:
    """`tried` times; ids acknowledged and `lost`; `halves`: pushes of which a part is there; `wrong`: what
    the check of a file said, or records that are not those that were written; `told`: damage reported."""

    tried: int = 0
    lost: list[str] = field(default_factory=list)
    halves: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    told: int = 0


def season(seed: int, most: int = 400) -> list[Record]:
    """Records as a farm writes them, some of them long, each with an id of its own."""
    rng = random.Random(seed)
    records = list(made_up(seed)[0])[:most]
    for number in range(max(4, len(records) // 8)):
        at = records[0].at + timedelta(hours=number)
        text = "rain " * rng.choice([1, 40, 1200])
        records.append(Record(ulid(500_000 + number), "tablet", "bo", at, at, "note", {"text": text[:2000]}))
    return records


def pushes(records: list[Record], rng: random.Random) -> Iterator[list[Record]]:
    """The records in batches, as devices send them."""
    at = 0
    while at < len(records):
        size = rng.choice([1, 2, 5, 20])
        yield records[at : at + size]
        at += size


def power_cuts(folder: Path, seed: int, cuts: int, synchronous: str = "") -> Tally:
    """One run of pushes, and the power cut at so many moments of it: what is on the disk is opened again by
    the plain store. Every push is there whole or not at all, and whole if it was acknowledged."""
    rng = random.Random(seed)
    records = season(seed)
    book = folder / "cut"
    book.mkdir(parents=True)
    open_store(book).close()
    before = {"records.db": (book / "records.db").read_bytes()}
    disk = Disk(tiny_journal=True, synchronous=synchronous)
    sent: list[list[Record]] = []
    store = open_store(book, connect=disk.connect)
    for batch in pushes(records, rng):
        sent.append(batch)
        disk.acknowledge(store.push(batch, "phone", NOW).accepted)
        if rng.random() < 0.05:  # the server is started anew: its journal goes into the file
            store.close()
            store = open_store(book, connect=disk.connect)
    store.close()
    tally = Tally()
    for cut in range(cuts):
        until = rng.randrange(len(disk.events) + 1)
        files = after_power_cut(disk, until, before, seed * 100_003 + cut)
        shutil.rmtree(book)
        book.mkdir()
        for name, data in files.items():
            (book / name).write_bytes(data)
        acked = [id for event in disk.events[:until] for id in event.acked]
        _look(book, records, sent, acked, tally, f"seed {seed}, cut {cut} before event {until}")
    return tally


def failing_disk(folder: Path, seed: int, numbers: Iterator[int], *, for_good: bool = False,
                 rooms: Iterator[int] | None = None) -> Tally:  # fmt: skip
    """The n-th operation of the disk fails (or its room ends), for each n until a run has no failure left.
    The push is then sent again, as a device does; if the disk failed for good, to a disk that was mended."""
    records = season(seed, 60)
    book, fresh = folder / "failing", folder / "fresh"
    fresh.mkdir(parents=True)
    open_store(fresh).close()
    tally = Tally()
    for number in rooms if rooms is not None else numbers:
        shutil.rmtree(book, ignore_errors=True)
        shutil.copytree(fresh, book)
        disk = Disk(tiny_journal=True, for_good=for_good)
        disk.fail_at, disk.room = (number, None) if rooms is None else (0, number)
        acked, sent = _push_through(book, records, disk, random.Random(seed))
        _look(book, records, sent, acked, tally, f"seed {seed}, operation {number}", all_there=True)
        if not disk.failed:
            break
    return tally


def _push_through(
    book: Path, records: list[Record], disk: Disk, rng: random.Random
) -> tuple[list[str], list[list[Record]]]:
    acked: list[str] = []
    sent: list[list[Record]] = []
    store: Store | None = None
    for batch in pushes(records, rng):
        sent.append(batch)
        for attempt in range(4):
            try:
                if store is None:
                    store = open_store(book, connect=disk.connect)
                pushed = store.push(batch, "phone", NOW)
            except BadInput:
                if attempt == 1:  # the disk is mended, or room is made
                    disk.fail_at, disk.room = 0, None
                    if store is not None:
                        store.close()
                    store = None
                continue
            acked += [*pushed.accepted, *pushed.duplicates]
            break
    if store is not None:
        store.close()
    return acked, sent


def flipped(folder: Path, seed: int, flips: int) -> Tally:
    """One bit of the closed file flipped, so many times: it is told, or the records are what they were."""
    rng = random.Random(seed)
    book = folder / "flipped"
    book.mkdir(parents=True)
    store = open_store(book)
    for part in range(4):
        records = season(seed + part)
        store.push([replace(r, id=ulid(1_000_000 * part + n)) for n, r in enumerate(records)], "phone", NOW)
    store.close()
    path = book / "records.db"
    sound = path.read_bytes()
    written = read_records(book)[0]
    tally = Tally()
    for _ in range(flips):
        spoilt = bytearray(sound)
        at, bit = rng.randrange(len(spoilt)), 1 << rng.randrange(8)
        spoilt[at] ^= bit
        path.write_bytes(bytes(spoilt))
        tally.tried += 1
        try:
            read = read_records(book)[0]
        except BadInput:
            tally.told += 1
        else:
            if read != written:
                tally.wrong.append(f"bit {bit} of byte {at}")
        for side in ("-wal", "-shm"):
            Path(f"{path}{side}").unlink(missing_ok=True)
    return tally


def _look(book: Path, records: list[Record], sent: list[list[Record]], acked: list[str], tally: Tally,
          which: str, *, all_there: bool = False) -> None:  # fmt: skip
    tally.tried += 1
    try:
        store = open_store(book)
        try:
            there = {record.id: record for record in store.all()}
            again = store.push([replace(records[0], id=ulid(999_999))], "phone", NOW)
        finally:
            store.close()
        tally.wrong += [f"{which}: {said}" for said in examine(book / "records.db").wrong]
    except BadInput as error:
        tally.wrong.append(f"{which}: {error}")
        return
    written = {record.id: record for record in records}
    tally.lost += [f"{which}: {id}" for id in acked if id not in there]
    tally.wrong += [f"{which}: {id} differs" for id in there if there[id] != written.get(id)]
    if not again.accepted:
        tally.wrong.append(f"{which}: takes no more")
    for batch in sent:
        part = sum(record.id in there for record in batch)
        if part not in (0, len(batch)):
            tally.halves.append(f"{which}: {part} of {len(batch)}")
    if all_there and len(there) != len(records):
        tally.lost.append(f"{which}: {len(records) - len(there)} of all")
