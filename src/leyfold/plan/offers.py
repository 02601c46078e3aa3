"""What a planner may choose from: sets, the ways each can go, and days on which old hens can leave."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from leyfold.farm.tables import figure, table
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.stock import Line
from leyfold.season.dates import Window

__all__ = [
    "Ages",
    "Offer",
    "as_batch",
    "cold_floor_C",
    "feeding_d",
    "night_C",
    "nights_C",
    "off_grass_on",
    "offers",
    "offers_of",
    "set_days",
    "stored_d",
]

MONTH_D = 365.25 / 12
LONGEST_BROODING_D = 77
"""Chicks older than this are no chicks under heat any more: an offer that must wait longer is none."""
Ages = tuple[tuple[int, float], ...]
"""A way of killing: days from the line's age, and the share then taken of those left."""
WAITS_D = (0, 14)
"""Turnout offered: days after the first on which the nights are borne. A brooder can hold chicks back."""
HARDY_NIGHTS = 5
DRAFTS: tuple[Ages, ...] = (
    ((0, 1.0),),
    ((-14, 1.0),),
    ((14, 1.0),),
    ((-7, 0.5), (7, 1.0)),
)
"""Killing offered."""
LONGEST_WAIT_D = 31
"""A killing day is looked for so many days on."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One set of `line` on `set_on`, turned out on `turnout_on`, whatever its number of eggs. `drafts`: the
    ways in which its cockerels can be killed. `forbidden`: groups of what the farmer asked that rule it
    out."""

    line: str
    set_on: date
    hatched_on: date
    turnout_on: date
    sort_on: date
    house_on: date
    drafts: tuple[tuple[Draft, ...], ...]
    forbidden: tuple[str, ...] = ()
    ways_forbidden: tuple[tuple[str, ...], ...] = ()
    """The same of each way of killing."""
    wait_d: int = 0
    """Days that turnout waits, as offered."""
    ages: tuple[Ages, ...] = ()
    """Ages of each way of killing, as offered."""


def as_batch(
    offer: Offer, drafts: tuple[Draft, ...], name: str, eggs: int, farm: Farm, **places: Any
) -> Batch:
    """The batch that an offer taken up becomes."""
    return Batch(
        id=name,
        line=offer.line,
        origin="set",
        hatched_on=offer.hatched_on,
        arrives_on=offer.hatched_on,
        set_on=offer.set_on,
        eggs=eggs,
        stored_d=stored_d(farm, farm.lines[offer.line]),
        turnout_on=offer.turnout_on,
        sort_on=offer.sort_on,
        house_on=offer.house_on,
        drafts=drafts,
        **places,
    )


def stored_d(farm: Farm, line: Line) -> int:
    """Days over which the eggs of a set are gathered."""
    own = farm.planning.stored_d
    return round(line.storage_late_from_d.value) if own is None else own


def set_days(
    farm: Farm, span: Window, first: date, step_d: int = 1, last: date = date.max
) -> tuple[date, ...]:
    """Days from `first` on until `last`, `step_d` or more apart, on which eggs may be set."""
    asked = farm.planning
    start = max(first, asked.set_from or first)
    end = min(span.day(span.days - 1), asked.set_until or date.max, last)
    kept: list[date] = []
    for i in range(max((end - start).days + 1, 0)):
        day = start + timedelta(days=i)
        if WEEKDAYS[day.weekday()] in asked.set_weekdays and (not kept or (day - kept[-1]).days >= step_d):
            kept.append(day)
    return tuple(kept)


def offers(farm: Farm, span: Window, days: Sequence[date]) -> tuple[Offer, ...]:
    """Every way of the sets on `days`, in order of day, whose birds go through every step within the window:
    what becomes of birds half grown on its last day nobody has reckoned."""
    return tuple(
        offer for day in days for line in farm.lines.values() for offer in offers_of(farm, span, line, day)
    )


def feeding_d(line: Line) -> int:
    """The age from which pullets may eat what the hens eat: the last feed of theirs begins."""
    return max((phase.from_d for phase in line.feeding if phase.sex in (None, "pullet")), default=0)


def off_grass_on(farm: Farm, housed: date, last: date) -> date:
    """The day pullets leave the grass: for the house, or, where none is there, not before the last."""
    return housed if any(house.owned(housed) for house in farm.houses.values()) else last


