"""What a season costs and brings."""

from __future__ import annotations

from leyfold.nouns.farm import Farm
from leyfold.nouns.reckoning import Entry, Reckoning
from leyfold.nouns.season import Season
from leyfold.reckoning.quantities import quantities
from leyfold.reckoning.rates import Rates

__all__ = ["reckon"]

OPTIONAL = frozenset({"water", "electricity", "bedding", "labour", "killing"})
"""A farm that names no price for these is taken to have none to pay: water of its own well, own hands."""


def reckon(farm: Farm, season: Season) -> Reckoning:
    """Every quantity of the season at the farm's rates.

    BadInput, naming the price, where something that must be bought or is sold has none. Hatching eggs and
    pullets pass inside the farm at the price of the same thing bought or sold.
    """
    rates = Rates(farm)
    entries = [
        Entry(rates[q.rate], q.batch, q.kind, q.amount)
        for q in quantities(farm, season)
        if q.rate not in OPTIONAL or rates.has(q.rate)
    ]
    of = {
        name: sum(float(e.quantity.sum()) for e in entries if e.rate.id == name)
        for name in ("carcass", "egg")
    }
    handed = sum(float(e.quantity.sum()) for e in entries if e.rate.id == "pullet_out")
    cocks = [i for i, lot in enumerate(season.lots) if lot.sex == "cockerel"]
    return Reckoning(
        first=season.first,
        days=season.days,
        currency=farm.holding.currency,
        entries=tuple(entries),
        carcass_kg=of["carcass"],
        carcasses=float(season.killed[cocks].sum()),
        pullets=handed,
        eggs=of["egg"],
    )
