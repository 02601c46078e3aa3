"""Copies of the book: taken while it is in use, believed once checked, put in place whole or not at all."""

from __future__ import annotations

import os
import secrets
import shutil
from contextlib import closing, suppress
from pathlib import Path

from leyfold.nouns.errors import BadInput
from leyfold.store.check import Examined, examine
from leyfold.store.database import (
    RESTORING,
    SIDE_FILES,
    Database,
    connect,
    fsync_file,
    fsync_folder,
    kept_folder,
)  # fmt: skip
from leyfold.store.faults import FILE, refused, spoken
from leyfold.store.records import head, set_head

__all__ = ["backup", "put_in_place", "stage"]

UNKNOWN_LEAP = 1_000_000
"""Cursors skipped where the book replaced cannot say how far it had gone."""


def backup(source: Path, to: Path) -> Examined:
    """Copy the database `source` as it stands at one moment to the new file `to`, and look through the copy
    before it gets its name. BadInput, and no file `to`, where either is damaged or the disk refuses."""
    beside = to.with_name(f".{to.name}.{secrets.token_hex(4)}")
    try:
        with spoken(source.name), closing(connect(source)) as old, closing(connect(beside)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")
        found = examine(beside)
        if found.wrong:
            raise refused("damaged", file=source.name, reason=found.wrong[0])
        fsync_file(beside)
        os.replace(beside, to)
        fsync_folder(to.parent)
    except OSError as error:
        raise refused("unwritable", file=str(to), reason=error.strerror or "") from None
    finally:
        for left in ("", *SIDE_FILES):
            Path(f"{beside}{left}").unlink(missing_ok=True)
    return found


def stage(folder: Path, source: Path) -> tuple[Path, Examined]:
    """The backup `source`, checked and copied beside the book of `folder`, ready to be put in its place: a
    book of another id, whose next record comes after all that the present one has given out. BadInput where
    it is no sound book of this or an older version."""
    staged = folder / f".{FILE}.restored"
    found = backup(source, staged)
    with spoken(), closing(connect(staged)) as book:
        book.execute("BEGIN IMMEDIATE")
        seq, chain = head(book)
        set_head(book, max(seq, _gone_to(folder, seq)), chain)
        book.execute("UPDATE about SET value = ? WHERE name = 'book'", (secrets.token_hex(16),))
        book.execute("COMMIT")
        book.execute("PRAGMA journal_mode=WAL")
    return staged, found


def put_in_place(folder: Path, staged: Path, aside: Path) -> None:
    """Let `staged` be the book of `folder`; the one replaced goes into the folder `aside`, damaged or not.

    Only under the lock. Cut short, the farm says so and the restore is run again.
    """
    book, marker = folder / FILE, kept_folder(folder) / RESTORING
    marker.write_text("", encoding="utf-8")
    fsync_folder(marker.parent)
    for name in (FILE, *(FILE + side for side in SIDE_FILES)):
        if (folder / name).exists():
            shutil.copy2(folder / name, aside / name)
            fsync_file(aside / name)
    fsync_folder(aside)
    for side in SIDE_FILES:
        (folder / (FILE + side)).unlink(missing_ok=True)
    os.replace(staged, book)
    fsync_folder(folder)
    marker.unlink()
    fsync_folder(marker.parent)


def _gone_to(folder: Path, seq: int) -> int:
    """How far the cursors of the present book may have gone."""
    if not (folder / FILE).exists():
        return seq
    with suppress(BadInput):
        present = Database(folder, write=False)
        try:
            with present.reading() as book:
                return head(book)[0]
        finally:
            present.close()
    return seq + UNKNOWN_LEAP
