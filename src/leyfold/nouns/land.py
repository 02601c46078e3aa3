"""Land: fields as drawn, the stands that fit in them, and the stand of each day.

Everything here is in metres of the farm's own flat map: x east, y north, from `Land.origin`. A ring is a
tuple of corners, the first not repeated at the end; outer rings run counter-clockwise, holes clockwise.
Angles are degrees counter-clockwise from east (0 = east, 90 = north); a direction of moving.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from math import cos, radians, sin
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Allotment",
    "Area",
    "Dunging",
    "Exclusion",
    "FarmGround",
    "Field",
    "Footprint",
    "Grazed",
    "Ground",
    "HenGround",
    "Land",
    "Layout",
    "Leg",
    "Line",
    "Load",
    "NetAhead",
    "NetStay",
    "Occupation",
    "Paddock",
    "Point",
    "Ring",
    "Scope",
    "SkirtGap",
    "Span",
    "Spot",
    "Stand",
    "Strip",
    "Terrain",
    "Tread",
    "rectangle",
]

Point = tuple[float, float]
Ring = tuple[Point, ...]
Line = tuple[Point, ...]
Spot = Literal["stand", "net", "house"]
Scope = Literal["pass", "stand", "strip", "field"]


@dataclass(frozen=True, slots=True)
class Span:
    """Days from `first` up to, not including, `until`."""

    first: date
    until: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day < self.until


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Ground where nothing may stand, and how far to keep off it.

    `kind`: well, water, ditch, hedge, track, building, tree, overhead, wet, slope, rough, gap or other.
    `shape` says whether `points` is a ring, a line or one point. `buffer_m` >= 0. `source`: where the
    distance comes from.
    """

    id: str
    kind: str
    shape: Literal["ring", "line", "point"]
    points: tuple[Point, ...]
    buffer_m: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """One piece of ground inside one outer ring.

    `margin_m`: kept free along every edge. `contour_deg`: direction of the contour, None where the ground
    is flat or unknown; `slope` is rise over run across it.
    """

    id: str
    name: str
    outer: Ring
    holes: tuple[Ring, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()
    margin_m: float = 1.0
    hay_shut: tuple[Span, ...] = ()
    water: tuple[Point, ...] = ()
    gates: tuple[Point, ...] = ()
    contour_deg: float | None = None
    slope: float = 0.0


@dataclass(frozen=True, slots=True)
class Land:
    """The fields of one farm on one flat map. `notes`: what the reader mended, in words."""

    fields: tuple[Field, ...]
    origin_lon_deg: float
    origin_lat_deg: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, slots=True)
class Terrain:
    """Heights on a square grid in the farm's metres. Row 0 is the north edge; NaN where unknown.

    `west_m`, `north_m`: outer corner of the cell in row 0, column 0.
    """

    west_m: float
    north_m: float
    cell_m: float
    height_m: NDArray[np.float64]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Footprint:
    """Ground under one shelter: `length_m` along the move, `width_m` across it; both > 0."""

    id: str
    length_m: float
    width_m: float

    @property
    def area_m2(self) -> float:
        return self.length_m * self.width_m


def rectangle(x_m: float, y_m: float, angle_deg: float, length_m: float, width_m: float) -> Ring:
    """Corners of a rectangle about its centre, counter-clockwise, `length_m` along `angle_deg`."""
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    a, b = length_m / 2, width_m / 2
    return tuple((x_m + c * u - s * v, y_m + s * u + c * v) for u, v in ((-a, -b), (a, -b), (a, b), (-a, b)))


@dataclass(frozen=True, slots=True)
class Stand:
    """One place for one shelter. `index` counts from 0 along its strip, in the direction `angle_deg`."""

    id: str
    field: str
    strip: str
    index: int
    x_m: float
    y_m: float
    angle_deg: float

    def corners(self, footprint: Footprint) -> Ring:
        return rectangle(self.x_m, self.y_m, self.angle_deg, footprint.length_m, footprint.width_m)


@dataclass(frozen=True, slots=True)
class SkirtGap:
    """The gap under a rigid shelter at one stand: the worst, where, and the boards that close it.

    `boards_m`: lengths of skirt open too far, longest first. `rocks`: it rests on two points across its
    middle; `worst_m` is then the balanced gap and `tipped_m` the worst when it leans.
    """

    stand: str
    worst_m: float
    at: Point
    boards_m: tuple[float, ...]
    rocks: bool
    tipped_m: float


@dataclass(frozen=True, slots=True)
class Strip:
    """Stands end to end in one straight line. `lane` counts the lines across the field."""

    id: str
    field: str
    lane: int
    angle_deg: float
    stands: tuple[Stand, ...]


@dataclass(frozen=True, slots=True)
class Area:
    """What was reached in one field, and what no arrangement at all could pass.

    `inset_m2`: ground inside the margin and off every buffer. `bound`: a proven upper bound on the number
    of whole rectangles, at any angles. `gap`: (bound - stands) / bound, 0 where bound is 0. `pulled_m`:
    once over every stand, strip after strip. `to_water_m`, `to_gate_m`: mean distance from a stand to the
    nearest, None where none is known.
    """

    field: str
    inset_m2: float
    stands: int
    share: float
    bound: int
    gap: float
    turns: int
    pulled_m: float
    to_water_m: float | None
    to_gate_m: float | None


