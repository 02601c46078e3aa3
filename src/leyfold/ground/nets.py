"""Fields -> paddocks: ground fenced by the rolls owned, piece after piece, and the hens' stays in them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from datetime import date, timedelta
from functools import lru_cache
from itertools import pairwise
from math import cos, degrees, pi, radians, sin, sqrt

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from leyfold.ground.inset import GRID_M, inset, polygons
from leyfold.ground.search import apart, edge_directions, edges_of
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Exclusion, Field, Grazed, Land, NetStay, Paddock, Point, Ring, Span

__all__ = ["fence", "house_places", "next_paddock", "next_shift", "room", "stays"]

LEAST_SIDE_M = 2.0
"""A shorter side is no use: less than the distance between two posts of a net."""

STRETCH = 1.15
"""A paddock may be this much larger than wished, so that no strip end is left over."""

NEAR_BEST = 0.98
"""Of ways that fence so much of the most that can be, the one with most sides shared is taken."""

ROUNDING_M2 = 0.01
"""What areas summed in another order may differ by."""


def always(_: date) -> bool:
    """Whether a net may be shifted, where any day will do."""
    return True


def fence(
    land: Land,
    area_m2: float,
    net_m: float,
    *,
    exclusions: Mapping[str, tuple[Exclusion, ...]] | None = None,
) -> tuple[Paddock, ...]:
    """Paddocks of at least `area_m2`, none longer round than `net_m` of netting, in the order to be worked.

    In each field the direction and the number of strips that fence most ground, and among those that come
    within 2 % of it the one whose paddocks share most side, each with the next, so that least netting is
    shifted. Ground that holds no whole paddock is left. ValueError where the netting cannot enclose the area.
    """
    if not (area_m2 > 0 and net_m >= 4 * sqrt(area_m2)):
        raise ValueError(f"{net_m:g} m of netting encloses at most {(net_m / 4) ** 2:.0f} m2 as a rectangle")
    got: list[Paddock] = []
    for field in land.fields:
        ways = best_ways(turned(field, (exclusions or {}).get(field.id, ())), area_m2, net_m)
        good = [(angle, *in_order(pieces)) for angle, pieces in ways]
        if not good:
            continue
        angle, order, sides = max(good, key=lambda way: round(sum(way[2]) / len(way[2]), 1))
        for k, (piece, side) in enumerate(zip(order, sides, strict=True)):
            ring = tuple(rotate(piece, degrees(angle), origin=(0, 0)).exterior.coords)[:-1]
            got.append(Paddock(f"{field.id}/n{k + 1}", field.id, ring, piece.area, piece.length, side))
    return tuple(got)


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """The ground of a field turned so that strips in one direction, `angle_rad`, run along +x. Its strips are
    kept once they are cut: they hang on no size of paddock, which a death may change."""

    angle_rad: float
    flat: shapely.MultiPolygon
    _strips: dict[int, list[list[Polygon]]] = dataclass_field(default_factory=dict)

    def in_strips(self, many: int) -> list[list[Polygon]]:
        """So many strips of equal width, each in parts without holes."""
        if many not in self._strips:
            x0, y0, x1, y1 = self.flat.bounds
            marks = np.linspace(y0, y1, many + 1)
            strips = shapely.intersection(self.flat, shapely.box(x0, marks[:-1], x1, marks[1:]))
            self._strips[many] = [
                [whole for part in polygons(strip) for whole in without_holes(part)] for strip in strips
            ]
        return self._strips[many]


_TURNED: Kept[tuple[Turned, ...]] = Kept(32)


def turned(field: Field, exclusions: tuple[Exclusion, ...]) -> tuple[Turned, ...]:
    """The ground of a field, off what is excluded besides, in each direction worth trying; () without any."""
    return _TURNED.get((field, exclusions), lambda: tuple(_turned(field, exclusions)))


def _turned(field: Field, exclusions: tuple[Exclusion, ...]) -> Iterator[Turned]:
    ground = inset(field, exclusions=exclusions)
    for angle in directions(field):
        flat = shapely.set_precision(rotate(ground, -degrees(angle), origin=(0, 0)), GRID_M)
        if not flat.is_empty:
            yield Turned(angle, flat)


def best_ways(grounds: Sequence[Turned], area_m2: float, net_m: float) -> list[tuple[float, list[Polygon]]]:
    """Directions and their pieces that fence most ground, or within `NEAR_BEST` of it, in the order tried."""
    ways = [
        (ground.angle_rad, ground.in_strips(many))
        for ground in grounds
        for many in strip_counts(ground.flat.bounds, area_m2, net_m)
    ]
    bounds = [sum(fenced_m2(part.area, area_m2) for strip in strips for part in strip) for _, strips in ways]
    found: dict[int, tuple[float, list[Polygon]]] = {}
    most = 0.0
    # The most promising first: what cannot come near the best is not cut at all.
    for k in sorted(range(len(ways)), key=lambda k: -bounds[k]):
        if bounds[k] < NEAR_BEST * most - ROUNDING_M2:
            break
        pieces = cut(ways[k][1], area_m2, net_m)
        found[k] = round(sum(p.area for p in pieces), 3), pieces
        most = max(most, found[k][0])
    return [(ways[k][0], found[k][1]) for k in sorted(found) if found[k][0] >= NEAR_BEST * most > 0]


def directions(field: Field) -> list[float]:
    """The field's main edges and their squares."""
    edges = edge_directions(field.outer)[:4]
    if field.contour_deg is not None:
        edges.append(radians(field.contour_deg))
    kept: list[float] = []
    for angle in (*edges, *(edge + pi / 2 for edge in edges)):
        if all(apart(angle, other) > radians(2) for other in kept):
            kept.append(angle)
    return kept


