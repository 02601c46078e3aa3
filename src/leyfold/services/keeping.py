"""Keeping a farm safe: backups of its whole folder, checked; restoring them; and whether all is in order."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from leyfold.farm.texts import folder_of
from leyfold.store.copies import backup, put_in_place, stage
from leyfold.store.database import fsync_file, fsync_folder
from leyfold.store.faults import FILE, refused
from leyfold.store.lock import Busy, hold

__all__ = ["LAST", "BackedUp", "back_up", "bring_back", "files_of", "folder_there"]

MANIFEST = "backup.json"
LAST = "last-backup.json"
"""In `.leyfold`: when the last backup was taken, and where it went."""
BACKUPS = "backups"
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup taken or put back: its folder, the files of it, and its number of records."""

    folder: Path
    files: tuple[str, ...]
    records: int


def back_up(where: Path, to: Path | None, now: datetime) -> BackedUp:
    """Copy every file of the farm's folder, and its book of records as it stands, into a new folder in `to`
    (`backups` in the farm's own folder unless given); each is read again before the backup gets its name.

    BadInput where the book is damaged or the disk refuses: no half backup is left.
    """
    folder = folder_there(where)
    kept = to or folder / BACKUPS
    name = f"{folder.resolve().name or 'farm'}-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    beside, made = kept / f".{name}", kept / name
    if made.exists():
        raise refused("backup_there", file=str(made))
    with _disk(kept):
        kept.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(beside, ignore_errors=True)
        beside.mkdir()
    try:
        with _disk(made):
            shas = {}
            for path in files_of(folder):
                shutil.copy2(path, beside / path.name)
                fsync_file(beside / path.name)
                shas[path.name] = _sha(path)
                if _sha(beside / path.name) != shas[path.name]:
                    raise refused("file_changed", file=path.name)
            records = 0
            if (folder / FILE).exists():
                records = backup(folder / FILE, beside / FILE).records
                shas[FILE] = _sha(beside / FILE)
            page = {"leyfold": 1, "at": _stamp(now), "records": records, "files": shas}
            _write(beside / MANIFEST, page)
            os.replace(beside, made)
            fsync_folder(kept)
            (folder / ".leyfold").mkdir(exist_ok=True)
            _write(folder / ".leyfold" / LAST, {"at": _stamp(now), "to": str(made), "records": records})
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return BackedUp(made, tuple(sorted(shas)), records)


def bring_back(where: Path, backed_up: Path, now: datetime) -> BackedUp:
    """Put a backup in place of what is in the farm's folder. It is checked first, every file; what it
    replaces is kept in `.leyfold/replaced`. Files that the backup has not are left alone.

    BadInput, and nothing changed, where the backup is not whole or the farm's folder is in use.
    """
    page = _manifest(backed_up)
    shas: Mapping[str, str] = page["files"]
    folder = folder_of(where)
    with _disk(folder):
        folder.mkdir(parents=True, exist_ok=True)
    aside = folder / ".leyfold" / "replaced" / f"{now.astimezone(UTC):%Y%m%dT%H%M%S.%fZ}"
    staged: dict[str, Path] = {}
    records = 0
    try:
        with _disk(folder), hold(folder):
            for name in shas:
                if name == FILE:
                    staged[name], found = stage(folder, backed_up / name)
                    records = found.records
                elif not (folder / name).exists() or _sha(folder / name) != shas[name]:
                    staged[name] = folder / f".{name}.restored"
                    shutil.copy2(backed_up / name, staged[name])
                    fsync_file(staged[name])
            aside.mkdir(parents=True)
            texts = {name: path for name, path in staged.items() if name != FILE}
            for name in texts:
                if (folder / name).exists():
                    shutil.copy2(folder / name, aside / name)
                    fsync_file(aside / name)
            for name, path in texts.items():
                os.replace(path, folder / name)
            if FILE in staged:
                put_in_place(folder, staged[FILE], aside)
            fsync_folder(folder)
    except Busy as busy:
        raise refused("held_by_server" if busy.serving else "held") from None
    finally:
        for path in staged.values():
            path.unlink(missing_ok=True)
    return BackedUp(aside, tuple(sorted(shas)), records)


def _manifest(backed_up: Path) -> dict[str, Any]:
    """What the backup says it holds, every file of it looked at. BadInput for the first that is not so."""
    try:
        page = json.loads((backed_up / MANIFEST).read_text(encoding="utf-8"))
        files = {str(name): str(sha) for name, sha in page["files"].items()}
        if page["leyfold"] != 1:
            raise refused("backup_newer", file=str(backed_up))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise refused("no_backup", file=str(backed_up)) from None
    for name, sha in files.items():
        plain = name == Path(name).name and not name.startswith(".")
        if not plain or not (backed_up / name).is_file():
            raise refused("backup_lacks", file=str(backed_up), name=name)
        if _sha(backed_up / name) != sha:
            raise refused("backup_changed", file=str(backed_up), name=name)
    return {**page, "files": files}


def folder_there(where: Path) -> Path:
    """The farm's folder, also where its farm.toml was named. BadInput where there is none."""
    folder = folder_of(where)
    if not folder.is_dir():
        raise refused("no_folder", file=str(folder))
    return folder


def files_of(folder: Path) -> Iterator[Path]:
    """The farm's own files: all that lie in its folder itself, but hidden ones and the book."""
    for path in sorted(folder.iterdir()):
        if path.is_file() and not path.name.startswith((".", FILE)) and path.name != MANIFEST:
            yield path


def _sha(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _write(path: Path, page: Mapping[str, object]) -> None:
    beside = path.with_name(f".{path.name}.new")
    beside.write_text(json.dumps(page, indent=1) + "\n", encoding="utf-8")
    fsync_file(beside)
    os.replace(beside, path)


def _stamp(now: datetime) -> str:
    return now.astimezone(UTC).replace(microsecond=0, tzinfo=None).isoformat() + "Z"


@contextmanager
def _disk(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        name = error.filename or path
        raise refused("unwritable", file=str(name), reason=error.strerror or str(error)) from None
