"""The look-ahead as plain values, for JSON."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import cache
from math import isfinite
from typing import Any

import numpy as np

from leyfold.nouns.ahead import Ahead

__all__ = ["plain", "records"]

_PARTS = (
    "stops", "cautions", "flocks", "night", "cold", "gusts", "heat", "water", "brooders", "turnout",
    "mains", "due", "settable", "feed", "laying", "dark",
)  # fmt: skip

_AS_THEY_ARE = frozenset((str, int, bool, type(None)))


def records(ahead: Ahead) -> dict[str, Any]:
    """Everything, with units in the keys; instants in UTC, None for what is not known."""
    made: dict[str, Any] = {
        "at": plain(ahead.at), "day": plain(ahead.day), "tomorrow": plain(ahead.tomorrow),
        **{part: plain(getattr(ahead, part)) for part in _PARTS},
        "tank_l": ahead.tank_l, "tank_trips": ahead.tank_trips, "tank_last": plain(ahead.tank_last),
        "behind_cattle_d": plain(ahead.cattle_d), "grass_K_d": ahead.grass_K_d,
        "grass_on": plain(ahead.grass_on), "frost_w": ahead.frost_w,
        "origins": dict(ahead.said_of), "notes": list(ahead.notes), "bird_height_source": ahead.depth_source,
    }  # fmt: skip
    made["mains"]["order"] = [
        {"place": place, "danger_after_h": hours, "number": number, "watts": watts}
        for place, hours, number, watts in ahead.mains.order
    ]
    for one in made["cold"]:
        one["flock"] = {key: one["flock"][key] for key in ("place", "batch")}
        one["reasons"] = [{"what": what, "by": by} for what, by in one["reasons"]]
    for one in made["heat"]:
        one["flock"] = {key: one["flock"][key] for key in ("place", "batch")}
    return made


def plain(value: Any) -> Any:
    """Nouns as plain values: instants and days as ISO text, arrays as lists, what is not finite as None."""
    kind: Any = type(value)
    if kind in _AS_THEY_ARE:
        return value
    if kind is float:
        return round(value, 4) if isfinite(value) else None
    if isinstance(value, tuple | list):
        return [one if type(one) in _AS_THEY_ARE else plain(one) for one in value]
    names = _names(kind)
    if names is not None:
        return {name: plain(getattr(value, name)) for name in names}
    if isinstance(value, np.ndarray):
        return [plain(v) for v in value.tolist()]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: plain(v) for key, v in value.items()}
    if isinstance(value, float):
        return round(value, 4) if isfinite(value) else None
    return value


@cache
def _names(kind: Any) -> tuple[str, ...] | None:
    """The fields of a dataclass; None for what is none."""
    return tuple(f.name for f in fields(kind)) if is_dataclass(kind) else None
