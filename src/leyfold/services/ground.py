"""Where every shelter and net stands, from the farm's folder and its land."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from leyfold.nouns.farm import Farm
from leyfold.nouns.land import FarmGround, Land
from leyfold.nouns.season import Season
from leyfold.services.season import season_of

__all__ = ["LAND_FILE", "GroundAnswer", "ground_of"]

LAND_FILE = "land.geojson"


@dataclass(frozen=True, slots=True)
class GroundAnswer:
    farm: Farm
    season: Season
    land: Land
    ground: FarmGround
    inputs_sha256: str


def ground_of(
    where: Path, at: datetime, *, rest_days: int = 365, paddock_m2: float | None = None,
    before: Path | None = None,
) -> GroundAnswer:
    """The ground of the farm in `where` for its season, with what its records say up to `at`.

    `before`: GeoJSON of ground used in years before, as `leyfold.ground.laid` writes it. BadInput for a farm
    or land that cannot be read.
    """
    from leyfold.ground.laid import read_used
    from leyfold.ground.read import read_land
    from leyfold.ground.whole import whole_ground

    answer = season_of(where, at)
    farm = answer.farm
    file = (where.parent if where.is_file() else where) / LAND_FILE
    place = (farm.holding.latitude_deg, farm.holding.longitude_deg)
    land, _ = read_land(file, name=LAND_FILE, place=place)
    used = read_used(before, land) if before else ()
    ground = whole_ground(farm, answer.season, land, rest_days=rest_days, paddock_m2=paddock_m2, before=used)
    sha = hashlib.sha256(answer.inputs_sha256.encode() + file.read_bytes()).hexdigest()
    return GroundAnswer(farm, answer.season, land, ground, sha)
