"""Farm, season, land -> the whole ground: every size of shelter, every net, and what falls on it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import ceil, sqrt
from types import MappingProxyType

import numpy as np

from leyfold.ground.again import lay_again
from leyfold.ground.allot import allot, treads
from leyfold.ground.ledger import Nutrients, by_field, by_pass, from_nets, from_shelters
from leyfold.ground.nets import fence, room, stays
from leyfold.ground.stands import lay_out
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import NET_REST_D, Farm, Net
from leyfold.nouns.land import (
    Allotment,
    Dunging,
    Exclusion,
    FarmGround,
    Footprint,
    Ground,
    HenGround,
    Land,
    Layout,
    NetStay,
    Occupation,
    Paddock,
    Tread,
    rectangle,
)
from leyfold.nouns.season import Season
from leyfold.season.grazing import grass_grows
from leyfold.season.hens_ground import least_m2
from leyfold.words import say

__all__ = [
    "laid_again", "net_stays", "paddocks_of", "shelters_laid", "spells",
    "strips_taken", "whole_ground", "wished_m2",
]  # fmt: skip

PADDOCK_M2_A_HEN = 10.0
"""Bare soil grew at 5 m2 a hen and not at 10: Heckendorn et al., four Swiss sites (orgprints 15621)."""
LEAST_PADDOCK_M2 = 150.0
"""About what one roll encloses."""
PADDOCK_STEP_M2 = 50.0
HOUSE_SIDES = 2.5
"""A hen house is taken to be this many times as long as wide: only its floor is known. Guess."""


def whole_ground(
    farm: Farm,
    season: Season,
    land: Land,
    *,
    rest_days: int = 365,
    net_rest_days: int = NET_REST_D,
    paddock_m2: float | None = None,
    before: Sequence[Tread] = (),
    on: date | None = None,
    standing: Mapping[str, str] = MappingProxyType({}),
) -> FarmGround:
    """The stand of every shelter in use, and the paddock of every net, on every day of the season.

    Shelters come first, the largest size first; nets take what they leave. `paddock_m2`: else ten a hen.
    `before`: ground used in years before. `standing`: the stand (`field/strip.peg`) on which a shelter really
    is on the morning of `on`, where moves were missed; from then on the ground is laid again. BadInput for a
    shelter or stand that is none.
    """
    laid = shelters_laid(farm, season, land, rest_days, before)
    if on is not None and standing:
        laid = laid_again(farm, season, land, laid, before, on, standing)
    dunged = [d for _, ground in laid for d in from_shelters(ground, dropped(season, ground))]
    paddocks: list[Paddock] = []
    hens: list[HenGround] = []
    taken = strips_taken(laid)
    for net in farm.nets.values():
        found = paddocks_of(farm, net, season, land, taken, paddock_m2)
        paddocks += found
        own, more = hens_on(farm, season, net, found, land, net_rest_days)
        hens += own
        dunged += more
    return FarmGround(laid, tuple(paddocks), tuple(hens), by_pass(dunged), by_field(dunged, land.fields))


def hens_on(
    farm: Farm, season: Season, net: Net, paddocks: Sequence[Paddock], land: Land, rest_days: int
) -> tuple[list[HenGround], list[Dunging]]:
    """The stays of one net's hens, spell after spell, and what they drop."""
    hens: list[HenGround] = []
    dunged: list[Dunging] = []
    house = net.house or ""
    for first, until in spells(season, house):
        own = net_stays(farm, net, paddocks, land, first, until, rest_days)
        if own:
            now, life = room(own, most_heads(season, house, first, until))
            hens.append(HenGround(net.id, own, now, life, own[-1].span.until < until))
            dunged += from_nets(own, nutrients(season, house), *under_house(farm, net))
    return hens, dunged


def paddocks_of(
    farm: Farm,
    net: Net,
    season: Season,
    land: Land,
    taken: Mapping[str, tuple[Exclusion, ...]],
    paddock_m2: float | None = None,
    cut: Callable[..., tuple[Paddock, ...]] = fence,
) -> tuple[Paddock, ...]:
    """The ground that one net can be put round, off what is `taken`; ten square metres a hen, or as wished.
    `cut` is `fence`, or one that remembers its paddocks."""
    return cut(land, paddock_m2 or wished_m2(farm, net, season), net.rolls * net.roll_m, exclusions=taken)


