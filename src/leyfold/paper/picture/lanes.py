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
    below = {ribbon: under for place in season.places for ribbon, under in _stacked(drawn, place)}
    places = [p for kind in GROUPS for p in season.places.values() if p.kind == kind]
    fullest = {
        p.place: max((float((below[r] + r.total).max()) for r in drawn if r.place == p.place), default=0.0)
        for p in places
    }
    limit = {p.place: most(farm, p.place, p.kind) for p in places}
    for name, peak in fullest.items():
        found = limit[name]
        if found is not None and found <= SHOWN * peak:
            fullest[name] = max(peak, found)
        else:
            limit[name] = None
    px = min(THICKEST, ROOM / max(sum(fullest.values()), 1.0))
    lanes: list[Lane] = []
    headings: list[tuple[str, float, float]] = []
    y = top
    for kind in GROUPS:
        mine = [p for p in places if p.kind == kind]
        start, y = y, y + (HEADING if mine else 0.0)
        for p in mine:
            base = y + max(LEAST, px * fullest[p.place])
            tracks = _tracks([b for b in season.breaches if b.where == p.place], day_px)
            kit = _kit(farm, p.place)
            lanes.append(Lane(p.place, kind, y, base, limit[p.place], *kit, tracks))
            y = base + GAP + len(tracks) * TRACK
        if mine:
            headings.append((kind, start, y - GAP / 2))
    return Lanes(tuple(lanes), tuple(headings), px, below, y)


def _stacked(drawn: Sequence[Ribbon], place: str) -> list[tuple[Ribbon, Floats]]:
    """Who stays longest lies lowest: then ribbons are lifted by newcomers, but never dropped, and the top
    edge is all that is in the place."""
    mine = sorted((r for r in drawn if r.place == place), key=lambda r: (-r.end, r.start))
    heap = np.zeros(max((r.end for r in mine), default=0))
    out = []
    for ribbon in mine:
        days = slice(ribbon.start, ribbon.end)
        out.append((ribbon, heap[days].copy()))
        heap[days] += ribbon.total
    return out


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
