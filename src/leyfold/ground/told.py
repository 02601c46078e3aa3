"""A day's move in words: pegs, paces and the way to go."""

from __future__ import annotations

from math import atan2, cos, degrees, pi, radians, sin

from leyfold.nouns.land import Allotment, Point, SkirtGap, Stand
from leyfold.words import say
from leyfold.words.forms import number

__all__ = ["PACE_M", "gap_told", "told", "way", "way_of"]

PACE_M = 0.75
"""A walking pace. Common practice."""

WAYS = ("north", "north_east", "east", "south_east", "south", "south_west", "west", "north_west")


def way(at: Stand, to: Stand) -> str:
    """The way from one stand to another, by eight winds, in words."""
    return way_of((at.x_m, at.y_m), (to.x_m, to.y_m))


def way_of(at: Point, to: Point) -> str:
    """The way from one point to another, by eight winds, in words."""
    bearing = degrees(atan2(to[0] - at[0], to[1] - at[1])) % 360
    return say(f"stands.way_{WAYS[round(bearing / 45) % 8]}")


def told(day: Allotment, at: Stand | None, *, pace_m: float = PACE_M) -> str:
    """What to do with one shelter on one day, from where it stands (`at`, None when it is brought)."""
    if day.stand is None or day.leg is None:
        return say("stands.go_none", shelter=day.shelter)
    to = day.stand
    peg = say("stands.peg", peg=to.index + 1, strip=to.strip.rpartition("/")[2])
    if at is None or day.leg.kind in ("place", "stay"):
        kind = "stay" if day.leg.kind == "stay" else "place"
        return say(f"stands.go_{kind}", shelter=day.shelter, peg=peg, field=to.field)
    return say(
        f"stands.go_{day.leg.kind}",
        shelter=day.shelter,
        peg=peg,
        field=to.field,
        way=way(at, to),
        metres=number(day.leg.distance_m, 1),
        paces=number(day.leg.distance_m / pace_m),
    )


def _side(stand: Stand, at: Point) -> str:
    """The way that the side of a shelter looks on which a point of its skirt lies."""
    turn = radians(stand.angle_deg)
    x, y = at[0] - stand.x_m, at[1] - stand.y_m
    u, v = cos(turn) * x + sin(turn) * y, cos(turn) * y - sin(turn) * x
    out = turn + (0.0 if abs(u) >= abs(v) else pi / 2)
    sign = 1.0 if (u if abs(u) >= abs(v) else v) >= 0 else -1.0
    return way_of((0.0, 0.0), (sign * cos(out), sign * sin(out)))


def gap_told(shelter: str, gap: SkirtGap | None, stand: Stand | None = None) -> list[str]:
    """What to board under a shelter on its stand, and on which side the widest gap is; nothing to say where
    no gap lets a stoat through."""
    if gap is None:
        return [say("stands.gap_unknown", shelter=shelter)]
    if not gap.boards_m:
        return []
    boards = ", ".join(number(length, 1) for length in gap.boards_m)
    side = "" if stand is None else say("stands.gap_side", way=_side(stand, gap.at))
    said = say("stands.gap", shelter=shelter, cm=number(100 * gap.worst_m, 1), boards=boards, side=side)
    return [said, say("stands.rocks", shelter=shelter)] if gap.rocks else [said]