@dataclass(frozen=True, slots=True)
class Layout:
    """Every stand of one footprint on the land, undated."""

    footprint: Footprint
    strips: tuple[Strip, ...]
    areas: tuple[Area, ...]

    @property
    def stands(self) -> tuple[Stand, ...]:
        return tuple(stand for strip in self.strips for stand in strip.stands)

    @property
    def share(self) -> float:
        """Share of all inset ground that is covered by stands."""
        whole = sum(a.inset_m2 for a in self.areas)
        return sum(a.stands for a in self.areas) * self.footprint.area_m2 / whole if whole else 0.0

    @property
    def bound(self) -> int:
        return sum(a.bound for a in self.areas)

    @property
    def gap(self) -> float:
        return (self.bound - sum(a.stands for a in self.areas)) / self.bound if self.bound else 0.0


@dataclass(frozen=True, slots=True)
class Occupation:
    """A shelter in use from `first` up to, not including, `until`; it wants fresh ground every
    `every_days` days, and `moves` times on such a day."""

    shelter: str
    first: date
    until: date
    every_days: int = 1
    moves: int = 1


@dataclass(frozen=True, slots=True)
class Tread:
    """Ground used: its ring, and the last day it was used."""

    ring: Ring
    on: date
    by: str = ""


@dataclass(frozen=True, slots=True)
class Leg:
    """How a shelter comes to its stand.

    `kind`: place (brought there), stay (not moved), ahead (straight on), skip (straight on over ground
    left out), turn (strip end), strip (to a strip further off in the field), field (to another field).
    """

    kind: Literal["place", "stay", "ahead", "skip", "turn", "strip", "field"]
    distance_m: float


@dataclass(frozen=True, slots=True)
class Allotment:
    """A shelter's ground for one day. `stand` is None when no rested ground is left for it.

    `nth` counts the day's moves from 0 where there is more than one.
    """

    shelter: str
    on: date
    stand: Stand | None
    leg: Leg | None
    nth: int = 0


@dataclass(frozen=True, slots=True)
class Ground:
    """The stand of every shelter for every day.

    `left_days`: days of ground left for all shelters together after the last day. `runs_out`: first day on
    which a shelter has no rested stand, None when every day has one. `transfers`: moves to another field.
    `shared`: strips worked by more than one shelter.
    """

    footprint: Footprint
    rest_days: int
    days: tuple[Allotment, ...]
    left_days: int
    runs_out: date | None
    transfers: tuple[Allotment, ...] = ()
    shared: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paddock:
    """Ground inside the netting for one stay. `house`: where the hen house stands, in order.

    `shared_m`: length of side it shares with the paddock before, 0 for the first.
    """

    id: str
    field: str
    ring: Ring
    area_m2: float
    perimeter_m: float
    shared_m: float
    house: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class NetStay:
    """Hens inside the netting of one paddock. `house`: the days the house comes to each of its places."""

    paddock: Paddock
    span: Span
    house: tuple[tuple[date, Point], ...]


@dataclass(frozen=True, slots=True)
class Grazed:
    """Cattle on a paddock or somewhere in a field (`where`) from `first` until they left it, None while they
    are there. Hens do best on it from `first_d` to `last_d` days after they left."""

    where: str
    first: date
    until: date | None
    first_d: float
    last_d: float


@dataclass(frozen=True, slots=True)
class NetAhead:
    """One net from a day on. `now`: the stay it is in that morning, None where no land is drawn. `coming`:
    the stays that begin on that day or later, each with a shift of net and house; empty where no land is
    drawn. `days`: those of the shifts, also where no ground is drawn or left; the first was due on `due_on`,
    earlier where it was missed. `done`: it is of the day itself, and written down. `none_on`: the first day
    of a shift for which no rested paddock is left. `corners_deg`: of each paddock to come by its name,
    longitude and latitude of its corners, one after the other."""

    net: str
    house: str
    now: NetStay | None
    coming: tuple[NetStay, ...]
    days: tuple[date, ...]
    due_on: date | None
    done: bool = False
    none_on: date | None = None
    corners_deg: Mapping[str, tuple[float, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Dunging:
    """Nutrients dropped on one ring on one day, kg. `spot`: stand, net, or house (the ground under it)."""

    field: str
    place: str
    ring: Ring
    on: date
    n_kg: float
    p_kg: float
    k_kg: float
    spot: Spot = "stand"


@dataclass(frozen=True, slots=True)
class Load:
    """Nutrients on a piece of ground from `first` up to `until`, kg to the hectare of that piece.

    `scope`: pass (one stay on one ring), stand, strip or field; `spot` None where all spots are summed.
    """

    scope: Scope
    where: str
    spot: Spot | None
    first: date
    until: date
    area_m2: float
    n_kg_per_ha: float
    p_kg_per_ha: float
    k_kg_per_ha: float


@dataclass(frozen=True, slots=True)
class HenGround:
    """A net's hens over one spell of days. `now_m2`, `life_m2`: square metres a hen, least at one time and
    over all paddocks used. `short`: whether they ran out of rested paddocks before the spell ended."""

    net: str
    stays: tuple[NetStay, ...]
    now_m2: float
    life_m2: float
    short: bool


@dataclass(frozen=True, slots=True)
class FarmGround:
    """All ground of a season. `laid`: a layout with its allotment for each size of shelter; the strips of the
    larger sizes are those they work, the smallest size's all that is left. `years`: by field and year."""

    laid: tuple[tuple[Layout, Ground], ...]
    paddocks: tuple[Paddock, ...]
    hens: tuple[HenGround, ...]
    passes: tuple[Load, ...]
    years: tuple[Load, ...]
