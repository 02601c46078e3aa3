"""Farms with prices, for tests of money."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from farms import farm
from leyfold.nouns.farm import Farm

PRICES = {
    "carcass": 12.0, "pullet": 21.0, "old_hen": 5.0, "egg": 0.4, "hatching_egg": 0.9, "day_old": 4.0,
    "killing": 3.5, "labour": 16.0, "electricity": 0.25, "bedding": 0.2, "water": 0.002, "delivery": 40.0,
}  # fmt: skip
FEED = 0.55


def priced(prices: dict[str, float] | None = None, feed: float = FEED, **changes: Any) -> Farm:
    made = farm(prices=PRICES if prices is None else prices, **changes)
    return replace(made, feeds={k: replace(f, price_per_kg=feed) for k, f in made.feeds.items()})
