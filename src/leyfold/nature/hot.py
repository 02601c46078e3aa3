"""Hot days: indices of the heat that birds feel, and the state of alarm."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = [
    "HEAT_STATES",
    "heat_state",
    "tao_xin_2003_thvi_C",
    "zulovich_deshazer_1990_hens_C",
]

HEAT_STATES = ("normal", "alert", "danger", "emergency")
"""In words of Tao & Xin 2003: the body up to 1.0, 2.5, 4.0 K, or more, above its own temperature."""


def tao_xin_2003_thvi_C(  # noqa: N802
    dry_C: ArrayLike, wet_bulb_C: ArrayLike, wind_m_per_s: ArrayLike
) -> Array:
    """Heat felt by meat birds of market weight [°C]: (0.85 dry + 0.15 wet bulb) V^-0.058.

    `dry_C` 0 to 50, the wet bulb not above it, wind at the bird's height >= 0. Fitted at 35-41 °C and
    0.2-1.2 m/s on males of 46 d and 2.8 kg after 90 min: outside 0.2-1.2 the wind is taken as the nearer
    end, so still air is as 0.2 m/s; cooler air and younger birds are extrapolation. Source: Tao & Xin 2003,
    Trans. ASAE 46:491.
    """
    dry, wet = _dry_and_wet(dry_C, wet_bulb_C)
    moving = np.clip(number("wind_m_per_s", wind_m_per_s, least=0), 0.2, 1.2)
    felt: Array = (0.85 * dry + 0.15 * wet) * moving**-0.058
    return felt


def zulovich_deshazer_1990_hens_C(dry_C: ArrayLike, wet_bulb_C: ArrayLike) -> Array:  # noqa: N802
    """Heat felt by laying hens [°C]: 0.6 dry + 0.4 wet bulb, `dry_C` 0 to 50, the wet bulb not above it.

    Source: Zulovich & DeShazer 1990, ASAE paper 90-4021, from memory.
    """
    dry, wet = _dry_and_wet(dry_C, wet_bulb_C)
    return 0.6 * dry + 0.4 * wet


def heat_state(
    index_C: ArrayLike, *, alert_C: ArrayLike, danger_C: ArrayLike, emergency_C: ArrayLike
) -> Array:
    """The place in HEAT_STATES, 0 to 3, of an index that reached `alert_C` <= `danger_C` <= `emergency_C`."""
    alert, danger = number("alert_C", alert_C), number("danger_C", danger_C)
    emergency = number("emergency_C", emergency_C)
    if np.any(alert > danger) or np.any(danger > emergency):
        raise ValueError("alert_C, danger_C and emergency_C must not fall")
    index = number("index_C", index_C)
    state: Array = 1.0 * (index >= alert) + 1.0 * (index >= danger) + 1.0 * (index >= emergency)
    return state


def _dry_and_wet(dry_C: ArrayLike, wet_bulb_C: ArrayLike) -> tuple[Array, Array]:
    dry = number("dry_C", dry_C, least=0, most=50)
    wet = number("wet_bulb_C", wet_bulb_C, least=-20, most=50)
    if np.any(wet > dry):
        raise ValueError("wet_bulb_C is above dry_C")
    return dry, wet