def strip_counts(bounds: tuple[float, ...], area_m2: float, net_m: float) -> list[int]:
    """How many strips across leave them of a width that the netting allows; one too many when none does."""
    across = bounds[3] - bounds[1]
    half = net_m / 2
    reach = sqrt(half * half / 4 - area_m2)
    most, least = half / 2 + reach, half / 2 - reach
    few = max(int(np.ceil(across / most - 1e-9)), 1)
    many = max(int(across / least), few)
    square = across / sqrt(area_m2)
    return sorted(range(few, many + 1), key=lambda n: abs(n - square))[:6]


def cut(strips: Sequence[Sequence[Polygon]], area_m2: float, net_m: float) -> list[Polygon]:
    """Pieces of one area that the netting goes round, up one strip and down the next."""
    pieces: list[Polygon] = []
    for k, strip in enumerate(strips):
        along = [piece for part in strip for piece in cut_across(part, area_m2)]
        along.sort(key=lambda p: p.centroid.x, reverse=bool(k % 2))
        pieces += [p for p in along if p.area >= area_m2 * (1 - 1e-6) and p.length <= net_m + 1e-6]
    return pieces


def without_holes(part: Polygon) -> list[Polygon]:
    """The part cut across through the middle of each hole: a net round a pond would fence it in."""
    if not part.interiors:
        return [part]
    x0, y0, x1, y1 = part.bounds
    x = part.interiors[0].centroid.x
    halves = polygons(part.intersection(box(x0, y0, x, y1))) + polygons(part.intersection(box(x, y0, x1, y1)))
    return [p for half in halves for p in without_holes(half)]


def fenced_m2(ground_m2: float, area_m2: float) -> float:
    """What `cut_across` fences of one part, where the netting allows it."""
    return min(ground_m2, int(ground_m2 / area_m2 + 1e-9) * area_m2 * STRETCH)


def cut_across(part: Polygon, area_m2: float) -> list[Polygon]:
    """Pieces of equal area one after the other along x; an end is left where they would grow too big."""
    many = int(part.area / area_m2 + 1e-9)
    if many == 0:
        return []
    return [p for piece in _across(part, fenced_m2(part.area, area_m2) / many, many) for p in polygons(piece)]


def _across(part: Polygon, each_m2: float, many: int) -> Iterable[BaseGeometry]:
    """The first `many` times `each_m2` of a part along x."""
    x0, y0, _, y1 = part.bounds
    marks = np.array([x0, *levels(part, each_m2 * np.arange(1.0, many + 1.0))])
    found: Iterable[BaseGeometry] = shapely.intersection(part, shapely.box(marks[:-1], y0, marks[1:], y1))
    return found


