"""How a file of weather is refused: by its name, line and column, with what is wrong and the mend."""

from __future__ import annotations

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["fault", "refused"]


def fault(file: str, key: str, /, *, line: int | None = None, field: str = "", **values: object) -> Fault:
    """The sentences `weather.<key>` and `weather.<key>_mend`."""
    wrong, mend = say(f"weather.{key}", **values), say(f"weather.{key}_mend", **values)
    return Fault(file, field, wrong, mend, line)


def refused(
    file: str, key: str, /, *, line: int | None = None, field: str = "", **values: object
) -> BadInput:
    """To be raised: one thing that cannot be."""
    return BadInput(fault(file, key, line=line, field=field, **values))
