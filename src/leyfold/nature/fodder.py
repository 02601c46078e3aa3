"""Grass given and kept: rest, breaks for cattle, days left in a drought, hay ground."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["break_m2_per_day", "days_of_grass", "days_to_regrow", "hay_ha"]


def break_m2_per_day(
    heads: float,
    intake_kg_dm_per_d: float,
    cover_kg_per_ha: float,
    residual_kg_per_ha: float,
    used_share: float,
) -> float:
    """Ground cattle want for a day [m2]: heads x intake / ((cover - residual) x share used) x 10,000.

    ValueError unless cover > residual >= 0 and 0 < share <= 1.
    """
    eaten = float(number("heads", heads, least=0))
    eaten *= float(number("intake_kg_dm_per_d", intake_kg_dm_per_d, least=0))
    residual = float(number("residual_kg_per_ha", residual_kg_per_ha, least=0))
    there = float(number("cover_kg_per_ha", cover_kg_per_ha, above=residual)) - residual
    return eaten / (there * float(number("used_share", used_share, above=0, most=1))) * 10_000


def hay_ha(heads: float, winter_days: float, intake_kg_dm_per_d: float, yield_kg_per_ha: float) -> float:
    """Ground to shut up for hay [ha]: heads x days x intake x 1.1 / yield. A tenth is lost on the way (common
    practice)."""
    wanted = float(number("heads", heads, least=0)) * float(number("winter_days", winter_days, least=0))
    wanted *= float(number("intake_kg_dm_per_d", intake_kg_dm_per_d, least=0))
    return wanted * 1.1 / float(number("yield_kg_per_ha", yield_kg_per_ha, above=0))


def days_to_regrow(
    cover_kg_per_ha: float, residual_kg_per_ha: float, growth_kg_per_ha_day: ArrayLike
) -> float:
    """Days of rest until a sward grazed to its residual has its cover again: (cover - residual) / growth.

    `growth`: one rate, or a series by day; then days (fractional in the last) until it has grown that much.
    inf where it never does. ValueError unless cover >= residual >= 0 and no growth is missing.
    """
    residual = float(number("residual_kg_per_ha", residual_kg_per_ha, least=0))
    wanted = float(number("cover_kg_per_ha", cover_kg_per_ha, least=residual)) - residual
    growth = number("growth_kg_per_ha_day", growth_kg_per_ha_day)
    if growth.ndim == 0:
        return wanted / float(growth) if growth > 0 else (0.0 if wanted == 0 else np.inf)
    return _days_until(np.cumsum(growth), wanted)


def days_of_grass(
    above_residual_kg: float, demand_kg_per_day: ArrayLike, growth_kg_per_day: ArrayLike
) -> float:
    """Days until the grass above the residual is eaten: there / (demand - growth); inf where it lasts.

    All for the same ground. Rates: one each, or series by day; inf then means beyond the last day.
    """
    there = float(number("above_residual_kg", above_residual_kg, least=0))
    net = number("demand_kg_per_day", demand_kg_per_day, least=0)
    net = net - number("growth_kg_per_day", growth_kg_per_day)
    if net.ndim == 0:
        return there / float(net) if net > 0 else np.inf
    return _days_until(np.cumsum(net), there)


def _days_until(total: Array, wanted: float) -> float:
    """Fractional day on which a running total first reaches what is wanted."""
    if wanted <= 0:
        return 0.0
    reached = np.flatnonzero(total >= wanted)
    if reached.size == 0:
        return np.inf
    day = int(reached[0])
    before = float(total[day - 1]) if day else 0.0
    return day + (wanted - before) / (float(total[day]) - before)
