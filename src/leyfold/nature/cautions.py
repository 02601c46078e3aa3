"""Where work can hurt someone: keys of the words to say beside the figure."""

from __future__ import annotations

__all__ = ["ELECTRICITY", "FIRE", "KILLING", "KNIVES", "LIFTING", "SCALD", "STOP_ORDER", "WIND"]

WIND = "nature.caution_wind"
LIFTING = "nature.caution_lifting"
ELECTRICITY = "nature.caution_electricity"
KILLING = "nature.caution_killing"
KNIVES = "nature.caution_knives"
SCALD = "nature.caution_scald"
FIRE = "nature.caution_fire"
STOP_ORDER = "nature.caution_stop_order"
