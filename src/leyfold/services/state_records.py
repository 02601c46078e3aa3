"""The state of a farm as plain values, cut to the days asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, datetime
from typing import Any

from leyfold.nouns.record import State
from leyfold.services.ahead_records import plain

__all__ = ["ROUND", "state_records"]

ROUND = frozenset({
    "day", "groups", "questions", "stops", "withdrawals", "medicated", "glances", "head_counts", "looks",
    "stands", "moves", "fence_moves", "fences", "watered", "tanks_l",
})  # fmt: skip
"""What somebody who walks the round needs of it."""


def state_records(state: State, since: date, only: frozenset[str] | None = None) -> dict[str, Any]:
    """Field by field, None for what is not known. Of what has an `on` or `until` only that from `since` on is
    listed, of a batch too. `only`: these fields alone."""
    names = [f.name for f in fields(State) if only is None or f.name in only]
    return {name: _value(getattr(state, name), since) for name in names}


def _value(value: Any, since: date) -> Any:
    if isinstance(value, tuple):
        return [_item(one, since) for one in value if _is_since(one, since)]
    if isinstance(value, Mapping):
        return {str(key): _item(one, since) for key, one in value.items()}
    return plain(value)


def _item(one: Any, since: date) -> Any:
    if hasattr(one, "weighings"):  # a batch, with lists of its own
        return {f.name: _value(getattr(one, f.name), since) for f in fields(one)}
    return plain(one)


def _is_since(one: Any, since: date) -> bool:
    """What is still open (no `until` yet) is never too old."""
    for name in ("until", "settled_on", "back_at", "on"):
        if hasattr(one, name):
            day = getattr(one, name)
            day = day.date() if isinstance(day, datetime) else day
            return not isinstance(day, date) or day >= since
    return True
