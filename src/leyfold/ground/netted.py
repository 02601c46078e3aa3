"""Where a net goes next, and when: from its last shift written down, else as the season planned it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta

from leyfold.ground.nets import next_paddock, next_shift, stays
from leyfold.nouns.farm import Net
from leyfold.nouns.happened import Move
from leyfold.nouns.land import Field, Grazed, NetAhead, NetStay, Paddock, Span

__all__ = ["grazed", "net_ahead"]

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
) -> NetAhead:
    """The shifts of one net that begin from `today` up to `until`.

    `spell`: the days on which the house has birds, `planned` the stays of that spell as the season has them;
    they hold as long as no shift in it is written down. `shifts`: the records, in order. A record that names
    no paddock, or none of these, went where it was to go. Without paddocks only days are told. `there`: net
    and hens stood there before the spell's first day, on which the net is put up otherwise.
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

    by_id = {p.id: p for p in paddocks}
    left = {s.paddock.id: min(s.span.until, own[0].on) for s in planned if s.span.first < own[0].on}
    been: list[tuple[Paddock, date]] = [
        (s.paddock, s.span.first) for s in planned if s.span.first < own[0].on
    ][-1:]
    for m in own:
        at = been[-1][0] if been else None
        end = next_shift(m.on, shift_days, moving)
        to = by_id.get(m.to or "") or next_paddock(
            paddocks, m.on, end, after=at.id if at else None, rest_days=rest_days, left=left, fields=fields,
            grazed=grazed,
        ) or at or paddocks[0]  # fmt: skip
        if at is not None:
            left[at.id] = m.on
        been.append((to, m.on))
    place, begun = been[-1]
    due = next_shift(begun, shift_days, moving)
    begins = max(due, today)
    here = stay(place, begun, begins)
    now = stay(been[-2][0], been[-2][1], begun) if done and len(been) > 1 else None if done else here
    coming = stays(
        paddocks, begins, last, shift_days=shift_days, house_days=1, rest_days=rest_days, fields=fields,
        before=left | {place.id: begins}, after=place.id, grazed=grazed, moving=moving, begun_before=until,
    )  # fmt: skip
    end = coming[-1].span.until if coming else begins
    none_on = end if end < min(until, last) else None
    coming = (here, *coming) if done else coming
    return _ahead(net, now, coming, until, today if done else due, done, none_on)


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
