"""Something in the records that ordinary luck does not bring."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Alarm", "AlarmKind"]

AlarmKind = Literal["signs", "deaths", "water", "feed", "eggs", "unaccounted"]


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm about the birds of one place, or of the farm (`place` None).

    `seen` against `expected`, in birds, litres, kg or eggs a hen and day. `chance`: that ordinary luck brings
    as much or worse, None where it is not a matter of luck. `grade` 2 act, 3 danger. `batches`: whom it may
    concern.
    """

    kind: AlarmKind
    grade: int
    place: str | None
    batches: tuple[str, ...]
    heads: int
    seen: float
    expected: float
    chance: float | None
    said: str
    act: str
