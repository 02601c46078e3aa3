"""Where a net goes next, and when: from its last shift written down, else as the season planned it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta

import numpy as np
from shapely.geometry import Polygon

from leyfold.ground.flat import to_degrees, to_metres
from leyfold.ground.nets import next_paddock, next_shift, stays
from leyfold.nouns.farm import Net
from leyfold.nouns.happened import Move
from leyfold.nouns.land import Field, Grazed, NetAhead, NetStay, Paddock, Span

__all__ = ["corners_deg", "grazed", "net_ahead"]

BEND_M = 0.2
"""A net is not set out to less."""
CENTIMETRE_DEG = 7
"""Digits of a degree after the point: a centimetre."""
SAME = 0.98
"""Ground that covers so much of both is the same, set out by hand."""
TOUCHED = 0.02
"""A paddock of which less was inside the net has not been used."""
MOST_BEHIND_D = 40.0
"""A month so cold that larvae take longer is not worth following cattle in. Guess."""


def net_ahead(
    net: Net,
    paddocks: Sequence[Paddock],
    planned: Sequence[NetStay],
    spell: tuple[date, date],
    shifts: Sequence[Move],
    today: date,
    until: date,
    *,
    shift_days: int,
    rest_days: int,
    fields: tuple[Field, ...],
    grazed: Sequence[Grazed],
    moving: Callable[[date], bool],
    there: bool = False,
    origin: tuple[float, float] | None = None,
) -> NetAhead:
    """The shifts of one net that begin from `today` up to `until`.

    `spell`: the days on which the house has birds, `planned` the stays of that spell as the season has them;
    they hold as long as no shift in it is written down. `shifts`: the records, in order. Each stands where
    its corners lie, the land's `origin` being longitude and latitude; one without corners at the paddock it
    names; one that names none, or none of these, where it was to go. All paddocks it lies on, as they are cut
    today, rest from when it left. Without paddocks only days are told. `there`: net and hens stood there
    before the spell's first day, on which the net is put up otherwise.
    """
    first, last = spell
    house = net.house or ""
    own = [m for m in shifts if m.what == net.id and first <= m.on <= today]
    since = own[-1].on if own else None
    done = since == today
    if not paddocks:
        due = today if done else next_shift(own[-1].on if own else first, shift_days, moving)
        while not own and due < today:
            due = next_shift(due, shift_days, moving)
        days, on = [], max(due, today)
        while on < min(until, last):
            days.append(on)
            on = next_shift(on, shift_days, moving)
        return NetAhead(net.id, house, None, (), tuple(days), due if days else None, done)
    if since is None:
        now = next((s for s in planned if today - timedelta(days=1) in s.span), None)
        coming = tuple(
            s for s in planned if today <= s.span.first < until and (s.span.first > first or not there)
        )
        none_on = planned[-1].span.until if planned and planned[-1].span.until < last else None
        return _ahead(net, now, coming, until, None, False, none_on)

    def stay(at: Paddock, begun: date, end: date) -> NetStay:
        """As long as it is meant to be, so that the house goes through it evenly; then as long as it was."""
        meant = stays([at], begun, last, shift_days=shift_days, house_days=1, rest_days=0, moving=moving,
                      begun_before=begun + timedelta(days=1))  # fmt: skip
        return NetStay(at, Span(begun, end), meant[0].house if meant else ())

    def lies(at: Paddock) -> tuple[str, ...]:
        return _lies_on(at, paddocks)

    def _last_on(at: Paddock | None) -> str | None:
        return None if at is None else next(iter(lies(at)), None)

    by_id = {p.id: p for p in paddocks}
    left = {s.paddock.id: min(s.span.until, own[0].on) for s in planned if s.span.first < own[0].on}
    been: list[tuple[Paddock, date]] = [
        (s.paddock, s.span.first) for s in planned if s.span.first < own[0].on
    ][-1:]
    for m in own:
        at = been[-1][0] if been else None
        end = next_shift(m.on, shift_days, moving)
        to = _as_written(m, paddocks, origin) or by_id.get(m.to or "") or next_paddock(
            paddocks, m.on, end, after=_last_on(at), rest_days=rest_days, left=left, fields=fields,
            grazed=grazed,
        ) or at or paddocks[0]  # fmt: skip
        if at is not None:
            left |= dict.fromkeys(lies(at), m.on)
        been.append((to, m.on))
    place, begun = been[-1]
    due = next_shift(begun, shift_days, moving)
    begins = max(due, today)
    here = stay(place, begun, begins)
    now = stay(been[-2][0], been[-2][1], begun) if done and len(been) > 1 else None if done else here
    coming = stays(
        paddocks, begins, last, shift_days=shift_days, house_days=1, rest_days=rest_days, fields=fields,
        before=left | dict.fromkeys(lies(place), begins), after=_last_on(place), grazed=grazed, moving=moving,
        begun_before=until,
    )  # fmt: skip
    end = coming[-1].span.until if coming else begins
    none_on = end if end < min(until, last) else None
    coming = (here, *coming) if done else coming
    return _ahead(net, now, coming, until, today if done else due, done, none_on)


def corners_deg(paddock: Paddock, origin: tuple[float, float]) -> tuple[float, ...]:
    """Longitude and latitude of its corners, one after the other; of a bend no more than is needed."""
    ring = Polygon(paddock.ring).simplify(BEND_M).exterior.coords[:-1]
    found = to_degrees(np.asarray(ring), origin)
    return tuple(round(float(x), CENTIMETRE_DEG) for x in found.ravel())


def _as_written(m: Move, paddocks: Sequence[Paddock], origin: tuple[float, float] | None) -> Paddock | None:
    """The ground inside the corners that a record holds: the paddock that is still cut so, else one of its
    own. None where it holds none, or none that a net can stand on."""
    if origin is None or not m.corners_deg:
        return None
    ring = to_metres(np.asarray(m.corners_deg).reshape(-1, 2), origin)
    shape = Polygon(ring)
    if not shape.is_valid or shape.area < 1.0:
        return None
    best = max(paddocks, key=lambda p: Polygon(p.ring).intersection(shape).area)
    shared = Polygon(best.ring).intersection(shape).area
    if shared > SAME * max(best.area_m2, shape.area):
        return best
    corners = tuple((float(x), float(y)) for x, y in ring)
    return Paddock(m.to or best.id, best.field, corners, shape.area, shape.length, 0.0)


def _lies_on(at: Paddock, paddocks: Sequence[Paddock]) -> tuple[str, ...]:
    """The paddocks as they are cut today that the ground of `at` lies on, the one with most of it first."""
    if any(at is p for p in paddocks):
        return (at.id,)
    shape = Polygon(at.ring)
    shares = {p.id: Polygon(p.ring).intersection(shape).area / p.area_m2 for p in paddocks}
    return tuple(name for name in sorted(shares, key=lambda n: -shares[n]) if shares[name] > TOUCHED)


def _ahead(
    net: Net, now: NetStay | None, coming: tuple[NetStay, ...], until: date, due: date | None, done: bool,
    none_on: date | None,
) -> NetAhead:  # fmt: skip
    days = [s.span.first for s in coming]
    if none_on is not None and none_on < until:
        days.append(none_on)
    due_on = None if not days else days[0] if due is None else due
    return NetAhead(net.id, net.house or "", now, coming, tuple(days), due_on, done, none_on)


def grazed(breaks: Sequence[Move], behind: Callable[[date], tuple[float, float]]) -> tuple[Grazed, ...]:
    """Where cattle went, by the breaks written down with the ground they opened: until the herd's next break
    on other ground. `behind`: days behind cattle, first and last, for a day."""
    found: list[Grazed] = []
    at: dict[str, tuple[str, date]] = {}
    for b in breaks:
        before = at.get(b.what)
        if b.to is None or (before is not None and before[0] == b.to):
            continue
        if before is not None:
            found.append(_spell(*before, b.on, behind))
        at[b.what] = (b.to, b.on)
    return (*found, *(_spell(where, first, None, behind) for where, first in at.values()))


def _spell(
    where: str, first: date, until: date | None, behind: Callable[[date], tuple[float, float]]
) -> Grazed:
    least, most = behind(until or first)
    return Grazed(where, first, until, *((least, most) if least <= MOST_BEHIND_D else (0.0, -1.0)))
