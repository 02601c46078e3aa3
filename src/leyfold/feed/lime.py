"""Layers' lime kept from birds that do not lay yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex

__all__ = ["Lime", "lime", "no_calcium"]

SOMEBODY = 0.5
"""A lot with less than half an expected bird is not there."""


@dataclass(frozen=True, slots=True)
class Lime:
    """The birds of `lot` get feed that holds more calcium than growers bear, from `first` to `last`, the last
    such day: given to them (`beside` None), or in a place they share with the lots `beside` that get it.
    `from_d` is the age from which pullets of the line may have it; cockerels never."""

    lot: str
    batch: str
    sex: Sex
    place: str
    feed: str
    calcium: float
    first: date
    last: date
    from_d: int
    beside: tuple[str, ...] | None


def no_calcium(farm: Farm, season: Season) -> tuple[str, ...]:
    """The feeds eaten whose calcium is not known: what they do to growers cannot be told."""
    return tuple(
        feed
        for k, feed in enumerate(season.feeds)
        if farm.feeds[feed].calcium is None and (season.feed_kind == k).any()
    )


def lime(farm: Farm, season: Season) -> tuple[Lime, ...]:
    """Every lot that would get layers' lime too early, by its own feeding or from the trough of others.

    Too early is before a cited lead (`feeding.lime_lead_d`) on the line's point of lay; too much is above
    `feeding.calcium_grower_most`.
    """
    bears, lead = figure("feeding.calcium_grower_most").value, figure("feeding.lime_lead_d").value
    limy = np.array(
        [(f := farm.feeds[name].calcium) is not None and f.value > bears for name in season.feeds] + [False]
    )
    gets = limy[season.feed_kind] & (season.heads >= SOMEBODY)  # kind -1 is the False at the end
    lines = {b.id: farm.lines[b.line] for b in season.plan.batches}
    found = []
    for i, lot in enumerate(season.lots):
        from_d = round(lines[lot.batch].point_of_lay_d.value - lead)
        unready = season.heads[i] >= SOMEBODY
        if lot.sex == "pullet":
            unready = unready & (season.age_d[i] < from_d)
        for spell in _spells(unready & gets[i]):
            found.append(_lime(farm, season, i, i, spell, from_d, None))
        others = [j for j, other in enumerate(season.lots) if j != i and other.place == lot.place]
        for spell in _spells(unready & ~gets[i] & gets[others].any(axis=0)):
            beside = [j for j in others if gets[j, spell[0] : spell[1] + 1].any()]
            names = tuple(season.lots[j].id for j in beside)
            found.append(_lime(farm, season, i, beside[0], spell, from_d, names))
    return tuple(sorted(found, key=lambda f: (f.first, f.lot)))


def _lime(
    farm: Farm,
    season: Season,
    lot: int,
    eater: int,
    spell: tuple[int, int],
    from_d: int,
    beside: tuple[str, ...] | None,
) -> Lime:
    first, last = spell
    kinds = season.feed_kind[eater, first : last + 1]
    limy = [season.feeds[k] for k in np.unique(kinds[kinds >= 0])]
    feed = max(limy, key=lambda name: f.value if (f := farm.feeds[name].calcium) is not None else 0.0)
    calcium = farm.feeds[feed].calcium
    assert calcium is not None, "only feeds of known calcium are limy"
    row = season.lots[lot]
    days = season.day(first), season.day(last)
    return Lime(row.id, row.batch, row.sex, row.place, feed, calcium.value, *days, from_d, beside)


def _spells(days: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last day of every unbroken run."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], days, [False])).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]
