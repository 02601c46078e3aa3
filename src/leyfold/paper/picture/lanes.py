"""Places as lanes: how high each is, and where every ribbon lies in it. One scale for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Breach
from leyfold.nouns.season import Season
from leyfold.paper.picture.flow import Ribbon

__all__ = ["GROUPS", "Lane", "Lanes", "lay", "most"]

Floats = NDArray[np.float64]

GROUPS = ("incubator", "brooder", "shelter", "house")
ROOM = 360.0
"""Height that all lanes may take together at their fullest: what sets the scale."""
THICKEST = 0.62
"""A bird is never thicker than this."""
LEAST = 15.0
GAP = 7.0
HEADING = 20.0
TRACK = 19.0
"""Height of one row of breaches under a lane."""
SHOWN = 1.6
"""A limit on heads this many times above what comes is not drawn: it would leave the lane mostly empty."""


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    place: str
    kind: str
    top: float
    base: float
    """Ribbons stand on it and grow upwards."""
    most: float | None
    """The lowest limit on heads, where one is drawn."""
    since: date | None
    until: date | None
    tracks: tuple[tuple[Breach, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Lanes:
    lanes: tuple[Lane, ...]
    headings: tuple[tuple[str, float, float], ...]
    """Kind of place, top and bottom of its group."""
    px: float
    """Thickness of one bird or egg."""
    below: dict[Ribbon, Floats]
    """Heads beneath each ribbon on each of its days."""
    bottom: float


def lay(farm: Farm, season: Season, drawn: Sequence[Ribbon], top: float, day_px: float) -> Lanes:
    """Lanes from `top` down, in the order of the farm; `day_px` is how wide a day is."""
    places = [p for kind in GROUPS for p in season.places.values() if p.kind == kind]
    below: dict[Ribbon, Floats] = {}
    fullest: dict[str, float] = {}
    limit: dict[str, float | None] = {}
    for p in places:
        mine = [r for r in drawn if r.place == p.place]
        at_most = most(farm, p.place, p.kind)
        shown = at_most if at_most is not None and at_most <= SHOWN * float(p.heads.max()) else None
        under = _apart(mine) if shown is None else _heaped(mine)
        tops = [float((under[r] + r.total).max()) for r in mine]
        fullest[p.place], limit[p.place] = max([*tops, shown or 0.0]), shown
        below |= under
    px = min(THICKEST, ROOM / max(sum(fullest.values()), 1.0))
    lanes: list[Lane] = []
    headings: list[tuple[str, float, float]] = []
    y = top
    for kind in GROUPS:
        group = [p for p in places if p.kind == kind]
        start, y = y, y + (HEADING if group else 0.0)
        for p in group:
            base = y + max(LEAST, px * fullest[p.place])
            tracks = _tracks([b for b in season.breaches if b.where == p.place], day_px)
            kit = _kit(farm, p.place)
            lanes.append(Lane(p.place, kind, y, base, limit[p.place], *kit, tracks))
            y = base + GAP + len(tracks) * TRACK
        if group:
            headings.append((kind, start, y - GAP / 2))
    return Lanes(tuple(lanes), tuple(headings), px, below, y)


def _heaped(mine: Sequence[Ribbon]) -> dict[Ribbon, Floats]:
    """Each upon those beneath it, so that the top edge is all that is in the place and can be held against a
    limit. Who stays longest lies lowest: newcomers lift a ribbon, but none is ever dropped."""
    heap = np.zeros(max((r.end for r in mine), default=0))
    under = {}
    for ribbon in sorted(mine, key=lambda r: (-r.end, r.start)):
        days = slice(ribbon.start, ribbon.end)
        under[ribbon] = heap[days].copy()
        heap[days] += ribbon.total
    return under


def _apart(mine: Sequence[Ribbon]) -> dict[Ribbon, Floats]:
    """Each at the lowest level that is free for all its days, so that no ribbon is broken."""
    placed: list[tuple[Ribbon, float, float]] = []
    under = {}
    for ribbon in sorted(mine, key=lambda r: (r.start, r.batch)):
        high, low = float(ribbon.total.max()), 0.0
        beside = [p for p in placed if p[0].end > ribbon.start and ribbon.end > p[0].start]
        for _, bottom, top in sorted(beside, key=lambda p: p[1]):
            if bottom >= low + high:
                break
            low = max(low, top)
        placed.append((ribbon, low, low + high))
        under[ribbon] = np.full(len(ribbon.total), low)
    return under


def most(farm: Farm, place: str, kind: str) -> float | None:
    """The lowest limit in force on heads, or eggs, in one place."""
    floor = {shelter.id: shelter.floor_m2 for shelter in farm.shelters.values()}
    floor |= {house.id: house.floor_m2 for house in farm.houses.values()}
    found = []
    for limit in farm.limits:
        if limit.scope not in (place, kind):
            continue
        if limit.quantity in ("heads", "eggs"):
            found.append(limit.at_most)
        elif limit.quantity == "heads_per_m2" and place in floor:
            found.append(limit.at_most * floor[place])
    return min(found, default=None)


def _kit(farm: Farm, place: str) -> tuple[date | None, date | None]:
    for kind in (farm.incubators, farm.brooders, farm.shelters, farm.houses):
        if place in kind:
            return kind[place].since, kind[place].until
    return None, None


def _tracks(breaches: list[Breach], day_px: float) -> tuple[tuple[Breach, ...], ...]:
    """Breaches in as few rows as leave each the room for its words."""
    words_d = 190.0 / day_px
    rows: list[list[Breach]] = []
    for b in sorted(breaches, key=lambda b: (b.first, b.limit.id)):
        for row in rows:
            gone = (b.first - row[-1].first).days
            if gone > max(words_d, (row[-1].last - row[-1].first).days + 1):
                row.append(b)
                break
        else:
            rows.append([b])
    return tuple(map(tuple, rows))
