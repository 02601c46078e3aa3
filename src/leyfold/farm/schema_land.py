"""The shape of what farm.toml says of the land, and of when cattle graze it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from leyfold.farm.quantity import DayOfYear, Strict

__all__ = ["GrazingTable", "LandTable"]


class LandTable(Strict):
    heights: Annotated[str, Field(min_length=1, max_length=120)] | None = None
    """File of heights beside this one: an ASCII grid, or a GeoTIFF (with the extra `gis`)."""


class GrazingTable(Strict):
    """From the first day at grass up to the day they come in, every year."""

    since: DayOfYear = Field(alias="from")
    until: DayOfYear
