"""Chances that belong to the farm as a whole: its own word, else the cited table."""

from __future__ import annotations

from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure

__all__ = ["risk", "risk_figure"]


def risk_figure(farm: Farm, name: str) -> Figure:
    """The figure `name` of the table of risks, the farm's own where it gives one."""
    return farm.risks.get(name) or figure(f"risks.{name}")


def risk(farm: Farm, name: str) -> float:
    """The value alone."""
    return risk_figure(farm, name).value
