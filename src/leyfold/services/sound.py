"""Is everything in order in a farm's folder: room, book, versions, devices, backups, lock."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from leyfold.nouns.errors import BadInput
from leyfold.services.keeping import LAST, folder_there
from leyfold.store.check import SQLITE_VERSION, examine
from leyfold.store.database import VERSION
from leyfold.store.faults import FILE
from leyfold.store.lock import Busy, hold
from leyfold.words import say

__all__ = ["Finding", "look_over"]

OLD_BACKUP = timedelta(days=7)
SILENT = timedelta(days=3)
"""A device from which nothing came for so long may hold records that are not sent."""
LEAST_ROOM_BYTES = 200_000_000


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at. `grade`: "well", "look" (somebody should) or "wrong"."""

    what: str
    grade: str
    said: str
    mend: str = ""


def look_over(where: Path, now: datetime) -> tuple[Finding, ...]:
    """Is everything in order in a farm's folder? Each thing looked at, in the order of the names above."""
    folder = folder_there(where)
    return (_versions(), _room(folder), *_book(folder, now), *_backup(folder, now), _lock(folder))


def _versions() -> Finding:
    import sys
    from importlib.metadata import version

    python = ".".join(map(str, sys.version_info[:3]))
    values = {"leyfold": version("leyfold"), "python": python, "sqlite": SQLITE_VERSION}
    return Finding("versions", "well", say("store.sound_versions", **values))


def _room(folder: Path) -> Finding:
    book = folder / FILE
    needed = max(LEAST_ROOM_BYTES, 3 * book.stat().st_size if book.exists() else 0)
    free = shutil.disk_usage(folder).free
    values = {"free_MB": free // 1_000_000, "needed_MB": needed // 1_000_000}
    return _graded("room", "well" if free >= needed else "look", "sound_room", **values)


def _book(folder: Path, now: datetime) -> Iterator[Finding]:
    if not (folder / FILE).exists() and not (folder / f"{FILE}-wal").exists():
        yield Finding("book", "well", say("store.sound_no_book"))
        return
    try:
        found = examine(folder / FILE)
    except BadInput as wrong:
        yield from (Finding("book", "wrong", fault.wrong, fault.mend) for fault in wrong.faults)
        return
    for said in found.wrong:
        yield _graded("book", "wrong", "sound_damaged", reason=said)
    if not found.wrong:
        yield Finding("book", "well", say("store.sound_book", records=found.records))
    grade = "well" if found.version == VERSION else "look"
    yield _graded("stored", grade, "sound_stored", stored=found.version, known=VERSION)
    for device, last in found.devices:
        silent = now - datetime.fromisoformat(last)
        if silent > SILENT:
            yield _graded("devices", "look", "sound_silent", device=device, days=silent.days)


def _backup(folder: Path, now: datetime) -> Iterator[Finding]:
    if not (folder / FILE).exists():
        return
    try:
        page = json.loads((folder / ".leyfold" / LAST).read_text(encoding="utf-8"))
        age, to = now - datetime.fromisoformat(page["at"]), str(page["to"])
    except (OSError, ValueError, KeyError, TypeError):
        yield _graded("backup", "look", "sound_no_backup")
        return
    grade = "well" if age <= OLD_BACKUP else "look"
    yield _graded("backup", grade, "sound_backup", days=max(0, age.days), to=to)


def _lock(folder: Path) -> Finding:
    try:
        with hold(folder):
            return Finding("lock", "well", say("store.sound_free"))
    except Busy as busy:
        there = busy.serving
        at = there.address if there else "-"
        return Finding("lock", "well", say("store.sound_held", address=at))
    except OSError as error:
        return _graded("lock", "wrong", "sound_unwritable", reason=error.strerror or "")


def _graded(what: str, grade: str, name: str, **values: object) -> Finding:
    mend = "" if grade == "well" else say(f"store.{name}_mend", **values)
    return Finding(what, grade, say(f"store.{name}", **values), mend)
