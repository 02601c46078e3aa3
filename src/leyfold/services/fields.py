"""Fields brought in from a map file, and kept as the farm's land."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts, folder_of
from leyfold.nouns.land import Land
from leyfold.services.ground import LAND_FILE

__all__ = ["Brought", "FieldSize", "bring_fields"]


@dataclass(frozen=True, slots=True)
class FieldSize:
    """A field's size as drawn, and what is left inside its margin and off every buffer."""

    id: str
    name: str
    area_m2: float
    perimeter_m: float
    usable_m2: float
    keep_off: int


@dataclass(frozen=True, slots=True)
class Brought:
    land: Land
    sizes: tuple[FieldSize, ...]
    remarks: tuple[str, ...]
    language: str


def bring_fields(where: Path, file: Path) -> Brought:
    """The land in `file` read, mended and written as the farm's land file; the version before is kept.

    BadInput, and nothing written, where anything in the file has more than one reading.
    """
    from leyfold.ground.geojson import write_geojson
    from leyfold.ground.inset import inset, outline
    from leyfold.ground.read import read_land

    texts = Texts(folder_of(where))
    farm = read_farm(texts)
    place = (farm.holding.latitude_deg, farm.holding.longitude_deg)
    land, remarks = read_land(file, name=file.name, place=place)
    expected = texts.read(LAND_FILE).sha if texts.has(LAND_FILE) else None
    texts.write(LAND_FILE, write_geojson(land), expected)
    sizes = []
    for field in land.fields:
        shape = outline(field)
        usable = inset(field).area
        sizes.append(FieldSize(field.id, field.name, shape.area, shape.length, usable, len(field.exclusions)))
    return Brought(land, tuple(sizes), tuple(map(str, remarks)), farm.holding.language)
