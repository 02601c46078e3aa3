"""What the farmer asks of a planner besides wishes and limits: days on which things may be done, trays."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

__all__ = ["WEEKDAYS", "Busy", "Grass", "Planning", "Weekday"]

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Busy:
    """Days `first` to `last`, both counted, on which `person` has `hours_per_day` for the birds; 0 where the
    days are wholly taken by other work: hay, calving."""

    first: date
    last: date
    person: str
    hours_per_day: float = 0.0


@dataclass(frozen=True, slots=True)
class Grass:
    """From the day `first` up to, not including, `until` shelters stand on no more than `m2` of fresh grass
    together. None: from the plan's first day, or to its last. `nets`: hens' paddocks must lie on it too."""

    m2: float
    first: date | None = None
    until: date | None = None
    nets: bool = False


@dataclass(frozen=True, slots=True)
class Planning:
    """None and empty: nothing said, so nothing is held to. `tray` is the number of eggs in which sets are
    counted; `stored_d` the days over which the eggs of a set are gathered. Chicks go out from
    `grass_from` on, and nobody is in a shelter from `grass_until` on. Nothing is killed on `closed` days."""

    tray: int = 6
    stored_d: int | None = None
    set_from: date | None = None
    set_until: date | None = None
    set_weekdays: tuple[Weekday, ...] = WEEKDAYS
    grass_from: date | None = None
    grass_until: date | None = None
    kill_weekdays: tuple[Weekday, ...] = WEEKDAYS
    kill_a_day: int | None = None
    closed: tuple[date, ...] = ()
    freezer_kg: float | None = None
    """Carcass that the freezer takes of one killing day."""
    mixed_ages_d: int | None = None
    """Batches hatched further apart share no brooder, nor a shelter once sorted (21 days unless said)."""
    cold_group: int | None = None
    """Most birds together in one shelter on nights that are cold for their age."""
    ground_m2: float | None = None
    """Grass that shelters may stand on in the season, each stand once."""
    heat_without: Literal["nothing", "lamp", "fuse"] = "nothing"
    """What may fail in a brooder with the other lamps still carrying all chicks."""
    busy: tuple[Busy, ...] = ()
    grass: tuple[Grass, ...] = ()
    """What the land holds, in no file: a shell that has looked at it says so. It stands in place of
    `ground_m2`."""

    @property
    def fresh(self) -> tuple[Grass, ...]:
        """All that is known of the grass there is."""
        known = () if self.ground_m2 is None else (Grass(self.ground_m2),)
        return self.grass or known
