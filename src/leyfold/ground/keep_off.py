"""How far to keep off each kind of thing drawn on the land: farm/tables/keep_off.toml."""

from __future__ import annotations

from leyfold.farm.tables import table

__all__ = ["LAWFUL", "PLACES", "keep_off_kinds"]

PLACES = ("gate", "water_point")
"""Kinds that mark a place to come in or to fetch water at, not ground to keep off."""

LAWFUL = ("well", "water", "ditch")
"""Kinds whose distance is a matter of law, which differs by country."""


def keep_off_kinds() -> tuple[str, ...]:
    """Every kind of ground to keep off, in the order of the table."""
    return tuple(table("keep_off"))
