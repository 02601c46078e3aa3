"""The net round the hens' house in words: where it goes and when, how to set it out; the house inside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil, hypot

from leyfold.ground.told import PACE_M, way_of
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import NetAhead, NetStay, Paddock, Point, Ring
from leyfold.nouns.round import Call, DueItem, Fence, GroundLeft, Move, Part
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["WEEK_D", "fence", "house_move", "moved", "net_dues", "net_left", "no_ground", "sides"]

WEEK_D = 7
LEAST_SIDE_M = 2.0
"""A shorter side is not worth leaving up: less than from post to post."""
POST_M = 3.5
"""From post to post of a net: about a dozen and a half on fifty metres. Common practice."""
NEAR_M = 0.1
"""Sides no further apart than a hand's breadth are one side."""


def fence(farm: Farm, ahead: NetAhead, day: date, heads: int) -> Fence | None:
    """The shift of `day`, done or to be done, for `heads` hens; None on other days."""
    due = _due(ahead, day)
    if due is None:
        return None
    shown = Shown(farm)
    late = "" if due >= day else say("round.fence_late", day=shown.short(due))
    cautions = tuple(say(f"round.fence_{of}") for of in ("off", "ground", "children"))
    stay = _begun(ahead, day)
    if stay is None:
        kind = "none" if ahead.none_on is not None else "by_eye"
        said = _joined(say(f"round.fence_{kind}", house=ahead.house), late)
        return Fence(ahead.net, kind, said, due, cautions=() if kind == "none" else cautions)
    to, before = stay.paddock, _before(ahead, day)
    net = farm.nets[ahead.net]
    rolls = ceil(to.perimeter_m / net.roll_m - 1e-6)
    each = to.area_m2 / heads if heads else None
    corners = ahead.corners_deg.get(to.id, ())
    size = say(
        "round.fence_size", round=shown.of(to.perimeter_m, "m"), rolls=shown.n(rolls),
        owned=shown.n(net.rolls), corners=shown.n(len(sides(to.ring))), area=shown.of(to.area_m2, "m2"),
        each="·" if each is None else shown.of(each, "m2", 1),
    )  # fmt: skip
    if before is None:
        said = say("round.fence_place", house=ahead.house, paddock=_nth(to), field=to.field)
        return Fence(
            ahead.net, "place", _joined(said, late), due, to.id, to.field, to.ring, corners, to.perimeter_m,
            rolls, to.area_m2, each, size=size, walk=_walk(shown, to.ring, to.ring[0]), cautions=cautions,
        )  # fmt: skip
    at, goal = _house(before, day - timedelta(days=1)), _house(stay, day)
    metres = hypot(goal[0] - at[0], goal[1] - at[1])
    shared = _shared(before.paddock.ring, to.ring)
    kind = "next" if shared >= LEAST_SIDE_M else "apart"
    said = say(
        f"round.fence_{kind}", house=ahead.house, paddock=_nth(to), field=to.field, way=way_of(at, goal),
        paces=shown.n(round(metres / PACE_M)), shared=shown.of(shared, "m"),
    )  # fmt: skip
    return Fence(
        ahead.net, kind, _joined(said, late), due, to.id, to.field, to.ring, corners, to.perimeter_m,
        rolls, to.area_m2, each, metres, round(metres / PACE_M), size, _walk(shown, to.ring, at), cautions,
    )  # fmt: skip


def moved(call: Call) -> str:
    """The move of a place, the gaps it is set down over, and its net's; empty where it has none."""
    boards = () if call.move is None else call.move.boards
    said = [one.said for one in (call.move, call.fence) if one is not None]
    return _joined(*said[:1], *boards, *said[1:])


def house_move(ahead: NetAhead, day: date) -> Move | None:
    """The house to its next place inside the net; None on the day of a shift, and where it stays."""
    stay = _in(ahead, day)
    if stay is None or _due(ahead, day) is not None:
        return None
    at, to = _house(stay, day - timedelta(days=1)), _house(stay, day)
    if at == to:
        return None
    metres = hypot(to[0] - at[0], to[1] - at[1])
    paces = round(metres / PACE_M)
    said = say("round.move_house", paces=paces, way=way_of(at, to))
    return Move("house", said, field=stay.paddock.field, distance_m=metres, paces=paces)


def net_dues(nets: Sequence[NetAhead], day: date, part: Part) -> list[DueItem]:
    """Shifts from `day` up to seven days on; the day's own is done by the evening."""
    found = []
    for ahead in nets:
        for k in range(part == "evening", WEEK_D):
            on = day + timedelta(days=k)
            if _due(ahead, on) is None or (ahead.done and on == day):
                continue
            stay = _begun(ahead, on)
            words = {"net": ahead.net, "house": ahead.house}
            if stay is not None:
                said = say("round.net_due", paddock=_nth(stay.paddock), field=stay.paddock.field, **words)
            else:
                said = say("round.net_due_none" if ahead.none_on else "round.net_due_by_eye", **words)
            found.append(DueItem(on, "net", None, ahead.house, None, said))
    return found


