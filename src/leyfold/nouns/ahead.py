"""The look-ahead: tonight, tomorrow and the week for the birds that stand on the farm now.

Grades are 0 easy, 1 watch, 2 act, 3 danger, never a count of deaths. Bands are the points that one, five and
nine of ten draws of the weather stay under. What is not known is None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = [
    "Ahead",
    "Band",
    "BrooderHeat",
    "Bucket",
    "Caution",
    "Cold",
    "DarkHours",
    "Due",
    "FeedLeft",
    "Flock",
    "GeneratorLoad",
    "Gust",
    "Heat",
    "Laying",
    "MainsOff",
    "Night",
    "Settable",
    "StopOrder",
    "Turnout",
    "TurnoutDay",
    "Water",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Band:
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Flock:
    """Birds of one batch in one place. `sexes`: heads by sex as the season expects them; `heads` by the book
    where the records say. Weight is their mean. `kind`: brooder, shelter or house."""

    place: str
    kind: str
    batch: str
    line: str
    sexes: Mapping[str, float]
    heads: float
    age_d: int
    weight_kg: float

    @property
    def sex(self) -> str | None:
        """Their sex, None where both are there or nobody has looked."""
        return next(iter(self.sexes)) if len(self.sexes) == 1 else None


@dataclass(frozen=True, slots=True, eq=False)
class Night:
    """From sunset to sunrise. `lowest_C` at the birds' height over open grass, `station_C` at the station;
    `hours` are the instants of `curve_C`, [3, hour]: the band through the night at the birds' height."""

    sunset: datetime
    sunrise: datetime
    lowest_C: Band
    station_C: Band
    rain_mm: Band
    wind_m_per_s: float
    origin: str
    hours: tuple[datetime, ...]
    curve_C: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Cold:
    """Tonight for one flock. `air_C`: the least at these birds; `floor_C` what they bear in the worst hour
    and `floors_C` [hour] hour by hour; `hours_under`; `chance` that the air falls under their floor at all;
    `grade` as likely as not, `grade_bad` in one night of ten; `reasons` by how many K each raises the
    floor; `pile` the grade of piling up."""

    flock: Flock
    air_C: Band
    floor_C: float
    floors_C: Floats
    hours_under: Band
    chance: float
    grade: int
    grade_bad: int
    reasons: tuple[tuple[str, float], ...]
    pile: int


@dataclass(frozen=True, slots=True)
class Gust:
    """The greatest gust at one shelter until tomorrow's sunset against the gusts that move it untied; None
    where its mass is not known. `how`: slide, tip or lift, whichever comes first. `pull_n`: upward pull on
    each of four stakes in the nine-in-ten gust, wind and weight factored."""

    place: str
    heads: float
    gust_m_per_s: Band
    moves_at_m_per_s: float | None
    how: str | None
    stake_from_m_per_s: float | None
    pull_n: float | None
    grade: int
    grade_bad: int


@dataclass(frozen=True, slots=True, eq=False)
class Bucket:
    """A header bucket tomorrow, filled at sunrise. `hours` and the arrays run from sunrise in quarters of an
    hour: `water_C`, `water_l` [step + 1]. `refill_at` is when it is first too warm or dry, `why` which.
    `dry_h`: hours until dry. `shaded_C`: its warmest without direct sun. `week_C`: the warmest of each of
    seven days, refilled every sunrise. `fills`: how often it must be filled for what is wanted."""

    name: str
    colour: str
    holds_l: float
    hours: tuple[datetime, ...]
    water_C: Floats
    water_l: Floats
    warmest_C: float
    warmest_at: datetime
    refill_at: datetime | None
    why: Literal["warm", "dry"] | None
    refused_h: float
    dry_h: float | None
    missed_l: float
    shaded_C: float
    week_C: tuple[float, ...]
    fills: int

    @property
    def dry_at(self) -> datetime | None:
        return None if self.dry_h is None else self.hours[0] + timedelta(hours=self.dry_h)


@dataclass(frozen=True, slots=True)
class Water:
    """What one place drinks tomorrow: `by_hour` litres by civil hour of the day."""

    place: str
    kind: str
    heads: float
    litres: float
    by_hour: tuple[float, ...]
    bucket: Bucket | None
    grade: int


