"""The tables of a season as rows of plain values, units in the headings: for CSV and JSON."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

from leyfold.nouns.season import PlaceDays, Season
from leyfold.nouns.week import Week

__all__ = ["Sheet", "season_sheets", "write_sheets"]

Cell = str | float | int | None


@dataclass(frozen=True, slots=True)
class Sheet:
    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def records(self) -> list[dict[str, Cell]]:
        return [dict(zip(self.columns, row, strict=True)) for row in self.rows]


def season_sheets(season: Season, weeks: Sequence[Week]) -> tuple[Sheet, ...]:
    """lots (every lot on every day of its stay), places, farm, weeks, breaches, stays."""
    return (
        Sheet("lots", (*_LOT, *_LOT_DAY), tuple(_lots(season))),
        Sheet("places", _PLACE_DAY, tuple(_places(season))),
        Sheet("farm", _farm_columns(season), tuple(_farm(season))),
        Sheet("weeks", _week_columns(season), tuple(_week(season, week) for week in weeks)),
        Sheet("breaches", _BREACH, tuple(_breaches(season))),
        Sheet("stays", _STAY, tuple(_stays(season))),
    )


def write_sheets(sheets: Sequence[Sheet], folder: Path) -> tuple[Path, ...]:
    """One CSV a sheet into `folder`, made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for sheet in sheets:
        path = folder / f"{sheet.name}.csv"
        with path.open("w", encoding="utf-8", newline="") as out:
            page = csv.writer(out)
            page.writerow(sheet.columns)
            page.writerows(sheet.rows)
        written.append(path)
    return tuple(written)


_LOT = ("lot", "batch", "sex", "place", "date", "age_d", "feed")
_LOT_DAY = (
    *("heads", "weight_kg", "dead", "killed", "killed_kg", "feed_kg", "water_l"),
    *("n_kg", "p_kg", "k_kg", "eggs", "egg_kg"),
)


def _lots(season: Season) -> Iterator[tuple[Cell, ...]]:
    values = [getattr(season, name) for name in _LOT_DAY]
    # A draft leaves on the morning after the lot's last day, when the lot itself is no longer there.
    there = (season.feed_kind >= 0) | (season.killed > 0)
    for i, lot in enumerate(season.lots):
        for day in np.flatnonzero(there[i]).tolist():
            kind = int(season.feed_kind[i, day])
            yield (
                lot.id, lot.batch, lot.sex, lot.place, season.day(day).isoformat(), int(season.age_d[i, day]),
                season.feeds[kind] if kind >= 0 else None,
                *(float(value[i, day]) for value in values),
            )  # fmt: skip


_PLACE_DAY = ("place", "kind", "date", *(f.name for f in fields(PlaceDays)[2:]))


def _places(season: Season) -> Iterator[tuple[Cell, ...]]:
    for place in season.places.values():
        values = [getattr(place, name) for name in _PLACE_DAY[3:]]
        for day in range(season.days):
            yield (
                place.place,
                place.kind,
                season.day(day).isoformat(),
                *(float(value[day]) for value in values),
            )


_FARM_DAY = ("heads", "dead", "killed", "killed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg")


def _farm_columns(season: Season) -> tuple[str, ...]:
    return ("date", *_FARM_DAY, *(f"feed_{kind}_kg" for kind in season.feeds), "hatching_eggs")


def _farm(season: Season) -> Iterator[tuple[Cell, ...]]:
    sums = [getattr(season, name).sum(axis=0) for name in _FARM_DAY]
    sums += [(season.feed_kg * (season.feed_kind == i)).sum(axis=0) for i in range(len(season.feeds))]
    sums.append(season.hatching_eggs.sum(axis=0))
    for day in range(season.days):
        yield (season.day(day).isoformat(), *(float(value[day]) for value in sums))


_WEEK = (
    ("eggs_set", "eggs_set"),
    ("in_brooder_heads", "in_brooder"),
    ("at_grass_heads", "at_grass"),
    ("in_house_heads", "in_house"),
    ("pullets_heads", "pullets"),
    ("cockerels_heads", "cockerels"),
    ("alive_kg", "kg"),
    ("dead_heads", "dead"),
    ("killed_heads", "killed"),
    ("killed_kg", "killed_kg"),
    ("water_l", "water_l"),
    ("n_kg", "n_kg"),
    ("p_kg", "p_kg"),
    ("k_kg", "k_kg"),
    ("eggs", "eggs"),
    ("shelters", "shelters"),
    ("heaviest_heads", "heaviest_heads"),
    ("heaviest_kg_per_m2", "heaviest_kg_per_m2"),
    ("heaviest_kg_n_per_ha_pass", "heaviest_kg_n_per_ha"),
    ("brooder_floor_share", "floor_share"),
)
"""Heading with its unit, and the field of `Week`."""


def _week_columns(season: Season) -> tuple[str, ...]:
    return ("monday", *(heading for heading, _ in _WEEK), *(f"feed_{kind}_kg" for kind in season.feeds))


def _week(season: Season, week: Week) -> tuple[Cell, ...]:
    feed = (week.feed_kg[kind] for kind in season.feeds)
    return (week.monday.isoformat(), *(getattr(week, name) for _, name in _WEEK), *feed)


_BREACH = (
    "where",
    "limit",
    "quantity",
    "at_most",
    "first",
    "last",
    "worst",
    "worst_on",
    "source",
    "verified",
)


def _breaches(season: Season) -> Iterator[tuple[Cell, ...]]:
    for b in season.breaches:
        dates = (b.first.isoformat(), b.last.isoformat())
        limit = b.limit
        yield (
            b.where, limit.id, limit.quantity, limit.at_most, *dates, b.worst, b.worst_on.isoformat(),
            limit.source, limit.verified,
        )  # fmt: skip


_STAY = ("stay", "batch", "sex", "place", "first", "until", "share", "weight_factor")


def _stays(season: Season) -> Iterator[tuple[Cell, ...]]:
    for s in season.plan.stays:
        dates = (s.first.isoformat(), s.until.isoformat())
        yield (s.id, s.batch, s.sex or "both", s.place, *dates, s.share, s.weight_factor)
