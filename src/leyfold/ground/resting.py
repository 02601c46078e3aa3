"""When ground is open again: rest since it was last used, hay standing, water standing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import shapely

from leyfold.nouns.land import Field, Footprint, Ring, Span, Stand, Tread, rectangle

__all__ = ["Calendar", "calendar_of"]

SHRINK_M = 1e-5
"""Stands this much smaller than they are do not overlap ground they only touch."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """When each stand may be used: `free_from` by rest, `shut` by hay or water standing."""

    rest_days: int
    free_from: dict[str, date]
    shut: dict[str, tuple[Span, ...]]

    def open(self, stand: Stand, day: date) -> bool:
        free = self.free_from.get(stand.id)
        return (free is None or free <= day) and not self.closed(stand, day)

    def closed(self, stand: Stand, day: date) -> bool:
        return any(day in span for span in self.shut.get(stand.id, ()))

    def wait_days(self, stand: Stand, day: date) -> int:
        """Days from `day` until the stand is open."""
        opens = max(day, self.free_from.get(stand.id, day))
        for span in sorted(self.shut.get(stand.id, ()), key=lambda span: span.first):
            if opens in span:
                opens = span.until
        return (opens - day).days


def calendar_of(
    stands: Sequence[Stand],
    footprint: Footprint,
    rest_days: int,
    before: Sequence[Tread],
    fields: tuple[Field, ...],
    shut: Sequence[tuple[Ring, Span]],
) -> Calendar:
    """What past use, hay and water leave open, and when."""
    free: dict[str, date] = {}
    closed: dict[str, tuple[Span, ...]] = {}
    for i, k in over(stands, footprint, [t.ring for t in before]):
        rested = before[k].on + timedelta(days=rest_days)
        free[stands[i].id] = max(rested, free.get(stands[i].id, rested))
    hay = {f.id: f.hay_shut for f in fields if f.hay_shut}
    for stand in stands:
        if stand.field in hay:
            closed[stand.id] = hay[stand.field]
    for i, k in over(stands, footprint, [ring for ring, _ in shut]):
        closed[stands[i].id] = (*closed.get(stands[i].id, ()), shut[k][1])
    return Calendar(rest_days, free, closed)


def over(stands: Sequence[Stand], footprint: Footprint, rings: Sequence[Ring]) -> list[tuple[int, int]]:
    """Pairs (stand, ring) that overlap; touching is not overlapping."""
    if not rings or not stands:
        return []
    length, width = footprint.length_m - SHRINK_M, footprint.width_m - SHRINK_M
    boxes = shapely.polygons([rectangle(s.x_m, s.y_m, s.angle_deg, length, width) for s in stands])
    found = shapely.STRtree([shapely.Polygon(ring) for ring in rings]).query(boxes, predicate="intersects")
    return [(int(i), int(k)) for i, k in found.T]
