"""What nights, hot days and gusts are judged by: the farm's own word, else the cited table."""

from __future__ import annotations

from leyfold.farm.tables import figure, table
from leyfold.nature.cold import ColdRule
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure

__all__ = ["cold_rule", "tonight", "tonight_figure"]


def tonight_figure(farm: Farm, name: str) -> Figure:
    """The figure `name` of the table of tonight, the farm's own where it gives one."""
    return farm.tonight.get(name) or figure(f"tonight.{name}")


def tonight(farm: Farm, name: str) -> float:
    """The value alone."""
    return tonight_figure(farm, name).value


def cold_rule(farm: Farm) -> ColdRule:
    """The one table of floors by age with what is added to it (all guesses, see farm/tables/tonight.toml)."""
    row = table("tonight")["cold_floor"]
    return ColdRule(
        tuple(float(a) for a in row["age_d"]),
        tuple(float(c) for c in row["floor_C"]),
        tonight(farm, "bare_or_wet"),
        tonight(farm, "wind_chill"),
        tonight(farm, "wind_chill_most"),
        tonight(farm, "group_easy"),
        tonight(farm, "cold_watch"),
        tonight(farm, "cold_danger"),
    )
