"""What a season costs and brings."""

from __future__ import annotations

from dataclasses import replace

from leyfold.nouns.draws import Draws
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.reckoning import Entry, Reckoning
from leyfold.nouns.season import Season
from leyfold.reckoning.bands import bands
from leyfold.reckoning.lump import Lump
from leyfold.reckoning.quantities import Flows, by_batch, lumps
from leyfold.reckoning.rates import OPTIONAL, UNITS, Rates, priced_as

__all__ = ["reckon"]


def reckon(farm: Farm, season: Season, draws: Draws | None = None, *, own_hours: bool = True) -> Reckoning:
    """Every quantity of the season at the farm's rates: its gross margin (no rent, kit or loans in it).

    Birds and eggs there at first count as costs, those left at the end as takings (`reckoning.worth`).
    Hatching eggs and pullets pass inside the farm at the price of the same thing bought or sold. Without
    `own_hours` the farm's own work costs nothing. With `draws` of the same plan the answer has bands.

    BadInput, naming every price, where something that must be bought or is sold has none.
    """
    rates = Rates(farm)
    flows = Flows(farm, season, rates)
    found = [*lumps(farm, season, flows)]
    for flow in flows:
        found += by_batch(season, flows, flow.rate, flow.amount, flow.kind)
    entries, unpriced = _priced(rates, found)
    if not own_hours:
        entries = [entry for entry in entries if not entry.rate.own_hours]

    def amount(*names: str) -> float:
        return sum(float(e.quantity.sum()) for e in entries if e.rate.id in names)

    cocks = [i for i, lot in enumerate(season.lots) if lot.sex == "cockerel"]
    reckoning = Reckoning(
        first=season.first,
        days=season.days,
        currency=farm.holding.currency,
        entries=tuple(entries),
        carcass_kg=amount("carcass"),
        carcasses=float(season.killed[cocks].sum()),
        pullets=amount("pullet_out"),
        eggs=float(season.eggs.sum()),
        unpriced=unpriced,
        own_hours=own_hours,
    )
    if draws is None:
        return reckoning
    return replace(reckoning, bands=bands(reckoning, season, flows, draws))


def _priced(rates: Rates, lumps: list[Lump]) -> tuple[list[Entry], dict[str, float]]:
    """The entries, and what has no price and may do without. BadInput with every price that is lacking."""
    entries, unpriced, faults = [], dict[str, float](), {}
    for lump in lumps:
        price = priced_as(lump.rate)
        if rates.has(lump.rate):
            entries.append(Entry(rates[lump.rate], lump.batch, lump.kind, lump.amount))
        elif price in OPTIONAL:
            unpriced[price] = unpriced.get(price, 0.0) + float(lump.amount.sum())
        else:
            faults[price] = rates.lacking(lump.rate)
    if faults:
        order = [*(f"feed.{feed}" for feed in rates.farm.feeds), *UNITS]
        raise BadInput(*(faults[price] for price in sorted(faults, key=order.index)))
    return entries, {k: v for k, v in unpriced.items() if v > 0}
