"""Each shelter's move of a day in words: from peg to peg, which way, how many paces."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from leyfold.ground.told import PACE_M, gap_told, way
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import Allotment, Ground, Layout, SkirtGap, Stand
from leyfold.nouns.record import State
from leyfold.nouns.round import Laid, Move
from leyfold.words import say
from leyfold.words.forms import number

__all__ = ["by_eye", "laid"]


def laid(
    farm: Farm,
    ground: Sequence[tuple[Layout, Ground]],
    first: date,
    until: date,
    gaps: Mapping[tuple[str, date], SkirtGap | None],
) -> dict[tuple[str, date], Laid]:
    """What the ground says of every shelter on the days `first` up to `until` on which it is in use. `gaps`
    under the skirt by shelter and day, where heights are known."""
    found: dict[tuple[str, date], Laid] = {}
    for _, one in ground:
        days: dict[str, dict[date, list[Allotment]]] = defaultdict(lambda: defaultdict(list))
        for a in one.days:
            days[a.shelter][a.on].append(a)
        for shelter, own in days.items():
            for on in sorted(d for d in own if first <= d < until):
                before = own.get(on - timedelta(days=1))
                at = before[-1].stand if before else None
                key = (shelter, on)
                boards = tuple(gap_told(shelter, gaps[key], own[on][0].stand)) if key in gaps else ()
                found[key] = Laid(replace(_move(farm, own[on], at), boards=boards), _left(own, on))
    return found


def by_eye(farm: Farm, shelter: str, state: State) -> Move:
    """The move of a shelter whose ground is not drawn."""
    times = max(round(farm.shelters[shelter].moves_per_day), 1)
    standing = state.stands.get(shelter)
    before = None if standing is None else standing.stand
    return Move("by_eye", say("round.move_by_eye"), times, None, before)


def _peg(stand: Stand) -> str:
    return say("stands.peg", peg=stand.index + 1, strip=stand.strip.rpartition("/")[2])


def _move(farm: Farm, day: list[Allotment], at: Stand | None) -> Move:
    """The first move of the day; further ones follow it."""
    a = day[0]
    before = None if at is None else _peg(at)
    if a.stand is None or a.leg is None:
        return Move("none", say("round.move_none"), len(day), None, before)
    to, kind = a.stand, a.leg.kind
    if at is None and kind != "stay":
        kind = "place"
    metres = a.leg.distance_m
    paces = round(metres / PACE_M)
    said = say(
        f"round.move_{kind}", peg=_peg(to), field=to.field, way="" if at is None else way(at, to),
        metres=number(metres, 1, farm.holding.language), paces=paces,
    )  # fmt: skip
    if len(day) > 1:
        last = day[-1].stand
        said += " " + say("round.move_more", times=len(day), peg="-" if last is None else _peg(last))
    pulled = None if kind in ("place", "stay") else metres
    far = None if pulled is None else paces
    return Move(kind, said, len(day), to.id, before, _peg(to), to.field, pulled, far)


def _left(own: dict[date, list[Allotment]], on: date) -> int | None:
    """Days of stands ahead, `on` the first of them; None where every day in use has one."""
    without = min(
        (d for d, some in own.items() if d >= on and any(a.stand is None for a in some)), default=None
    )
    return None if without is None else sum(on <= d < without for d in own)
