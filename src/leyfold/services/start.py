"""Begin a farm's folder: a short farm.toml and plan.toml that run as they are."""

from __future__ import annotations

from datetime import date
from importlib.resources import files
from pathlib import Path

from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["start_farm"]

_FILES = ("farm.toml", "plan.toml")
_FIRST_SETTING = (3, 1)
"""Month and day of the first setting in the plan written."""


def start_farm(folder: Path, today: date) -> tuple[Path, ...]:
    """Write both files into `folder`, made where it is not there, for the next setting season after `today`.

    BadInput, and nothing written, where one of them is there or the folder cannot be had.
    """
    texts = Texts(folder)
    there = [name for name in _FILES if texts.has(name)]
    if there:
        raise BadInput(
            *(
                Fault(name, "", say("farm.text_exists", name=name), say("farm.text_exists_mend"))
                for name in there
            )
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        wrong = say("farm.folder", folder=folder, reason=error.strerror or "")
        raise BadInput(Fault(str(folder), "", wrong, say("farm.folder_mend"))) from None
    year = today.year + (today >= date(today.year, *_FIRST_SETTING))
    begin = files("leyfold.farm") / "begin"
    for name in _FILES:
        texts.write(name, (begin / name).read_text(encoding="utf-8").replace("YEAR", str(year)), None)
    return tuple(folder / name for name in _FILES)
