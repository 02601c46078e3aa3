"""Copies of the book: taken while it is in use, believed once checked, put in place whole or not at all."""

from __future__ import annotations

import os
from contextlib import closing
from pathlib import Path

from leyfold.store.database import SIDE_FILES, connect, fsync_folder
from leyfold.store.faults import spoken

__all__ = ["copy_database"]


def copy_database(source: Path, to: Path) -> None:
    """Copy the database as it stands at one moment, checked by SQLite, to the new file `to`: whole or not at
    all. BadInput where either is damaged, or the disk refuses."""
    beside = to.with_name(f".{to.name}.new")
    try:
        with (
            spoken(source.name),
            closing(connect(source)) as old,
            closing(connect(beside)) as new,
        ):
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")
        os.replace(beside, to)
        fsync_folder(to.parent)
    finally:
        for left in ("", *SIDE_FILES):
            Path(str(beside) + left).unlink(missing_ok=True)
