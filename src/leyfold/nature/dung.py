"""Nutrients to the ground: the mass balance, and what handbooks publish to hold it against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["PUBLISHED", "Excretion", "balance_kg", "ipcc_2006_n_kg", "nitrogen_share"]

ROUNDING = 1e-12
"""Share of what is fed by which a balance of nothing may come out below zero."""


def nitrogen_share(protein_share: ArrayLike) -> Array:
    """Nitrogen in feed [kg/kg] from crude protein [kg/kg] 0..1: protein / 6.25, its definition."""
    return number("protein_share", protein_share, least=0, most=1) / 6.25


def balance_kg(
    feed_given_kg: ArrayLike,
    content_share: ArrayLike,
    *,
    gain_kg: ArrayLike,
    kept_per_gain: ArrayLike,
    egg_kg: ArrayLike = 0.0,
    kept_per_egg: ArrayLike = 0.0,
) -> Array:
    """Nutrient that reaches the ground [kg]: feed * content - gain * kept - eggs * kept.

    For N, P or K alike, over any span. `feed_given_kg` >= 0 includes the feed wasted: it lands there too.
    `content_share` 0..1 kg nutrient per kg feed; `gain_kg` live weight gained >= 0 and `kept_per_gain` 0..1
    kg/kg; `egg_kg` >= 0 and `kept_per_egg` 0..1 kg/kg. Broadcasts. Before any loss to the air.
    ValueError when more is kept than fed: the growth, the feed or the contents are wrong. Never negative.
    Published: N 29-30 g/kg gain (broilers; Fenske et al. 2022, Agriculture 13:33, 30), 19.4 g/kg egg.
    """
    fed = number("feed_given_kg", feed_given_kg, least=0) * number(
        "content_share", content_share, least=0, most=1
    )
    gained = number("gain_kg", gain_kg, least=0) * number("kept_per_gain", kept_per_gain, least=0, most=1)
    laid = number("egg_kg", egg_kg, least=0) * number("kept_per_egg", kept_per_egg, least=0, most=1)
    left = fed - gained - laid
    if np.any(left < -ROUNDING * fed):
        raise ValueError("more of the nutrient is kept in gain and eggs than the feed brings")
    return np.maximum(left, 0.0)


@dataclass(frozen=True, slots=True)
class Excretion:
    """A published figure for one bird or bird place over `days`. None is not published, not zero."""

    bird: str
    days: float
    n_kg: float
    p_kg: float | None
    k_kg: float | None
    manure_kg: float | None
    source: str


_USDA = (
    "USDA NRCS, Manure nutrient content, as excreted (sizes fit elemental P and K), from lb per 1000 lb unit"
)
_ASABE = "ASABE D384.2 (2005), Manure Production and Characteristics (from memory)"
_GERMAN = "German planning values by bird place, in Environ. Sci. Eur. 2021, s12302-021-00554-3, table 3"

PUBLISHED: tuple[Excretion, ...] = (
    Excretion("laying hen", 365, 0.559458, 0.207330, 0.216886, 41.549061, _USDA),
    Excretion("broiler", 365 / 6, 0.066734, 0.019401, 0.026092, 4.974562, _USDA),
    Excretion("laying hen", 1, 0.0016, 0.00048, 0.00058, 0.088, _ASABE),
    Excretion("broiler", 48, 0.053, 0.016, 0.031, 4.9, _ASABE),
    Excretion("laying hen", 365, 0.56, None, None, None, _GERMAN),
    Excretion("replacement pullet", 365, 0.26, None, None, None, _GERMAN),
    Excretion("broiler place", 365, 0.30, None, None, None, _GERMAN),
)
"""Excretion as published, to hold a farm's own balance against. The German hen ranges over 0.35-0.76 kg N."""

_IPCC = {
    ("hen", "Western Europe"): 0.96,
    ("pullet", "Western Europe"): 0.55,
    ("broiler", "Western Europe"): 1.10,
    ("hen", "North America"): 0.83,
    ("pullet", "North America"): 0.62,
}


def ipcc_2006_n_kg(weight_kg: ArrayLike, days: ArrayLike, *, bird: str, region: str) -> Array:
    """Nitrogen excreted [kg] by the default rates per 1000 kg of animal and day.

    `weight_kg` >= 0 mean weight, `days` >= 0; `bird` hen, pullet or broiler, `region` Western Europe or North
    America (hen and pullet). ValueError for a pair without a rate.
    Source: IPCC 2006 Guidelines vol. 4, table 10.19 (from memory).
    """
    if (bird, region) not in _IPCC:
        raise ValueError(f"no rate for {bird!r} in {region!r}; known: {sorted(_IPCC)}")
    return (
        number("weight_kg", weight_kg, least=0) * number("days", days, least=0) * _IPCC[bird, region] / 1000.0
    )
