"""The state of a farm as plain values, cut to the days asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, datetime
from operator import attrgetter
from typing import Any

from leyfold.nouns.kept import Grown
from leyfold.nouns.record import State
from leyfold.services.ahead_records import plain

__all__ = ["ROUND", "state_records"]

ROUND = frozenset({
    "day", "groups", "questions", "stops", "withdrawals", "medicated", "glances", "head_counts", "looks",
    "stands", "moves", "fence_moves", "fences", "watered", "tanks_l",
})  # fmt: skip
"""What somebody who walks the round needs of it."""


DAYS = ("until", "settled_on", "back_at", "on")
"""Where what is listed says its day: the first of these that it has."""


_PASSED: Grown[Any, tuple[Any, ...]] = Grown(24)
"""What of long lists is since a day."""


def state_records(state: State, since: date, only: frozenset[str] | None = None) -> dict[str, Any]:
    """Field by field, None for what is not known. Of what has an `on` or `until` only that from `since` on is
    listed, of a batch too. `only`: these fields alone."""
    names = [f.name for f in fields(State) if only is None or f.name in only]
    return {name: _value(getattr(state, name), since) for name in names}


def _value(value: Any, since: date) -> Any:
    if isinstance(value, tuple):
        return [_item(one, since) for one in _since(value, since)]
    if isinstance(value, Mapping):
        return {str(key): _item(one, since) for key, one in value.items()}
    return plain(value)


def _item(one: Any, since: date) -> Any:
    if hasattr(one, "weighings"):  # a batch, with lists of its own
        return {f.name: _value(getattr(one, f.name), since) for f in fields(one)}
    return plain(one)


def _since(listed: tuple[Any, ...], since: date) -> tuple[Any, ...]:
    """Those from the day on, all of one type. What is still open (no `until` yet) is never too old."""
    name = next((name for name in DAYS if listed and hasattr(listed[0], name)), None)
    if name is None:
        return listed
    day_of = attrgetter(name)
    return _PASSED.get(
        since,
        listed,
        (),
        lambda found, more: found + tuple(one for one in more if _day(day_of(one), since) >= since),
    )


def _day(value: Any, since: date) -> date:
    if isinstance(value, datetime):
        return value.date()
    return value if isinstance(value, date) else since
