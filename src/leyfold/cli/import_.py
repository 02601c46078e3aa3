"""`leyfold import`: records of another folder, or another program's table, into a farm's book."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.words import say

__all__ = ["import_"]


def import_(farm: Path, source: Path, *, json: bool = False) -> int:
    """Bring records into a farm's book: all of them, or none where one is faulty. What is there already is
    counted and left alone.

    Parameters
    ----------
    farm
        The farm's folder; it is made where it is not there.
    source
        A folder that `leyfold export` wrote, or one records.jsonl or table (CSV) of it.
    json
        Print one JSON object: how many records are new, how many were known, and the files brought along.
    """
    from leyfold.services.moving import bring_in

    came = bring_in(farm, source, datetime.now(UTC))
    if json:
        page = {"new": came.new, "known": came.known, "files": came.files, "differ": came.differ}
        print_json("import", page)
        return 0
    print(say("store.brought_in", new=came.new, known=came.known))
    if came.files:
        print(say("store.files_brought", files=", ".join(came.files)))
    if came.differ:
        print(say("store.files_differ", files=", ".join(came.differ)))
    return 0
