"""The holding as described: birds kept, kit, people, wishes, prices, limits in force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from math import ceil
from typing import Literal

from leyfold.nouns.feed import Ingredient, Ration
from leyfold.nouns.figure import Figure
from leyfold.nouns.limits import Limit
from leyfold.nouns.orders import Order, WeightClass
from leyfold.nouns.planning import Planning
from leyfold.nouns.stock import Feed, Line
from leyfold.nouns.weather import Source

__all__ = [
    "NET_REST_D",
    "Bin",
    "BreedingPen",
    "Brooder",
    "Cattle",
    "Farm",
    "Generator",
    "Grazing",
    "HeaderBucket",
    "Holding",
    "Hopper",
    "Incubator",
    "Lamp",
    "MobileHouse",
    "Net",
    "Person",
    "Shelter",
    "Tank",
    "Wish",
]


Grazing = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Holding:
    """Name and place. `zone` is an IANA zone, `language` and `currency` are ISO codes."""

    name: str
    latitude_deg: float
    longitude_deg: float
    zone: str
    language: str = "en"
    currency: str = "EUR"
    lengths: Literal["metric", "imperial"] = "metric"


@dataclass(frozen=True, slots=True)
class Person:
    id: str
    name: str
    role: Literal["farmer", "helper", "child", "looker-on"]
    hours_per_day: float | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """Something the farm owns from a day until a day: retired, never deleted."""

    id: str
    since: date | None = field(default=None, kw_only=True)
    until: date | None = field(default=None, kw_only=True)

    def owned(self, day: date) -> bool:
        return (self.since is None or self.since <= day) and (self.until is None or day < self.until)


@dataclass(frozen=True, slots=True)
class BreedingPen(Kit):
    line: str
    hens: int
    cocks: int
    lay_share: float | None = None
    settable_share: float | None = None


@dataclass(frozen=True, slots=True)
class Incubator(Kit):
    """`eggs` places to day 18; `hatcher_eggs` in the hatcher where it is a machine of its own."""

    eggs: int
    hatcher_eggs: int | None = None
    watts: float | None = None


@dataclass(frozen=True, slots=True)
class Lamp:
    watts: float
    fuse: str


@dataclass(frozen=True, slots=True)
class Brooder(Kit):
    floor_m2: float
    lamps: tuple[Lamp, ...] = ()
    fuses_a: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shelter(Kit):
    """A floorless shelter. `length_m` lies along the way it is pulled. `moves_per_day` is how often it goes
    onto fresh grass, so a pass lasts 1/moves_per_day days."""

    length_m: float
    width_m: float
    height_m: float
    mass_kg: float | None = None
    moves_per_day: float = 1.0
    header_bucket: str | None = None

    @property
    def floor_m2(self) -> float:
        return self.length_m * self.width_m


@dataclass(frozen=True, slots=True)
class MobileHouse(Kit):
    """`light_h`: hours of light given in the house, daylight and lamps together, None without lamps."""

    floor_m2: float
    perch_m: float | None = None
    nests: int | None = None
    light_h: float | None = None


NET_SHIFT_D = 3
"""Days in one paddock where the farm file says nothing. Common practice."""
NET_REST_D = 28
"""Days a paddock rests before hens come again. Common practice."""
NET_SHARE = 0.8
"""A paddock takes at most this share of the square its netting could enclose, so that it need not be one."""


@dataclass(frozen=True, slots=True)
class Net(Kit):
    """Netting round a hens' house, shifted every `shift_d` days."""

    rolls: int
    roll_m: float
    shift_d: int | None = None
    house: str | None = None

    @property
    def stay_d(self) -> int:
        """Days in one paddock."""
        return self.shift_d or NET_SHIFT_D

    def paddocks(self, days: int) -> int:
        """How many it goes round in turn, each rested before hens come again, over so many days of moving."""
        return min(ceil(days / self.stay_d), ceil(NET_REST_D / self.stay_d) + 1)

    @property
    def most_m2(self) -> float:
        """The largest paddock that it goes round with ease."""
        return NET_SHARE * (self.rolls * self.roll_m / 4) ** 2


