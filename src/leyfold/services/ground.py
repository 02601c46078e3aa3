"""Where every shelter and net stands, from the farm's folder and its land."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType

from leyfold.farm.texts import folder_of
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import FarmGround, Land, SkirtGap, Terrain
from leyfold.nouns.season import Season
from leyfold.services.heights import heights_file
from leyfold.services.season import season_of

__all__ = ["LAND_FILE", "GroundAnswer", "gaps_on", "ground_of"]

LAND_FILE = "land.geojson"
STEEPEST = 0.2
"""Rise over run from which no dung is to be spread (Swedish advice of 2009; England names 21 % as a risk)."""


@dataclass(frozen=True, slots=True)
class GroundAnswer:
    farm: Farm
    season: Season
    land: Land
    ground: FarmGround
    inputs_sha256: str
    terrain: Terrain | None = None


def ground_of(
    where: Path,
    at: datetime,
    *,
    rest_days: int = 365,
    net_rest_days: int = 28,
    paddock_m2: float | None = None,
    before: Path | None = None,
    heights: Path | None = None,
    steepest: float = STEEPEST,
    on: date | None = None,
    standing: Mapping[str, str] = MappingProxyType({}),
) -> GroundAnswer:
    """The ground of the farm in `where` for its season, with what its records say up to `at`.

    `before`: GeoJSON of ground used in years before, as `leyfold.ground.laid` writes it. `heights`: a grid of
    heights, else the one that the farm file names; with one, ground steeper than `steepest` is kept off and
    contours are directions too. BadInput for a farm, land or grid that cannot be read. `on`, `standing`: laid
    again from where shelters really stand.
    """
    from leyfold.ground.laid import read_used
    from leyfold.ground.read import read_land
    from leyfold.ground.whole import whole_ground

    answer = season_of(where, at)
    farm = answer.farm
    file = folder_of(where) / LAND_FILE
    place = (farm.holding.latitude_deg, farm.holding.longitude_deg)
    land, _ = read_land(file, name=LAND_FILE, place=place)
    terrain: Terrain | None = None
    heights = heights or heights_file(farm, file.parent)
    if heights is not None:
        from leyfold.ground.terrain import on_terrain, read_terrain

        terrain = read_terrain(heights, land, name=heights.name)
        land = on_terrain(land, terrain, steepest=steepest)
    ground = whole_ground(
        farm,
        answer.season,
        land,
        rest_days=rest_days,
        net_rest_days=net_rest_days,
        paddock_m2=paddock_m2,
        before=read_used(before, land) if before else (),
        on=on,
        standing=standing,
    )
    files = [path.read_bytes() for path in (file, before, heights) if path is not None]
    sha = hashlib.sha256(b"".join((answer.inputs_sha256.encode(), *files))).hexdigest()
    return GroundAnswer(farm, answer.season, land, ground, sha, terrain)


def gaps_on(answer: GroundAnswer, on: date) -> dict[str, SkirtGap | None]:
    """The gap under each shelter's skirt on its stand of a day, None where heights are unknown."""
    from leyfold.ground.gap import skirt_gaps

    gaps: dict[str, SkirtGap | None] = {}
    if answer.terrain is not None:
        for layout, ground in answer.ground.laid:
            there = [(a.shelter, a.stand) for a in ground.days if a.on == on and a.stand is not None]
            found = skirt_gaps([stand for _, stand in there], layout.footprint, answer.terrain)
            gaps |= dict(zip((shelter for shelter, _ in there), found, strict=True))
    return gaps