def net_left(farm: Farm, ahead: NetAhead, tomorrow: date) -> GroundLeft:
    """What the evening page says of a net's ground."""
    shown, place = Shown(farm), ahead.house
    on = next((day for day in _days(tomorrow) if _due(ahead, day) is not None), None)
    if ahead.none_on is not None and (on is None or on >= ahead.none_on):
        left = max((ahead.none_on - tomorrow).days, 0)
        said = say("round.left_net_none", place=place, day=shown.weekday(ahead.none_on))
        return GroundLeft(place, left, said)
    if on is None:
        return GroundLeft(place, None, say("round.left_net_all", place=place))
    stay, day = _begun(ahead, on), shown.weekday(on)
    if stay is None:
        return GroundLeft(place, None, say("round.left_net_by_eye", place=place, day=day))
    said = say("round.left_net", place=place, day=day, paddock=_nth(stay.paddock), field=stay.paddock.field)
    return GroundLeft(place, None, said)


def no_ground(farm: Farm, ahead: NetAhead, day: date) -> str | None:
    """Said where within a week no rested paddock is left for the net."""
    on = ahead.none_on
    if on is None or not (on - day).days < WEEK_D:
        return None
    return say("round.net_none", place=ahead.house, day=Shown(farm).weekday(max(on, day)))


def _days(first: date) -> list[date]:
    return [first + timedelta(days=k) for k in range(WEEK_D)]


def _due(ahead: NetAhead, day: date) -> date | None:
    """Since when the shift of `day` is due; None where none falls on it."""
    if day not in ahead.days:
        return None
    return ahead.due_on if day == ahead.days[0] else day


def _begun(ahead: NetAhead, day: date) -> NetStay | None:
    return next((s for s in ahead.coming if s.span.first == day), None)


def _in(ahead: NetAhead, day: date) -> NetStay | None:
    stays = (*ahead.coming, *([ahead.now] if ahead.now is not None else ()))
    return next((s for s in stays if day in s.span), None)


def _before(ahead: NetAhead, day: date) -> NetStay | None:
    earlier = [s for s in ahead.coming if s.span.first < day]
    return earlier[-1] if earlier else ahead.now


def _house(stay: NetStay, day: date) -> Point:
    """Where the house stands in its net at the end of `day`."""
    if not stay.house:
        return stay.paddock.ring[0]
    return max((came, at) for came, at in stay.house if came <= max(day, stay.house[0][0]))[1]


def _nth(paddock: Paddock) -> str:
    return paddock.id.rpartition("/n")[2]


def sides(ring: Ring) -> list[tuple[Point, Point, float, bool]]:
    """The sides of a net from corner to corner: first and last point, metres along it, and whether it is a
    bend. Sides shorter than from post to post, one after the other, are a bend; one alone belongs to the
    side before it."""
    long = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]
    short = [metres < POST_M for metres in long]
    n = len(ring)
    first = next((k for k in range(n) if not short[k]), None)
    if first is None:
        return [(ring[0], ring[n // 2], sum(long) / 2, True), (ring[n // 2], ring[0], sum(long) / 2, True)]
    found: list[tuple[Point, Point, float, bool]] = []
    for k in (*range(first, n), *range(first)):
        to, before = ring[(k + 1) % n], found[-1] if found else None
        if short[k] and before is not None and (before[3] or not short[(k + 1) % n]):
            found[-1] = (before[0], to, before[2] + long[k], before[3])
        else:
            found.append((ring[k], to, long[k], short[k]))
    return found


def _walk(shown: Shown, ring: Ring, at: Point) -> str:
    """Round the ring from its corner nearest `at`, side after side."""
    own = sides(ring)
    k = min(range(len(own)), key=lambda i: hypot(own[i][0][0] - at[0], own[i][0][1] - at[1]))
    told = [
        say(
            "round.fence_bend" if bend else "round.fence_side", paces=shown.n(round(metres / PACE_M)),
            way=way_of(a, b),
        )
        for a, b, metres, bend in (*own[k:], *own[:k])
    ]  # fmt: skip
    return say("round.fence_walk", sides=", ".join(told))


def _shared(one: Ring, other: Ring) -> float:
    """Metres of side that two rings have in common, within a hand's breadth."""
    total = 0.0
    for a, b in zip(one, (*one[1:], one[0]), strict=True):
        long = hypot(b[0] - a[0], b[1] - a[1])
        if long < 1e-9:
            continue
        ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        for c, d in zip(other, (*other[1:], other[0]), strict=True):
            off = [abs(ux * (p[1] - a[1]) - uy * (p[0] - a[0])) for p in (c, d)]
            if max(off) > NEAR_M:
                continue
            along = sorted(ux * (p[0] - a[0]) + uy * (p[1] - a[1]) for p in (c, d))
            total += max(min(along[1], long) - max(along[0], 0.0), 0.0)
    return total


def _joined(*parts: str) -> str:
    return " ".join(part for part in parts if part)
