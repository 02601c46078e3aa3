"""What falls on the ground: N, P and K by pass, year and the mean of years, on stand, strip and field.

The spot under a hen house is kept apart from the net round it: spread over both, its load looks small.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

import shapely
from shapely.geometry import Polygon

from leyfold.nouns.land import (
    Dunging,
    Field,
    Footprint,
    Ground,
    Layout,
    Load,
    NetStay,
    Ring,
    Scope,
    Spot,
    rectangle,
)

__all__ = [
    "by_field",
    "by_pass",
    "by_stand",
    "by_strip",
    "from_nets",
    "from_shelters",
    "mean_of_years",
    "on_ring",
    "passed",
    "space",
]

Nutrients = tuple[float, float, float]
"""kg of N, P and K."""


def from_shelters(ground: Ground, dropped: Mapping[tuple[str, date], Nutrients]) -> tuple[Dunging, ...]:
    """What each shelter drops on a day, put on its stand; shared evenly where it moves more than once a day.

    KeyError for a day in use without a figure: missing is not zero. Days without a stand are left out: what
    is dropped then lies where the shelter was, a second time, and the caller knows of it by `runs_out`.
    """
    moves = Counter((a.shelter, a.on) for a in ground.days)
    got = []
    for a in ground.days:
        if a.stand is not None:
            n, p, k = (kg / moves[a.shelter, a.on] for kg in dropped[a.shelter, a.on])
            ring = a.stand.corners(ground.footprint)
            got.append(Dunging(a.stand.field, a.stand.id, ring, a.on, n, p, k))
    return tuple(got)


def from_nets(
    stays: Sequence[NetStay], dropped: Mapping[date, Nutrients], under_house: float, house: Footprint
) -> tuple[Dunging, ...]:
    """What hens drop inside netting: the share `under_house` (0-1) on the ground under the house, the rest in
    the net."""
    if not 0 <= under_house <= 1:
        raise ValueError("under_house is a share between 0 and 1")
    got = []
    for stay in stays:
        field, place, out = stay.paddock.field, stay.paddock.id, 1 - under_house
        for since in range((stay.span.until - stay.span.first).days):
            day = stay.span.first + timedelta(days=since)
            n, p, k = dropped[day]
            x, y = max((came, at) for came, at in stay.house if came <= day)[1]
            spot = rectangle(x, y, 0.0, house.length_m, house.width_m)
            got.append(Dunging(field, place, stay.paddock.ring, day, n * out, p * out, k * out, "net"))
            got.append(
                Dunging(
                    field,
                    f"{place}@{x:.1f},{y:.1f}",
                    spot,
                    day,
                    n * under_house,
                    p * under_house,
                    k * under_house,
                    "house",
                )
            )
    return tuple(got)


def by_pass(dunged: Iterable[Dunging]) -> tuple[Load, ...]:
    """One load for every unbroken stay on one ring: a missed move is twice the load on one stand."""
    loads = []
    ordered = sorted(dunged, key=lambda d: (d.place, d.spot, d.ring, d.on))
    for (place, spot, ring), own in groupby(ordered, key=lambda d: (d.place, d.spot, d.ring)):
        run: list[Dunging] = []
        for d in own:
            if run and d.on - run[-1].on > timedelta(days=1):
                loads.append(load("pass", place, spot, run, area_m2(ring)))
                run = []
            run.append(d)
        loads.append(load("pass", place, spot, run, area_m2(ring)))
    return tuple(sorted(loads, key=lambda entry: (entry.first, entry.where)))


def by_stand(dunged: Iterable[Dunging]) -> tuple[Load, ...]:
    """Year by year on each ring, spots apart."""
    return yearly("stand", dunged, lambda d: (d.place, d.spot), lambda own: area_m2(own[0].ring))


def by_strip(dunged: Iterable[Dunging], layout: Layout) -> tuple[Load, ...]:
    """Year by year on each strip of a layout, over the whole strip."""
    strip_of = {stand.id: strip for strip in layout.strips for stand in strip.stands}
    own = [d for d in dunged if d.place in strip_of]
    return yearly(
        "strip",
        own,
        lambda d: (strip_of[d.place].id, None),
        lambda some: len(strip_of[some[0].place].stands) * layout.footprint.area_m2,
    )


def by_field(dunged: Iterable[Dunging], fields: Iterable[Field]) -> tuple[Load, ...]:
    """Year by year on each field, over the whole field as drawn."""
    areas = {f.id: Polygon(f.outer, f.holes).area for f in fields}
    return yearly("field", dunged, lambda d: (d.field, None), lambda own: areas[own[0].field])


def mean_of_years(loads: Iterable[Load], last: int, known_since: int, years: int = 5) -> tuple[Load, ...]:
    """The mean of the `years` up to and with `last`, for each place among yearly loads.

    Years before `known_since` are unknown, not empty: the mean is over those on record, and the load's span
    says how many they are. A year on record without a load counts as none. ValueError when none is known.
    """
    since = max(last - years + 1, known_since)
    if since > last:
        raise ValueError(f"nothing is known up to {last}")
    span, places = last - since + 1, defaultdict(list)
    for entry in loads:
        if since <= entry.first.year <= last:
            places[entry.scope, entry.where, entry.spot].append(entry)
    return tuple(
        Load(
            scope,
            where,
            spot,
            date(since, 1, 1),
            date(last + 1, 1, 1),
            own[0].area_m2,
            sum(e.n_kg_per_ha for e in own) / span,
            sum(e.p_kg_per_ha for e in own) / span,
            sum(e.k_kg_per_ha for e in own) / span,
        )
        for (scope, where, spot), own in places.items()
    )


def on_ring(ring: Ring, dunged: Sequence[Dunging], first: date, until: date) -> Load:
    """All that fell on a ring from `first` up to `until`, wherever the stands of those days lay.

    Each dunging counts by the share of its own ring that lies within.
    """
    shape = Polygon(ring)
    some = [d for d in dunged if first <= d.on < until]
    n = p = k = 0.0
    rings = [Polygon(d.ring) for d in some]
    for i in shapely.STRtree(rings).query(shape, predicate="intersects"):
        share = shapely.intersection(shape, rings[i], grid_size=1e-6).area / rings[i].area
        n, p, k = n + share * some[i].n_kg, p + share * some[i].p_kg, k + share * some[i].k_kg
    per = 1e4 / shape.area
    return Load("stand", "", None, first, until, shape.area, n * per, p * per, k * per)


def passed(loads: Iterable[Load], nutrient: str, at_most_kg_per_ha: float) -> tuple[Load, ...]:
    """The loads above a limit, the worst first. `nutrient`: n, p or k."""

    def of(entry: Load) -> float:
        return float(getattr(entry, f"{nutrient}_kg_per_ha"))

    return tuple(sorted((e for e in loads if of(e) > at_most_kg_per_ha), key=lambda e: -of(e)))


def space(ground: Ground, shelter: str, heads: Mapping[date, float]) -> tuple[float, float]:
    """Square metres a bird in one shelter: least at one time, and over all the days given.

    A closed shelter moved daily gives much over a life and little at once; rules ask for either or both.
    `heads` by day at its start, for the days counted. ValueError when none of them has a stand.
    """
    days = [a for a in ground.days if a.shelter == shelter and a.stand is not None and a.on in heads]
    counted = [a for a in days if heads[a.on] > 0]
    if not counted:
        raise ValueError(f"no day of {shelter} with birds and a stand")
    area = ground.footprint.area_m2
    most = max(heads[a.on] for a in counted)
    return area / most, area * len({a.stand for a in counted}) / most


def yearly(
    scope: Scope,
    dunged: Iterable[Dunging],
    key: Callable[[Dunging], tuple[str, Spot | None]],
    area: Callable[[list[Dunging]], float],
) -> tuple[Load, ...]:
    """Loads by calendar year, grouped by `key`, each over its `area`."""
    groups: dict[tuple[int, str, Spot | None], list[Dunging]] = defaultdict(list)
    for d in dunged:
        groups[d.on.year, *key(d)].append(d)
    return tuple(
        load(scope, where, spot, own, area(own), (date(year, 1, 1), date(year + 1, 1, 1)))
        for (year, where, spot), own in groups.items()
    )


def load(
    scope: Scope,
    where: str,
    spot: Spot | None,
    own: Sequence[Dunging],
    m2: float,
    span: tuple[date, date] | None = None,
) -> Load:
    """The sum of some dungings over an area; from the first day to the last where no span is given."""
    first, until = span or (own[0].on, own[-1].on + timedelta(days=1))
    per = 1e4 / m2
    n, p, k = (sum(getattr(d, f"{x}_kg") for d in own) * per for x in "npk")
    return Load(scope, where, spot, first, until, m2, n, p, k)


def area_m2(ring: Ring) -> float:
    """Area inside a ring."""
    return float(Polygon(ring).area)
