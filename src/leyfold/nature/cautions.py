"""Where work can hurt someone: keys of the words to say beside the figure."""

from __future__ import annotations

__all__ = ["ELECTRICITY", "LIFTING", "WIND"]

WIND = "nature.caution_wind"
LIFTING = "nature.caution_lifting"
ELECTRICITY = "nature.caution_electricity"