def offers_of(
    farm: Farm,
    span: Window,
    line: Line,
    day: date,
    *,
    waits_d: Sequence[int] = WAITS_D,
    ages: Sequence[Ages] = DRAFTS,
) -> Iterator[Offer]:
    """The offers of one line's set on one day."""
    asked = farm.planning
    hatched = day + timedelta(days=round(line.incubation_d.value))
    turnout = _turnout(farm, line, hatched)
    last = span.day(span.days - 1)
    if turnout is None or hatched > last:
        return
    until = min(asked.grass_until or date.max, last)
    for wait in waits_d:
        on = turnout + timedelta(days=wait)
        if (on - hatched).days > LONGEST_BROODING_D:
            return
        sorted_on = max(hatched + timedelta(days=round(line.sort_d.value)), on)
        # With the hens they eat the hens' feed: no shared trough before it is theirs.
        grown = max(round(line.house_d.value), feeding_d(line))
        housed = max(hatched + timedelta(days=grown), sorted_on)
        ways = dict[tuple[Draft, ...], Ages]()
        for of in ages:
            drafts = _drafts(farm, line, hatched, sorted_on, of)
            if drafts and drafts[-1].on <= until:
                ways.setdefault(drafts, of)
        if ways and off_grass_on(farm, housed, last) <= until:
            yield Offer(
                line.id, day, hatched, on, sorted_on, housed, tuple(ways),
                wait_d=wait, ages=tuple(ways.values()),
            )  # fmt: skip


def _drafts(farm: Farm, line: Line, hatched: date, sorted_on: date, ages: Ages) -> tuple[Draft, ...]:
    """The days of a way of killing, none where some of it cannot be."""
    usual = hatched + timedelta(days=round(line.kill_d.value))
    found = [_killing_day(farm, max(usual + timedelta(days=d), sorted_on)) for d, _ in ages]
    drafts = tuple(Draft(on, share) for on, (_, share) in zip(found, ages, strict=True) if on is not None)
    return drafts if len({draft.on for draft in drafts}) == len(ages) else ()


def _killing_day(farm: Farm, day: date) -> date | None:
    """`day`, or the next on which there may be killing; None where a month has none."""
    asked = farm.planning
    for later in range(LONGEST_WAIT_D):
        on = day + timedelta(days=later)
        if WEEKDAYS[on.weekday()] in asked.kill_weekdays and on not in asked.closed:
            return on
    return None


def _turnout(farm: Farm, line: Line, hatched: date) -> date | None:
    """The first day from the line's age of turnout on when chicks of that age bear the typical night and the
    four after it, dry, bedded and out of the wind."""
    first = round(line.turnout_d.value)
    if farm.planning.grass_from is not None:
        first = max(first, (farm.planning.grass_from - hatched).days)
    ages = np.arange(first, max(LONGEST_BROODING_D, round(line.turnout_d.value)) + HARDY_NIGHTS)
    if len(ages) < HARDY_NIGHTS:
        return None
    warm = nights_C(farm, hatched + timedelta(days=first), len(ages)) >= cold_floor_C(ages)
    hardy = sliding_window_view(warm, HARDY_NIGHTS).all(axis=1)
    return hatched + timedelta(days=int(ages[hardy.argmax()])) if hardy.any() else None


def cold_floor_C(age_d: ArrayLike) -> NDArray[np.float64]:  # noqa: N802
    """The coldest air that a dry, bedded group bears out of the wind, at each age."""
    rule = table("tonight")["cold_floor"]
    return np.asarray(np.interp(np.asarray(age_d, dtype=np.float64), rule["age_d"], rule["floor_C"]))


def night_C(farm: Farm, day: date) -> float:  # noqa: N802
    """The typical minimum out of doors on the night of one day, as `nights_C`."""
    return float(_year_C(farm)[day.timetuple().tm_yday - 1])


def nights_C(farm: Farm, first: date, days: int) -> NDArray[np.float64]:  # noqa: N802
    """[day] the typical minimum out of doors from `first` on: the months' means, straight from mid-month to
    mid-month, less half of the daily range."""
    dates = np.datetime64(first, "D") + np.arange(days)
    return np.asarray(_year_C(farm)[(dates - dates.astype("datetime64[Y]")).astype(np.int64)])


def _year_C(farm: Farm) -> NDArray[np.float64]:  # noqa: N802
    own = farm.weather.climate.get("daily_range") or figure("climate.daily_range")
    return _by_day_C(tuple(f.value for f in farm.temperature_C), own.value)


@lru_cache(maxsize=8)
def _by_day_C(months_C: tuple[float, ...], daily_range_K: float) -> NDArray[np.float64]:  # noqa: N802
    """[day of the year] typical minima, of a leap year too."""
    at = (np.arange(366) + 0.5) / MONTH_D - 0.5
    low, means = np.floor(at).astype(np.int64), np.array(months_C)
    mean = means[low % 12] + (at - low) * (means[(low + 1) % 12] - means[low % 12])
    return np.asarray(mean - daily_range_K / 2)
