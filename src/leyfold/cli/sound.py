"""`leyfold sound`: is everything in order in a farm's folder?"""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.words import say

__all__ = ["sound"]


def sound(farm: Path, *, json: bool = False) -> int:
    """Look whether everything is in order: room on the disk, every record, versions, devices, backups.

    Ends with 2 where something is wrong; what somebody should look at ends with 0.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: each thing looked at.
    """
    from leyfold.services.sound import look_over

    found = look_over(farm, datetime.now(UTC))
    if json:
        print_json("sound", {"findings": [asdict(one) for one in found]})
    else:
        wide = max(len(say(f"store.sound_{grade}")) for grade in ("well", "look", "wrong"))
        for one in found:
            print(f"{say(f'store.sound_{one.grade}'):{wide}}  {one.said} {one.mend}".rstrip())
    return 2 if any(one.grade == "wrong" for one in found) else 0
