"""Layout -> ground: the stand of every shelter for every day.

Each shelter gets a stretch of the tour of its own, long enough for all its days and no longer, so shelters
stay near each other, move abreast, and none is ever pulled over another's ground. At a strip's end it turns
into the strip beside. Where ground is plenty a stretch begins with a strip worked the same way as the
others; where it is short, two shelters share a strip.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil, hypot

import numpy as np

from leyfold.ground.resting import Calendar, calendar_of
from leyfold.ground.tour import Run, tour
from leyfold.nouns.land import (
    Allotment,
    Field,
    Ground,
    Layout,
    Leg,
    Occupation,
    Ring,
    Span,
    Stand,
    Tread,
)

__all__ = ["allot", "gathered", "treads", "walk"]

TURN_M = 10.0
"""Further than this a change of strip is a transfer and no longer a turn. Guess."""


def allot(
    layout: Layout,
    uses: Sequence[Occupation],
    *,
    rest_days: int = 365,
    before: Sequence[Tread] = (),
    fields: tuple[Field, ...] = (),
    shut: Sequence[tuple[Ring, Span]] = (),
) -> Ground:
    """A stand for each shelter on each day it is in use, none used again within `rest_days`.

    `before`: ground used already. `fields`: for gates and days shut up for hay, in the order to be worked.
    `shut`: rings that cannot be used for some days (flooded, poached). A day without a rested stand has None.
    """
    need = wanted(uses)
    runs = tour(layout, fields)
    if not need or not runs:
        return gathered(layout, rest_days, uses, {}, Calendar(rest_days, {}, {}), runs)
    first = min(use.first for use in uses)
    calendar = calendar_of(layout.stands, layout.footprint, rest_days, before, fields, shut)
    begun = begun_at_rested(runs, calendar, first, need)
    stretches = shared_out(begun, need, calendar, first, max(use.until for use in uses))
    days = {
        shelter: walk(stretches[shelter], [u for u in uses if u.shelter == shelter], calendar)
        for shelter in need
    }
    return gathered(layout, rest_days, uses, days, calendar, runs)


def wanted(uses: Sequence[Occupation]) -> dict[str, int]:
    """Stands each shelter needs, in order of first use."""
    need: Counter[str] = Counter()
    for use in sorted(uses, key=lambda u: (u.first, u.shelter)):
        need[use.shelter] += ceil((use.until - use.first).days / use.every_days) * use.moves
    return dict(need)


def begun_at_rested(
    runs: tuple[Run, ...], calendar: Calendar, first: date, need: dict[str, int]
) -> list[Run]:
    """The tour, begun where least ground would be wanted before it is open: after last year's last strip."""
    many = len(runs)
    size = np.array([len(run.stands) for run in runs])
    wait = np.array([sum(calendar.wait_days(s, first) for s in run.stands) for run in runs]) / size
    total = sum(need.values())
    so_far = np.concatenate(([0], np.cumsum(np.tile(size, 2))))
    late = np.empty(many)
    for begin in range(many):
        ahead = so_far[begin : begin + many] - so_far[begin]
        day = ahead % (total / len(need))  # the shelters work their stretches at the same time
        k = np.arange(begin, begin + many) % many
        late[begin] = (size[k] * np.maximum(wait[k] - day, 0.0))[ahead < total].sum()
    begin = int(np.argmin(late))
    return [*runs[begin:], *runs[:begin]]


def shared_out(
    runs: list[Run], need: dict[str, int], calendar: Calendar, first: date, until: date
) -> dict[str, list[Stand]]:
    """A stretch of the tour for each shelter; the roomiest way of parting it that fits."""
    for same_way in (True, False):
        stretches = parted(runs, need, calendar, first, same_way=same_way)
        if stretches is not None:
            return stretches
    # Short of rested ground, all that opens in time is shared in proportion to the days wanted.
    stands = [s for run in runs for s in run.stands]
    season = (until - first).days
    opened = np.cumsum([calendar.wait_days(s, first) < season for s in stands])
    total = sum(need.values())
    marks = np.rint(np.cumsum([0, *need.values()]) * min(1.0, float(opened[-1]) / total))
    cut = np.searchsorted(opened, marks, side="left") + (marks > 0)
    cut[-1] = len(stands)
    return {name: stands[cut[k] : cut[k + 1]] for k, name in enumerate(need)}


