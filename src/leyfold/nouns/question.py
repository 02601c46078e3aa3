"""What the records leave open, and what may be answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

__all__ = ["Choice", "Question", "Why"]

Why = Literal["double", "which", "contradiction", "faulty", "correction", "clock"]
"""`double`: two people or devices may have written down the same. `which`: more than one group fits.
`contradiction`: the records before it rule it out. `faulty`: the data are not what the kind holds.
`correction`: it corrects what is not there or may not be corrected. `clock`: the device's clock was wrong."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer. `data` is what a record of kind `answer` holds that gives it."""

    said: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """A record that stands in the log and does not count until somebody answers, or corrects it.

    `id` is that record; `about` all records concerned, `id` the first of them. `said` asks in plain words;
    `mend` says what else would settle it.
    """

    id: str
    why: Why
    kind: str
    about: tuple[str, ...]
    said: str
    mend: str
    choices: tuple[Choice, ...] = ()
    place: str | None = None