def net_stays(
    farm: Farm, net: Net, paddocks: Sequence[Paddock], land: Land, first: date, until: date, rest_days: int
) -> tuple[NetStay, ...]:
    """The stays of one spell as the season plans them; net and house stand still while no grass grows."""
    return stays(
        paddocks,
        first,
        until,
        shift_days=net.stay_d,
        house_days=1,
        rest_days=rest_days,
        fields=land.fields,
        moving=lambda day: grass_grows(farm, day),
    )


def shelters_laid(
    farm: Farm,
    season: Season,
    land: Land,
    rest_days: int,
    used: Sequence[Tread],
    lay: Callable[..., Layout] = lay_out,
) -> tuple[tuple[Layout, Ground], ...]:
    """Each size of shelter on the ground the larger sizes leave; what a size leaves is kept with the last.
    `lay` is `lay_out`, or one that remembers its layouts."""
    sizes: dict[tuple[float, float], list[str]] = defaultdict(list)
    for shelter in farm.shelters.values():
        sizes[shelter.length_m, shelter.width_m].append(shelter.id)
    laid: list[tuple[Layout, Ground]] = []
    ordered = sorted(sizes.items(), key=lambda size: -size[0][0] * size[0][1])
    for k, ((length, width), names) in enumerate(ordered):
        uses = [use for name in names for use in occupations(farm, season, name)]
        numbered = 1 + max((int(s.id.rpartition("/")[2]) for lay, _ in laid for s in lay.strips), default=0)
        footprint = Footprint("+".join(names), length, width)
        layout = lay(land, footprint, exclusions=strips_taken(laid), numbered_from=numbered)
        ground = allot(layout, uses, rest_days=rest_days, before=used, fields=land.fields)
        if k < len(ordered) - 1:
            worked = {a.stand.strip for a in ground.days if a.stand}
            layout = replace(layout, strips=tuple(s for s in layout.strips if s.id in worked))
        laid.append((layout, ground))
    return tuple(laid)


def laid_again(
    farm: Farm,
    season: Season,
    land: Land,
    laid: Sequence[tuple[Layout, Ground]],
    used: Sequence[Tread],
    on: date,
    standing: Mapping[str, str],
) -> tuple[tuple[Layout, Ground], ...]:
    """The days from `on` laid again from where some shelters really stand; the days before as they were."""
    stands = [{stand.id: stand for strip in layout.strips for stand in strip.stands} for layout, _ in laid]
    sizes = [set(layout.footprint.id.split("+")) for layout, _ in laid]
    wrong = [
        (name, peg)
        for name, peg in standing.items()
        if not any(name in size and peg in own for size, own in zip(sizes, stands, strict=True))
    ]
    if wrong:
        raise BadInput(*(_no_stand(name, peg) for name, peg in wrong))
    result = []
    for (layout, ground), own, names in zip(laid, stands, sizes, strict=True):
        if any(name in names for name in standing):
            uses = [use for name in sorted(names) for use in occupations(farm, season, name)]
            eve = on - timedelta(days=1)
            planned = {a.shelter: a.stand for a in ground.days if a.on == eve and a.stand is not None}
            there = planned | {name: own[peg] for name, peg in standing.items() if name in names}
            past = [a for a in ground.days if a.on < on and not _missed(a, ground, standing)]
            now = [Tread(s.corners(ground.footprint), eve, name) for name, s in there.items()]
            before = (*used, *treads(replace(ground, days=tuple(past))), *now)
            again = lay_again(layout, ground, there, on, uses, before=before, fields=land.fields)
            ground = replace(again, days=(*past, *again.days))
        result.append((layout, ground))
    return tuple(result)


