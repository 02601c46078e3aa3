"""`leyfold start`: begin a farm's folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from leyfold.cli.answer import print_json, typed
from leyfold.services.start import start_farm
from leyfold.words import say

__all__ = ["start"]


def start(folder: Path, *, json: bool = False) -> int:
    """Write a short farm.toml and plan.toml to begin with. Nothing that is there is overwritten.

    Parameters
    ----------
    folder
        The new farm's folder; it is made where it is not there.
    json
        Print one JSON object: the files written.
    """
    written = start_farm(folder, date.today())  # noqa: DTZ011 - the day on the wall where the farmer sits
    if json:
        print_json("start", {"files": [str(path) for path in written]})
    else:
        for path in written:
            print(say("farm.written", path=path))
        print(say("farm.started", folder=typed(folder)))
    return 0
