"""`leyfold check`: what is wrong with a farm's files, where, and how to mend it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.services.check import check_farm
from leyfold.words import say

__all__ = ["check"]


def check(farm: Path, *, json: bool = False) -> int:
    """Look through a farm's files and name every fault with its line and mend.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: the files looked at and the faults.
    """
    found = check_farm(farm, datetime.now(UTC))
    if json:
        print_json("check", {"files": found.files, "faults": [asdict(fault) for fault in found.faults]})
    else:
        for fault in found.faults:
            print(fault)
        files = ", ".join(found.files)
        print(
            say("farm.faults", count=len(found.faults)) if found.faults else say("farm.no_fault", files=files)
        )
    return 2 if found.faults else 0