def parted(
    runs: list[Run], need: dict[str, int], calendar: Calendar, first: date, *, same_way: bool
) -> dict[str, list[Stand]] | None:
    """Stretches of whole strips, each within one field where that can be; None if they do not all fit."""
    rested = [sum(calendar.open(s, first) for s in run.stands) for run in runs]
    spare = sum(rested) - sum(need.values())
    stretches: dict[str, list[Stand]] = {}
    i, way = 0, None
    for shelter, many in need.items():
        while i < len(runs) and (rested[i] == 0 or (way is not None and turned_from(runs[i], way))):
            spare -= rested[i]
            i += 1
        if same_way and i < len(runs):
            way = runs[i]
        here = [k for k in range(i, len(runs)) if runs[k].field == runs[min(i, len(runs) - 1)].field]
        left = sum(rested[k] for k in here)
        if left < many and left <= spare:  # rather all of it in the next field than a transfer on the way
            spare -= left
            i += len(here)
            way = None
        got, begin = 0, i
        while got < many and i < len(runs):
            got += rested[i]
            i += 1
        if got < many or spare < 0:
            return None
        spare -= got - many
        stretches[shelter] = [s for run in runs[begin:i] for s in run.stands]
    return stretches


def turned_from(run: Run, way: Run) -> bool:
    """Whether a strip of the same field and direction is worked the other way."""
    return run.field == way.field and abs((run.heading_deg - way.heading_deg) % 360 - 180) < 1.0


def walk(
    stands: list[Stand], uses: Sequence[Occupation], calendar: Calendar, at: Stand | None = None
) -> list[Allotment]:
    """A shelter's days along its stretch: always the next stand that is open, round again when it has rested.

    `at`: where it stands before the first day.
    """
    free = dict(calendar.free_from)
    rested = Calendar(calendar.rest_days, free, calendar.shut)
    days: list[Allotment] = []
    shut, rest = calendar.closed, timedelta(days=calendar.rest_days)
    following = 0  # where in the stretch to look next
    for use in sorted(uses, key=lambda u: u.first):
        for k in range((use.until - use.first).days):
            day = use.first + timedelta(days=k)
            if k % use.every_days and at is not None and days and days[-1].stand == at and not shut(at, day):
                days.append(Allotment(use.shelter, day, at, Leg("stay", 0.0)))
                free[at.id] = day + rest
                continue
            for nth in range(use.moves):
                order = (*range(following, len(stands)), *range(following))
                i = next((i for i in order if rested.open(stands[i], day)), None)
                if i is None:
                    days.append(Allotment(use.shelter, day, None, None, nth))
                    continue
                here, following = stands[i], i + 1
                days.append(Allotment(use.shelter, day, here, leg(at, here), nth))
                free[here.id] = day + rest
                at = here
    return days


def leg(at: Stand | None, to: Stand) -> Leg:
    """How a shelter comes from one stand to the next."""
    if at is None:
        return Leg("place", 0.0)
    away = hypot(to.x_m - at.x_m, to.y_m - at.y_m)
    if at.field != to.field:
        return Leg("field", away)
    if at.strip == to.strip:
        steps = abs(to.index - at.index)
        return Leg("ahead" if steps == 1 else "skip" if steps else "stay", away)
    return Leg("turn" if away < TURN_M else "strip", away)


def gathered(
    layout: Layout,
    rest_days: int,
    uses: Sequence[Occupation],
    days: dict[str, list[Allotment]],
    calendar: Calendar,
    runs: tuple[Run, ...],
) -> Ground:
    """All shelters' days by date, and what is left when they are over."""
    every = sorted((a for own in days.values() for a in own), key=lambda a: (a.on, a.shelter, a.nth))
    without = [a.on for a in every if a.stand is None]
    if not runs and uses:
        without = [min(u.first for u in uses)]
    workers: dict[str, set[str]] = {}
    free = dict(calendar.free_from)
    for a in every:
        if a.stand is not None:
            workers.setdefault(a.stand.strip, set()).add(a.shelter)
            free[a.stand.id] = a.on + timedelta(days=rest_days)
    left = 0
    if every:
        after = every[-1].on + timedelta(days=1)
        last = sum(a.on == every[-1].on for a in every)
        rested = Calendar(rest_days, free, calendar.shut)
        left = sum(rested.open(s, after) for run in runs for s in run.stands) // last
    return Ground(
        footprint=layout.footprint,
        rest_days=rest_days,
        days=tuple(every),
        left_days=left,
        runs_out=min(without, default=None),
        transfers=tuple(a for a in every if a.leg is not None and a.leg.kind == "field"),
        shared=tuple(strip for strip, who in workers.items() if len(who) > 1),
    )


def treads(ground: Ground, until: date | None = None) -> tuple[Tread, ...]:
    """The ground used, each stand once with its last day, up to but not including `until`."""
    last: dict[tuple[str, str], Allotment] = {}
    for a in ground.days:
        if a.stand is not None and (until is None or a.on < until):
            last[a.shelter, a.stand.id] = a
    used = [(a, a.stand) for a in last.values() if a.stand is not None]
    return tuple(Tread(stand.corners(ground.footprint), a.on, a.shelter) for a, stand in used)
