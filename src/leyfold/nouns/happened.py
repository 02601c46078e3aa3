"""What happened on the farm beside birds coming and going: the round, health, mishaps, money."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from leyfold.nouns.stock import Sex

__all__ = [
    "EggsOpened", "Expense", "Fence", "Glance", "KitLost", "Look", "MainsOff", "Move", "Promise", "Sale",
    "Standing", "TrayWeight", "Treatment", "Trouble", "Watering", "Withdrawal", "Worked", "Written",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Glance:
    """Birds read off in passing, and the book at that instant. Nothing follows from it but a second look."""

    at: datetime
    on: date
    place: str
    heads: int
    book: int


@dataclass(frozen=True, slots=True)
class Move:
    """A shelter moved onto fresh grass, a net put up anew, or a break opened to cattle: `what` is the
    shelter, net or herd. `nth` counts those of one date, from 1. `corners_deg`: longitude and latitude of a
    net's corners, one after the other; empty where they were not written down."""

    on: date
    at: datetime
    what: str
    to: str | None
    nth: int
    who: str
    corners_deg: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """The evening round at one place. None: not looked at. `nth` 2: the second pair of eyes."""

    on: date
    at: datetime
    place: str
    who: str
    nth: int
    heads: int | None = None
    doors: bool | None = None
    lamps: bool | None = None
    water: bool | None = None
    stakes: bool | None = None
    kV: float | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a shelter or house really stands: a stand by name, the field's metres, or the globe."""

    on: date
    at: datetime
    place: str
    field: str | None = None
    stand: str | None = None
    x_m: float | None = None
    y_m: float | None = None
    angle_deg: float | None = None
    longitude_deg: float | None = None
    latitude_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Watering:
    """The last filling at a place. `litres` None: filled, by how much was not said. `runs` None: the
    drinker was not looked at."""

    at: datetime
    on: date
    place: str
    litres: float | None
    runs: bool | None


@dataclass(frozen=True, slots=True)
class Fence:
    """kV at the far end of a net."""

    on: date
    at: datetime
    net: str
    kV: float


@dataclass(frozen=True, slots=True)
class TrayWeight:
    on: date
    kg: float
    tray: str | None = None
    eggs: int | None = None


@dataclass(frozen=True, slots=True)
class EggsOpened:
    """What the eggs that did not hatch held. None: not told apart."""

    clear: int | None = None
    early_dead: int | None = None
    late_dead: int | None = None
    pipped: int | None = None


@dataclass(frozen=True, slots=True)
class Treatment:
    """A medicine as it was given. `eggs_d`, `meat_d`: days of withdrawal, None where nobody said."""

    id: str
    on: date
    last_on: date
    medicine: str
    by: str
    place: str | None
    batch: str | None
    sex: Sex | None
    eggs_d: int | None
    meat_d: int | None
    ordered_by: str | None = None


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """No eggs of this group may be eaten before `eggs_until`, no bird of it killed for the table before
    `meat_until`; on that day they may. None: not held up by a date. `eggs_open`, `meat_open`: no end can be
    named, since medicated feed still lies there or nobody said how many days; the date is then the earliest
    that could be. It follows the birds; birds put together take the longest."""

    batch: str
    sex: Sex | None
    place: str
    medicines: tuple[str, ...]
    eggs_until: date | None = None
    meat_until: date | None = None
    eggs_open: bool = False
    meat_open: bool = False

    def holds_eggs(self, day: date) -> bool:
        return self.eggs_open or (self.eggs_until is not None and day < self.eggs_until)

    def holds_meat(self, day: date) -> bool:
        return self.meat_open or (self.meat_until is not None and day < self.meat_until)

    def ends(self) -> date | None:
        """The day from which neither is held up; None where that cannot be said."""
        if self.eggs_open or self.meat_open:
            return None
        return max((end for end in (self.eggs_until, self.meat_until) if end), default=None)


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that happened, open until `settled_on`."""

    id: str
    at: datetime
    on: date
    what: str
    who: str
    place: str | None = None
    batch: str | None = None
    heads: int | None = None
    text: str | None = None
    settled_on: date | None = None


@dataclass(frozen=True, slots=True)
class MainsOff:
    """`back_at` None: still off. `place` None: the whole farm."""

    at: datetime
    place: str | None
    room_C: float | None
    back_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Promise:
    """`number` of `what` (carcasses, eggs, pullets, day-olds) promised to a customer by `on`; `deposit`: all
    that was paid on it beforehand."""

    id: str
    customer: str
    number: int
    on: date
    what: str = "carcasses"
    weight_class: str | None = None
    deposit: float | None = None
    ordered_on: date | None = None


@dataclass(frozen=True, slots=True)
class Sale:
    """Handed over; `what` is eggs, hatching eggs, carcasses, birds or other. Money in the farm's currency."""

    on: date
    what: str
    number: int | None = None
    kg: float | None = None
    paid: float | None = None
    customer: str | None = None
    order: str | None = None
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class Expense:
    on: date
    what: str
    paid: float
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class KitLost:
    """Kit lost or broken."""

    on: date
    kit: str
    number: int
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Worked:
    on: date
    hours: float
    person: str
    work: str | None = None
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """A note or a photograph (`sha256` of its bytes)."""

    id: str
    on: date
    who: str
    text: str | None = None
    batch: str | None = None
    place: str | None = None
    sha256: str | None = None
    of: str | None = None
