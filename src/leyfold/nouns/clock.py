"""Days and instants. Nothing here reads the clock: shells do, and hand the instant in.

Zones come from `zoneinfo`, which needs the package `tzdata` where the machine keeps no zone files.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from functools import lru_cache
from zoneinfo import ZoneInfo

__all__ = ["civil", "instant", "is_zone", "read_clock", "shown_twice", "wall"]


@lru_cache(maxsize=64)
def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (OSError, ValueError) as error:  # ZoneInfoNotFoundError is a KeyError: it passes as it is
        raise KeyError(name) from error


def is_zone(name: str) -> bool:
    """Whether `name` is a zone this machine knows ("Europe/Oslo")."""
    try:
        _zone(name)
    except KeyError:
        return False
    return True


def civil(at: datetime, zone: str) -> date:
    """The day on the wall calendar of `zone` at an instant. ValueError without an offset, KeyError for an
    unknown zone."""
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset from UTC")
    return at.astimezone(_zone(zone)).date()


def wall(at: datetime, zone: str) -> time:
    """What the wall clock of `zone` shows at an instant. Errors as `civil`."""
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset from UTC")
    return at.astimezone(_zone(zone)).time()


def instant(day: date, at: time, zone: str) -> datetime:
    """The instant, in UTC, when the wall clock of `zone` shows `at` on `day`.

    A time that the clock shows twice (clocks going back) is the first of the two; a time it skips (clocks
    going forward) is as many minutes after the jump. KeyError for an unknown zone.
    """
    return datetime.combine(day, at.replace(tzinfo=None, fold=0), tzinfo=_zone(zone)).astimezone(UTC)


def shown_twice(clock: datetime, zone: str) -> bool:
    """Whether the wall clock of `zone` shows the bare time `clock` twice, as when clocks go back."""
    here = clock.replace(tzinfo=_zone(zone), fold=0)
    return here.utcoffset() > here.replace(fold=1).utcoffset()  # type: ignore[operator]


def read_clock(clock: datetime, zone: str, *, second: bool = False) -> datetime | None:
    """The instant, in UTC, of the bare time `clock` on the wall of `zone`; of two, the `second` if asked.

    None for a time that the clock skips, as when clocks go forward.
    """
    at = clock.replace(tzinfo=_zone(zone), fold=int(second)).astimezone(UTC)
    shows = at.astimezone(_zone(zone)).replace(tzinfo=None, fold=0)
    return at if shows == clock.replace(fold=0) else None