def levels(part: Polygon, targets_m2: NDArray[np.float64]) -> list[float]:
    """The x up to which each target of area lies."""
    edges = edges_of(part).turned(-pi / 2)  # +y is now the old x
    corners = np.unique(edges.y0)
    low, high = (np.full(len(targets_m2), k) for k in (0, len(corners) - 1))
    while (high - low).max() > 1:
        middle = (low + high) // 2
        less = edges.below_m2(corners[middle]) < targets_m2
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    # From one corner to the next the area goes by the square of the way: three places tell how.
    a, b = corners[low], corners[high]
    begin, half, end = (edges.below_m2(x) for x in (a, (a + b) / 2, b))
    bend = 2.0 * (begin + end - 2.0 * half)
    slope = end - begin - bend
    wanted = targets_m2 - begin
    root = slope + np.sqrt(np.maximum(slope * slope + 4.0 * bend * wanted, 0.0))
    share = np.where(root > 0, 2.0 * wanted / np.where(root > 0, root, 1.0), 1.0)
    return [float(x) for x in a + (b - a) * np.clip(share, 0.0, 1.0)]


def in_order(pieces: list[Polygon]) -> tuple[list[Polygon], list[float]]:
    """Pieces so ordered that each shares a side with the next where that can be; the sides shared, first 0.

    Of three orders the one with fewest breaks, then most side shared: up one strip and down the next; always
    over the longest side; always to the neighbour with fewest neighbours left, so that none is cut off.
    """
    if not pieces:
        return [], []
    sides = np.zeros((len(pieces), len(pieces)))
    for i, j in shapely.STRtree(pieces).query(pieces, predicate="intersects").T:
        if i < j:
            sides[i, j] = sides[j, i] = pieces[i].exterior.intersection(pieces[j].exterior).length
    sides[sides < LEAST_SIDE_M] = 0.0
    orders = [
        list(range(len(pieces))),
        walked(pieces, sides, last_first=False),
        walked(pieces, sides, last_first=True),
    ]
    along = [[0.0, *(float(sides[i, j]) for i, j in pairwise(order))] for order in orders]
    best = min(range(3), key=lambda k: (along[k].count(0.0), -round(sum(along[k]), 1)))
    return [pieces[i] for i in orders[best]], along[best]


def walked(pieces: list[Polygon], sides: NDArray[np.float64], *, last_first: bool) -> list[int]:
    """From the first piece over shared sides, to the nearest where there is none left.

    `last_first`: the neighbour with fewest neighbours left goes first (Warnsdorff's rule).
    """
    free, at, order = set(range(1, len(pieces))), 0, [0]
    while free:
        beside = [j for j in free if sides[at, j] > 0]
        if beside:
            ways = {j: sum(1 for k in free if sides[j, k] > 0) if last_first else 0 for j in beside}
            at = min(beside, key=lambda j: (ways[j], -round(sides[at, j], 3), j))
        else:
            at = min(free, key=lambda j: (round(pieces[at].distance(pieces[j]), 3), j))
        free.remove(at)
        order.append(at)
    return order


@lru_cache(maxsize=256)
def house_places(ring: Ring, many: int) -> tuple[Point, ...]:
    """Places for the house in a paddock: the middles of `many` parts of equal area along its long side."""
    shape = Polygon(ring)
    corners = np.asarray(shape.minimum_rotated_rectangle.exterior.coords)
    sides = np.diff(corners[:3], axis=0)
    dx, dy = sides[int(np.argmax(np.hypot(*sides.T)))]
    angle = float(np.arctan2(dy, dx))
    flat = rotate(shape, -degrees(angle), origin=(0, 0))
    places = []
    for part in _across(flat, shape.area / many, many):
        piece = max(polygons(part), key=lambda p: p.area)
        at = piece.centroid if piece.contains(piece.centroid) else piece.representative_point()
        places.append((cos(angle) * at.x - sin(angle) * at.y, sin(angle) * at.x + cos(angle) * at.y))
    return tuple(places)


