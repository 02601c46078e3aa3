"""`leyfold backup`: copy a farm's whole folder, checked."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.words import say

__all__ = ["backup"]


def backup(farm: Path, *, to: Path | None = None, json: bool = False) -> int:
    """Copy a farm's files and its book of records to a new folder, and read the copy again. The farm may be
    in use meanwhile.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    to
        The folder in which the backup is made, as on a stick; `backups` in the farm's own unless given.
    json
        Print one JSON object: the backup's folder, its files and its number of records.
    """
    from leyfold.services.keeping import back_up

    made = back_up(farm, to, datetime.now(UTC))
    if json:
        print_json("backup", {"folder": str(made.folder), "files": made.files, "records": made.records})
        return 0
    print(say("store.backed_up", files=", ".join(made.files), records=made.records, folder=made.folder))
    if to is None:
        print(say("store.take_away"))
    return 0
