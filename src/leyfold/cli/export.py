"""`leyfold export`: everything of a farm as plain files."""

from __future__ import annotations

from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.words import say

__all__ = ["export"]


def export(farm: Path, to: Path, *, json: bool = False) -> int:
    """Write everything of a farm into a folder: its files, all records, and a table (CSV) of each kind.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    to
        A new or empty folder.
    json
        Print one JSON object: the folder, its files and the number of records.
    """
    from leyfold.services.moving import write_out

    out = write_out(farm, to)
    if json:
        print_json("export", {"folder": str(out.folder), "files": out.files, "records": out.records})
    else:
        print(say("store.written_out", folder=out.folder, records=out.records, files=", ".join(out.files)))
    return 0