@dataclass(frozen=True, slots=True)
class Cattle(Kit):
    """`grazing`: (month, day) of the first day at grass and of coming in, None where grass tells."""

    heads: int
    intake_kg_dm_per_d: float | None = None
    grazing: Grazing | None = None


@dataclass(frozen=True, slots=True)
class Bin(Kit):
    """`has_kg` is what was in it when the season begins; the lorry brings no less than `lorry_least_kg` and
    no more than `lorry_most_kg` at once."""

    feed: str
    holds_kg: float
    has_kg: float | None = None
    delivery_d: int | None = None
    lorry_least_kg: float | None = None
    lorry_most_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Hopper(Kit):
    feed: str
    holds_kg: float


@dataclass(frozen=True, slots=True)
class Tank(Kit):
    holds_l: float


@dataclass(frozen=True, slots=True)
class Generator(Kit):
    """`watts` it gives without end; what starts with a jolt (a pump, a cabinet's heater) needs more."""

    watts: float


@dataclass(frozen=True, slots=True)
class HeaderBucket(Kit):
    holds_l: float
    colour: str
    diameter_m: float | None = None
    height_m: float | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """`number` of `what` (pullets, table birds, eggs a day) by or from `on`, at a chance. Pullets count from
    the age `aged_d` on."""

    id: str
    what: Literal["pullets", "table birds", "eggs a day"]
    number: int
    on: date
    chance: float
    line: str | None = None
    every_d: int | None = None
    until: date | None = None
    aged_d: int = 0


@dataclass(frozen=True, slots=True)
class Farm:
    holding: Holding
    lines: Mapping[str, Line]
    feeds: Mapping[str, Feed]
    temperature_C: tuple[Figure, ...]
    """Twelve monthly means out of doors, January first."""
    people: Mapping[str, Person] = field(default_factory=dict)
    pens: Mapping[str, BreedingPen] = field(default_factory=dict)
    incubators: Mapping[str, Incubator] = field(default_factory=dict)
    brooders: Mapping[str, Brooder] = field(default_factory=dict)
    shelters: Mapping[str, Shelter] = field(default_factory=dict)
    houses: Mapping[str, MobileHouse] = field(default_factory=dict)
    nets: Mapping[str, Net] = field(default_factory=dict)
    cattle: Mapping[str, Cattle] = field(default_factory=dict)
    bins: Mapping[str, Bin] = field(default_factory=dict)
    hoppers: Mapping[str, Hopper] = field(default_factory=dict)
    tanks: Mapping[str, Tank] = field(default_factory=dict)
    generators: Mapping[str, Generator] = field(default_factory=dict)
    buckets: Mapping[str, HeaderBucket] = field(default_factory=dict)
    wishes: tuple[Wish, ...] = ()
    prices: Mapping[str, float] = field(default_factory=dict)
    """Minor details of money by name, in the holding's currency: what is sold and bought."""
    weight_classes: tuple[WeightClass, ...] = ()
    """Of carcasses, by rising weight."""
    orders: tuple[Order, ...] = ()
    limits: tuple[Limit, ...] = ()
    floor_allowance: tuple[tuple[int, Figure], ...] = ()
    """Brooder floor: (age in days up to which it holds, birds per m2), by rising age; the last holds on."""
    work: Mapping[str, Figure] = field(default_factory=dict)
    """The farm's own word on what its work takes, by the names of the cited table of work."""
    killing: Mapping[str, Figure] = field(default_factory=dict)
    """The farm's own word on its killing day, by the names of the cited table."""
    risks: Mapping[str, Figure] = field(default_factory=dict)
    """The farm's own word on foxes, missed moves and weather, by the names of the cited table of risks."""
    measures: Mapping[str, str] = field(default_factory=dict)
    """The farm's own measures, as declared: {"bucket": "7 kg"}."""
    ingredients: Mapping[str, Ingredient] = field(default_factory=dict)
    """What the farm mixes feed from."""
    rations: Mapping[str, Ration] = field(default_factory=dict)
    weather: Source = field(default_factory=Source)
    heights: str | None = None
    """Name of the farm's file of heights."""
    planning: Planning = field(default_factory=Planning)
    tonight: Mapping[str, Figure] = field(default_factory=dict)
    """The farm's own word on what nights, hot days and gusts are judged by, by the names of that table."""