def _missed(day: Allotment, ground: Ground, standing: Mapping[str, str]) -> bool:
    """A day planned after the one on which the shelter reached the stand it is still on."""
    peg = standing.get(day.shelter)
    reached = [
        a.on for a in ground.days if a.shelter == day.shelter and a.stand is not None and a.stand.id == peg
    ]
    return peg is not None and any(on < day.on for on in reached)


def _no_stand(shelter: str, peg: str) -> Fault:
    wrong, mend = say("stands.no_stand", shelter=shelter, peg=peg), say("stands.no_stand_mend")
    return Fault("leyfold ground", "--stands", wrong, mend)


def strips_taken(laid: Sequence[tuple[Layout, Ground]]) -> dict[str, tuple[Exclusion, ...]]:
    """The strips worked, as ground that others keep off."""
    taken: dict[str, list[Exclusion]] = defaultdict(list)
    for layout, ground in laid:
        worked = {a.stand.strip for a in ground.days if a.stand}
        for strip in layout.strips:
            if strip.id in worked:
                a, b = strip.stands[0], strip.stands[-1]
                long = len(strip.stands) * layout.footprint.length_m
                x, y = (a.x_m + b.x_m) / 2, (a.y_m + b.y_m) / 2
                ring = rectangle(x, y, strip.angle_deg, long, layout.footprint.width_m)
                taken[strip.field].append(Exclusion(strip.id, "other", "ring", ring))
    return {field: tuple(rings) for field, rings in taken.items()}


def occupations(farm: Farm, season: Season, shelter: str) -> list[Occupation]:
    """When a shelter has birds, and how often it wants fresh ground."""
    moves = farm.shelters[shelter].moves_per_day
    every, times = max(round(1 / moves), 1), max(round(moves), 1)
    return [Occupation(shelter, a, b, every, times) for a, b in spells(season, shelter)]


def spells(season: Season, place: str) -> list[tuple[date, date]]:
    """The unbroken spells of days on which a place has birds, half-open."""
    if place not in season.places:
        return []
    there = np.concatenate(([False], season.places[place].heads > 0, [False]))
    edges = np.flatnonzero(there[1:] != there[:-1]).tolist()
    return [(season.day(a), season.day(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def nutrients(season: Season, place: str) -> dict[date, Nutrients]:
    """kg of N, P and K dropped in a place on each day."""
    lots = [i for i, lot in enumerate(season.lots) if lot.place == place]
    kg = np.stack([getattr(season, f"{x}_kg")[lots].sum(axis=0) for x in "npk"])
    return {season.day(i): (float(n), float(p), float(k)) for i, (n, p, k) in enumerate(kg.T)}


def dropped(season: Season, ground: Ground) -> dict[tuple[str, date], Nutrients]:
    """What each shelter of an allotment drops on each day."""
    shelters = {a.shelter for a in ground.days}
    return {(name, day): kg for name in shelters for day, kg in nutrients(season, name).items()}


def wished_m2(farm: Farm, net: Net, season: Season) -> float:
    """A paddock for the most hens the house ever holds, as large as the net's limits ask for, no larger than
    the netting goes round with ease. Up to whole fifties of square metres: few deaths move the pegs."""
    place = season.places.get(net.house or "")
    hens = float(place.heads.max()) if place is not None else 0.0
    wished = max(PADDOCK_M2_A_HEN * hens, LEAST_PADDOCK_M2, least_m2(farm, net, season))
    return min(PADDOCK_STEP_M2 * ceil(wished / PADDOCK_STEP_M2), net.most_m2)


def most_heads(season: Season, place: str, first: date, until: date) -> float:
    """The most birds in a place on any day of a spell."""
    return float(season.places[place].heads[season.index(first) : season.index(until)].max())


def under_house(farm: Farm, net: Net) -> tuple[float, Footprint]:
    """The share of dung dropped in the house, and the ground it falls on."""
    floor = farm.houses[net.house or ""].floor_m2
    wide = sqrt(floor / HOUSE_SIDES)
    shares = [line.hen.night_share_of_dung.value for line in farm.lines.values()]
    return max(shares), Footprint(net.house or "", HOUSE_SIDES * wide, wide)