def stays(
    paddocks: Sequence[Paddock],
    first: date,
    until: date,
    *,
    shift_days: int,
    house_days: int,
    rest_days: int,
    fields: tuple[Field, ...] = (),
    before: Mapping[str, date] | None = None,
    after: str | None = None,
    grazed: Sequence[Grazed] = (),
    moving: Callable[[date], bool] = always,
    begun_before: date = date.max,
) -> tuple[NetStay, ...]:
    """The hens' stays from `first` up to `until`: paddock after paddock, none again before it has rested.

    `before`: by paddock, the day hens last left it; `after`: the paddock they come from. `next_paddock` says
    which paddocks are passed over, and what `grazed` by cattle does. Net and house stand still on days that
    are not `moving`. Ends early when no rested paddock is left; the last stay's end then says when. Stays
    begun on `begun_before` or later are left out.
    """
    left = dict(before or {})
    got: list[NetStay] = []
    day = first
    while day < min(until, begun_before):
        end = min(next_shift(day, shift_days, moving), until)
        paddock = next_paddock(
            paddocks, day, end, after=after, rest_days=rest_days, left=left, fields=fields, grazed=grazed
        )
        if paddock is None:
            break
        days = (day + timedelta(days=n) for n in range(0, (end - day).days, house_days))
        moves = [on for on in days if on == day or moving(on)]
        places = house_places(paddock.ring, len(moves))
        got.append(NetStay(paddock, Span(day, end), tuple(zip(moves, places, strict=True))))
        left[paddock.id] = end
        day, after = end, paddock.id
    return tuple(got)


def next_shift(day: date, shift_days: int, moving: Callable[[date], bool] = always) -> date:
    """The day on which a net put up on `day` is due to be shifted: the first `moving` one from then on; a
    year later where there is none."""
    due = day + timedelta(days=shift_days)
    later = (due + timedelta(days=n) for n in range(366))
    return next((on for on in later if moving(on)), due + timedelta(days=366))


def next_paddock(
    paddocks: Sequence[Paddock],
    first: date,
    until: date,
    *,
    after: str | None,
    rest_days: int,
    left: Mapping[str, date],
    fields: tuple[Field, ...] = (),
    grazed: Sequence[Grazed] = (),
) -> Paddock | None:
    """Where the net goes on `first` until `until`: of the paddocks that are rested, not shut for hay on any
    of those days and not under cattle, one that cattle left as many days ago as their dung wants (larvae fat,
    no flies yet); else one they have not been on lately; else one they only just left. Among equals the next
    after `after`. None where there is none."""
    hay = {f.id: f.hay_shut for f in fields}
    following = next((i + 1 for i, p in enumerate(paddocks) if p.id == after), 0)
    order = [*range(following, len(paddocks)), *range(following)]
    fit = [paddocks[i] for i in order if _open(paddocks[i], first, until, rest_days, left, hay)]
    ranks = [(rank, k) for k, p in enumerate(fit) if (rank := _behind(p, first, grazed)) is not None]
    return fit[min(ranks)[1]] if ranks else None


def _behind(paddock: Paddock, day: date, grazed: Sequence[Grazed]) -> int | None:
    """0 where cattle went so many days before `day` as is wanted, 1 where they were not lately, 2 too soon
    behind them or somewhere in their field, None where they stand."""
    ranks = [1]
    for g in grazed:
        if g.where not in (paddock.id, paddock.field) or g.first > day:
            continue
        if g.until is None or g.until > day:
            if g.where == paddock.id:
                return None
            ranks.append(2)
        else:
            gone = (day - g.until).days
            ranks.append(2 if gone < g.first_d else 0 if gone <= g.last_d else 1)
    return 2 if 2 in ranks else min(ranks)


def _open(
    paddock: Paddock,
    first: date,
    until: date,
    rest_days: int,
    left: Mapping[str, date],
    hay: Mapping[str, tuple[Span, ...]],
) -> bool:
    gone = left.get(paddock.id)
    rested = gone is None or (first - gone).days >= rest_days
    return rested and not any(s.first < until and first < s.until for s in hay.get(paddock.field, ()))


def room(stays: Sequence[NetStay], hens: float) -> tuple[float, float]:
    """Square metres a hen: least inside the netting at one time, and over the flock's life.

    The two readings differ and rules ask for either or both. ValueError without stays or hens.
    """
    if not stays or not hens > 0:
        raise ValueError("room wants hens and at least one stay")
    over_life = {stay.paddock.id: stay.paddock.area_m2 for stay in stays}
    return min(stay.paddock.area_m2 for stay in stays) / hens, sum(over_life.values()) / hens
