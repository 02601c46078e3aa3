"""Leaving with everything, and coming back: a farm written out as plain files, and records brought in."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from leyfold.farm.texts import Texts, folder_of
from leyfold.log.kinds import payload
from leyfold.log.lines import read, write
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record
from leyfold.services.keeping import files_of, folder_there
from leyfold.services.opened import RECORDS, read_all
from leyfold.services.records import holding
from leyfold.services.spread import rows_of, tables_of
from leyfold.store.database import fsync_file, fsync_folder
from leyfold.store.faults import refused

__all__ = ["BroughtIn", "WrittenOut", "bring_in", "write_out"]

TABLES = "tables"
DEVICE = "import"
MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class WrittenOut:
    """The folder of an export, its files, and the number of records."""

    folder: Path
    files: tuple[str, ...]
    records: int


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """Records that are new, those that were there already, the farm's files brought along, and those left
    as they are here because they differ."""

    new: int
    known: int
    files: tuple[str, ...]
    differ: tuple[str, ...]


def write_out(where: Path, to: Path) -> WrittenOut:
    """Write the farm's files, all its records (`records.jsonl`) and a table of each kind (`tables/`) into
    the new or empty folder `to`. BadInput, and no folder, where the records are damaged or the disk refuses.
    """
    folder = folder_there(where)
    records, _ = read_all(Texts(folder))
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise refused("not_empty", file=str(to))
    beside = to.with_name(f".{to.resolve().name}.new")
    with _disk(to):
        try:
            shutil.rmtree(beside, ignore_errors=True)
            (beside / TABLES).mkdir(parents=True)
            names = [path.name for path in files_of(folder) if path.name != RECORDS]
            for name in names:
                shutil.copy2(folder / name, beside / name)
            (beside / RECORDS).write_text(write(records), encoding="utf-8", newline="")
            for name, text in tables_of(records).items():
                (beside / TABLES / name).write_text(text, encoding="utf-8", newline="")
                names.append(f"{TABLES}/{name}")
            if to.exists():
                to.rmdir()
            os.replace(beside, to)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    return WrittenOut(to, (*names, RECORDS), len(records))


def bring_in(where: Path, source: Path, now: datetime) -> BroughtIn:
    """Bring records into the farm's book from an export's folder, a `.jsonl` or a `.csv` of ours, and from a
    folder the farm's files where there are none yet.

    All or nothing: BadInput with every faulty line, and nothing changed. What is there already is no fault.
    """
    records = _read(source)
    folder = folder_of(where)
    files = list(files_of(source)) if source.is_dir() else []
    absent = [p for p in files if p.name != RECORDS and not (folder / p.name).exists()]
    differ = [p.name for p in files if (folder / p.name).is_file() and p.name != RECORDS
              and (folder / p.name).read_bytes() != p.read_bytes()]  # fmt: skip
    staged: list[tuple[Path, Path]] = []
    with _disk(folder):
        folder.mkdir(parents=True, exist_ok=True)
        try:
            for path in absent:
                staged.append((folder / f".{path.name}.brought", folder / path.name))
                shutil.copy2(path, staged[-1][0])
                fsync_file(staged[-1][0])
            new = known = 0
            if records:
                with holding(folder) as store:
                    pushed = store.push(records, DEVICE, now, whole=True)
                    new, known = len(pushed.accepted), len(pushed.duplicates)
            for beside, path in staged:
                os.replace(beside, path)
            fsync_folder(folder)
        finally:
            for beside, _ in staged:
                beside.unlink(missing_ok=True)
    return BroughtIn(new, known, tuple(path.name for path in absent), tuple(differ))


def _read(source: Path) -> tuple[Record, ...]:
    if source.is_dir():
        if (source / RECORDS).is_file():
            return _read(source / RECORDS)
        tables = sorted(source.glob("*.csv")) + sorted((source / TABLES).glob("*.csv"))
        if not tables and not any(files_of(source)):
            raise refused("nothing_there", file=str(source))
        return tuple(record for table in tables for record in _read(table))
    if source.suffix not in (".jsonl", ".csv"):
        raise refused("nothing_there", file=str(source))
    text = Texts(source.parent).read(source.name).text
    if source.suffix == ".jsonl":
        with _lines_of(source.name, None):
            return _checked(read(text))
    rows = list(rows_of(source.name, text))
    with _lines_of(source.name, [number for number, _ in rows]):
        return _checked(read("".join(line + "\n" for _, line in rows)))


@contextmanager
def _lines_of(name: str, numbers: Sequence[int] | None) -> Iterator[None]:
    """Faults of the log, said of the lines of the file that they came from."""
    try:
        yield
    except BadInput as wrong:
        raise BadInput(*(replace(f, file=name, line=_line(f, numbers)) for f in wrong.faults)) from None


def _line(fault: Fault, numbers: Sequence[int] | None) -> int | None:
    return fault.line if numbers is None or fault.line is None else numbers[fault.line - 1]


def _checked(records: tuple[Record, ...]) -> tuple[Record, ...]:
    """The records, each held to its kind."""
    faults: list[Fault] = []
    for record in records:
        try:
            payload(record)
        except BadInput as wrong:
            faults += wrong.faults
        if len(faults) >= MOST_FAULTS:
            break
    if faults:
        raise BadInput(*faults)
    return records


@contextmanager
def _disk(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise refused("unwritable", file=str(error.filename or path), reason=error.strerror or "") from None