@dataclass(frozen=True, slots=True)
class Heat:
    """Tomorrow's greatest temperature, and what it feels like to one flock in the hottest hour; `index_C`
    None in air too cool to ask. `extrapolated` where the index was never tried on such birds."""

    flock: Flock
    highest_C: Band
    at: datetime
    index_C: float | None
    state: str
    grade: int
    extrapolated: bool


@dataclass(frozen=True, slots=True)
class BrooderHeat:
    """Lamps of a brooder tonight, the barn taken as cold as the air outside. `carries`: chicks all lamps
    carry; without the worst lamp; without the worst fuse. `needed_C` the youngest's, before huddling;
    `over_a` fuses loaded beyond their amperes."""

    place: str
    heads: float
    needed_C: float
    barn_C: float
    watts: float
    carries: tuple[float, float, float]
    over: tuple[str, ...]
    grade: int


@dataclass(frozen=True, slots=True)
class TurnoutDay:
    """Turned out on this day: the chance that one of the nights after (`nights` of them) falls under the
    group's floor; the brooder's floor needed over what there is, if they stay until then; lamps so far in
    money."""

    day: date
    chance: float
    nights: int
    floor_share: float
    lamps: float | None


@dataclass(frozen=True, slots=True)
class Turnout:
    """`best`: the first day whose chance is small enough, None where none is."""

    batch: str
    place: str
    heads: float
    planned: date
    days: tuple[TurnoutDay, ...]
    best: date | None


@dataclass(frozen=True, slots=True)
class GeneratorLoad:
    """What one generator takes, the first in need first, and what is left without: places."""

    generator: str
    watts: float
    takes: tuple[str, ...]
    leaves: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MainsOff:
    """If the mains went now. `first`: what suffers first, in order: (place, hours until danger or None where
    that is at once or not known, birds or eggs, watts a generator must carry)."""

    order: tuple[tuple[str, float | None, float, float | None], ...]
    watts: float
    generators: tuple[GeneratorLoad, ...] = ()


@dataclass(frozen=True, slots=True)
class Due:
    """Something dated within the week: candle, take off, turn out, sort, kill, house, set."""

    day: date
    what: str
    batch: str
    number: float


@dataclass(frozen=True, slots=True)
class Settable:
    """Eggs a day fit to set, of a pen or a flock old enough."""

    where: str
    eggs: float


@dataclass(frozen=True, slots=True)
class FeedLeft:
    feed: str
    has_kg: float | None
    empty_on: date | None
    days: int | None
    order_by: date | None


@dataclass(frozen=True, slots=True)
class Laying:
    """Hens under the light of tomorrow: `lamp_h` still lacking to full lay."""

    place: str
    heads: float
    light_h: float
    wanted_h: float


@dataclass(frozen=True, slots=True)
class DarkHours:
    sunset: datetime
    sunrise: datetime
    day_h: float


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning: `kind`, its grade, birds at risk, where, why, and the act that mends it."""

    kind: str
    grade: int
    heads: float
    where: tuple[str, ...]
    said: str
    act: str


@dataclass(frozen=True, slots=True)
class StopOrder:
    """Stands above any ranking: nothing else is done for these birds before it."""

    why: str
    where: str
    said: str
    act: str


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    at: datetime
    day: date
    tomorrow: date
    flocks: tuple[Flock, ...]
    night: Night
    cold: tuple[Cold, ...]
    gusts: tuple[Gust, ...]
    heat: tuple[Heat, ...]
    water: tuple[Water, ...]
    brooders: tuple[BrooderHeat, ...]
    turnout: tuple[Turnout, ...]
    mains: MainsOff
    due: tuple[Due, ...]
    settable: tuple[Settable, ...]
    feed: tuple[FeedLeft, ...]
    laying: tuple[Laying, ...]
    dark: DarkHours
    tank_l: float
    tank_trips: int | None
    tank_last: datetime | None
    cattle_d: tuple[float, float] | None
    grass_K_d: float | None
    grass_on: date | None
    frost_w: float | None
    stops: tuple[StopOrder, ...] = ()
    cautions: tuple[Caution, ...] = ()
    """All that ask for a hand, worst first; a page shows three."""
    notes: tuple[str, ...] = ()
    depth_source: str = ""
    said_of: Mapping[str, str] = field(default_factory=dict)
    """Origin of tonight's temperature, wind and cloud."""
