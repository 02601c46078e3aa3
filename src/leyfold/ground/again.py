"""Ground -> ground: laid again from where the shelters really stand.

After a skipped move, a shorter pull or a flooded patch nothing jumps: each shelter keeps the ground meant for
it and goes on from where it is. Where it has drifted along its strip, the rest of that strip is pegged anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import cos, floor, hypot, radians, sin

from leyfold.ground.allot import gathered, walk, wanted
from leyfold.ground.free import TOUCH_M
from leyfold.ground.resting import SHRINK_M, calendar_of
from leyfold.ground.tour import Run, tour
from leyfold.nouns.land import Field, Footprint, Ground, Layout, Occupation, Ring, Span, Stand, Tread

__all__ = ["lay_again"]

DRIFT_M = 0.05
"""A shelter nearer than this to its peg stands on it."""


def lay_again(
    layout: Layout,
    ground: Ground,
    standing: Mapping[str, Stand],
    on: date,
    uses: Sequence[Occupation],
    *,
    before: Sequence[Tread] = (),
    fields: tuple[Field, ...] = (),
    shut: Sequence[tuple[Ring, Span]] = (),
) -> Ground:
    """The days from `on`, each shelter first moved that day from where it is `standing`.

    `standing`: by shelter, the stand it was meant for (its strip and index) at the place and angle where it
    really is. `before`: all ground really used, this season's too, where they stand now included. `shut`:
    rings that cannot be used for some days. `uses` are cut to begin on `on`.
    """
    coming = tuple(replace(u, first=max(u.first, on)) for u in uses if u.until > on)
    strips = {strip.id: strip.stands for strip in layout.strips}
    queues: dict[str, list[Stand]] = {}
    dropped: set[str] = set()
    for shelter in wanted(coming):
        queue = meant(ground, shelter, standing.get(shelter), on)
        if shelter in standing:
            fresh, gone = pegged_anew(queue, standing[shelter], strips, layout.footprint)
            queue = [*fresh, *queue[len(gone) :]]
            dropped |= gone
        queues[shelter] = queue

    runs = tuple(
        replace(run, stands=kept)
        for run in tour(layout, fields)
        if (kept := tuple(s for s in run.stands if s.id not in dropped))
    )
    there = {s.id: s for run in runs for s in run.stands} | {s.id: s for q in queues.values() for s in q}
    calendar = calendar_of(tuple(there.values()), layout.footprint, ground.rest_days, before, fields, shut)
    filled_up(queues, wanted(coming), runs, {id_ for id_ in there if calendar.open(there[id_], on)})
    days = {
        shelter: walk(queue, [u for u in coming if u.shelter == shelter], calendar, standing.get(shelter))
        for shelter, queue in queues.items()
    }
    return gathered(layout, ground.rest_days, coming, days, calendar, runs)


def meant(ground: Ground, shelter: str, stands_at: Stand | None, on: date) -> list[Stand]:
    """The stands still meant for a shelter, in order: those after its own, else those from `on`."""
    days = [(a.on, a.stand) for a in ground.days if a.shelter == shelter and a.stand is not None]
    order = list({stand.id: stand for _, stand in days}.values())
    names = [stand.id for stand in order]
    if stands_at is not None and stands_at.id in names:
        return order[names.index(stands_at.id) + 1 :]
    return list({stand.id: stand for day, stand in days if day >= on}.values())


def pegged_anew(
    queue: list[Stand], at: Stand, strips: Mapping[str, tuple[Stand, ...]], footprint: Footprint
) -> tuple[list[Stand], set[str]]:
    """The rest of a strip from where the shelter really stands, and the names of the stands given up.

    New stands keep the strip's line and begin clear of the shelter, however it is turned.
    """
    ahead = [s for s in queue if s.strip == at.strip]
    ahead = ahead[: next((k for k, s in enumerate(queue) if s.strip != at.strip), len(ahead))]
    peg = next((s for s in strips.get(at.strip, ()) if s.index == at.index), None)
    if not ahead or peg is None or hypot(at.x_m - peg.x_m, at.y_m - peg.y_m) < DRIFT_M:
        return [], set()
    way = 1 if ahead[-1].index >= peg.index else -1
    c, s = way * cos(radians(peg.angle_deg)), way * sin(radians(peg.angle_deg))
    end = (ahead[-1].x_m - peg.x_m) * c + (ahead[-1].y_m - peg.y_m) * s + footprint.length_m / 2
    front = max((x - peg.x_m) * c + (y - peg.y_m) * s for x, y in at.corners(footprint)) + SHRINK_M
    fresh = []
    for k in range(max(floor((end - front + TOUCH_M) / footprint.length_m), 0)):
        u = front + (k + 0.5) * footprint.length_m
        index = peg.index + way * (k + 1)
        fresh.append(
            replace(
                peg, id=f"{peg.strip}.{index + 1}*", index=index, x_m=peg.x_m + c * u, y_m=peg.y_m + s * u
            )
        )
    return fresh, {stand.id for stand in ahead}


def filled_up(
    queues: dict[str, list[Stand]], need: Mapping[str, int], runs: Sequence[Run], open_now: set[str]
) -> None:
    """Adds ground meant for nobody to the queues that are too short, the nearest following first."""
    taken = {s.id for queue in queues.values() for s in queue}
    spare = [s for run in runs for s in run.stands if s.id in open_now and s.id not in taken]
    order = {s.id: k for k, s in enumerate(s for run in runs for s in run.stands)}
    for shelter, queue in queues.items():
        short = need[shelter] - sum(s.id in open_now for s in queue)
        if short <= 0 or not spare:
            continue
        last = max((order[s.id] for s in queue if s.id in order), default=-1)
        begin = next((k for k, s in enumerate(spare) if order[s.id] > last), 0)
        spare = [*spare[begin:], *spare[:begin]]
        queue += spare[:short]
        spare = spare[short:]
