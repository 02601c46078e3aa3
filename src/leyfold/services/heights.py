"""The farm's file of heights: the land as it lies, and the gaps under shelters on it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Ground, Land, Layout, SkirtGap, Terrain

__all__ = ["gaps_under", "heights_file", "heights_read", "lying"]


Gaps = dict[tuple[str, date], SkirtGap | None]
_GAPS: Kept[Gaps] = Kept(4)


def heights_file(farm: Farm, folder: Path) -> Path | None:
    """The file that farm.toml names, there or not; None where it names none."""
    return None if farm.heights is None else folder / farm.heights


def heights_read(farm: Farm, folder: Path) -> bytes:
    """All that the heights hang on, as bytes to be compared; empty where none are named or there."""
    file = heights_file(farm, folder)
    parts = [] if file is None else [file, file.with_suffix(".prj")]
    return b"".join(part.read_bytes() for part in parts if part.is_file())


def lying(land: Land, farm: Farm, folder: Path, steepest: float) -> tuple[Land, Terrain | None]:
    """The land with its slopes, ground steeper than `steepest` kept off, and the heights. BadInput for a file
    that is not there, cannot be read or does not cover the fields."""
    file = heights_file(farm, folder)
    if file is None:
        return land, None
    from leyfold.ground.terrain import on_terrain, read_terrain

    terrain = read_terrain(file, land, name=file.name)
    return on_terrain(land, terrain, steepest=steepest), terrain


def gaps_under(
    laid: Sequence[tuple[Layout, Ground]], terrain: Terrain | None, first: date, until: date
) -> Gaps:
    """The gap under each shelter's skirt on the first stand of each day; empty where no heights are named."""
    if terrain is None:
        return {}
    return _GAPS.get((laid, terrain, first, until), lambda: _under(laid, terrain, first, until))


def _under(laid: Sequence[tuple[Layout, Ground]], terrain: Terrain, first: date, until: date) -> Gaps:
    from leyfold.ground.gap import skirt_gaps

    found: Gaps = {}
    for layout, ground in laid:
        there = [
            (a.shelter, a.on, a.stand)
            for a in ground.days
            if first <= a.on < until and a.nth == 0 and a.stand is not None
        ]
        gaps = skirt_gaps([stand for *_, stand in there], layout.footprint, terrain)
        found |= {(shelter, on): gap for (shelter, on, _), gap in zip(there, gaps, strict=True)}
    return found
