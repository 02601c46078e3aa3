"""What a land file holds, before any of it is believed: shapes by feature, and how to speak of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NoReturn

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = [
    "MOST_BYTES",
    "MOST_CORNERS",
    "MOST_FEATURES",
    "MOST_RING_CORNERS",
    "Drawn",
    "Remark",
    "Source",
    "called",
    "refuse",
    "remark",
]

Floats = NDArray[np.float64]

# A survey of every gate and tree on a large farm is far below these; beyond them a file is a mistake.
MOST_BYTES = 20_000_000
MOST_CORNERS = 200_000
MOST_RING_CORNERS = 20_000
MOST_FEATURES = 2_000


@dataclass(frozen=True, slots=True)
class Remark:
    """Something mended while reading. `what` names the sentence, `feature` is empty for the whole file."""

    what: str
    feature: str
    text: str

    def __str__(self) -> str:
        return f"{self.feature}: {self.text}" if self.feature else self.text


@dataclass(frozen=True, eq=False, slots=True)
class Drawn:
    """One polygon, line or point. `rings`: (n, 2) arrays as in the file, x before y; a polygon's outer ring
    first, one array otherwise. `label` is how messages call the feature."""

    label: str
    shape: Literal["polygon", "line", "point"]
    rings: tuple[Floats, ...]
    id: str | None = None
    name: str | None = None
    properties: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, eq=False, slots=True)
class Source:
    """All shapes of a file. `crs`: what its numbers mean, as pyproj takes it; None where nothing says."""

    file: str
    drawn: tuple[Drawn, ...]
    crs: str | None
    remarks: tuple[Remark, ...] = ()


def called(number: int, name: str | None) -> str:
    """How a feature is called in messages: its number in the file, from 1, and its name if it has one."""
    if name:
        return say("ground.feature_named", number=number, name=name)
    return say("ground.feature", number=number)


def remark(what: str, feature: str = "", /, **values: object) -> Remark:
    """What was mended in a feature, in the sentence `mended_<what>`."""
    return Remark(what, feature, say(f"ground.mended_{what}", **values))


def refuse(
    file: str, what: str, feature: str = "", /, *, at: str = "", line: int | None = None, **values: object
) -> NoReturn:
    """Raise BadInput with the sentences `refused_<what>` and `refused_<what>_mend`."""
    wrong, mend = say(f"ground.refused_{what}", **values), say(f"ground.refused_{what}_mend", **values)
    raise BadInput(Fault(file=file, field=at, wrong=wrong, mend=mend, line=line, feature=feature or None))
