"""`leyfold restore`: put a backup in place of what is there."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.words import say

__all__ = ["restore"]


def restore(farm: Path, backup: Path, *, json: bool = False) -> int:
    """Put a backup in place of what is in a farm's folder. It is checked first, and what it replaces is kept.

    Parameters
    ----------
    farm
        The farm's folder; it is made where it is not there.
    backup
        The folder that `leyfold backup` made.
    json
        Print one JSON object: where what was replaced lies, the files and the number of records.
    """
    from leyfold.services.keeping import bring_back

    back = bring_back(farm, backup, datetime.now(UTC))
    if json:
        print_json("restore", {"replaced": str(back.folder), "files": back.files, "records": back.records})
        return 0
    print(say("store.restored", files=", ".join(back.files), records=back.records, folder=back.folder))
    return 0
