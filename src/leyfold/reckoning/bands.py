"""The money of every season drawn: a reckoning's coefficients times the birds of the draws.

Feed and water of a draw are what the draw says (its weather, its growth), shared among the classes as their
birds would in an average year; carcasses weigh by the batch's luck. What does not go by the head stays.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.draws import Draws
from leyfold.nouns.reckoning import CLASSES, Class, MoneyBand, MoneyBands, Rate, Reckoning
from leyfold.nouns.season import Season
from leyfold.reckoning.quantities import Flow, Flows
from leyfold.reckoning.sums import MAIN

__all__ = ["Drawn", "bands", "drawn"]

Floats = NDArray[np.float64]

POINTS = (5, 50, 95)


class Drawn:
    """[draw] by class: all money, the takings for its main product, and how much of that there is (kg of
    carcass, pullets, eggs)."""

    def __init__(self, n: int) -> None:
        self.money: dict[Class, Floats] = {kind: np.zeros(n) for kind in CLASSES}
        self.main: dict[Class, Floats] = {kind: np.zeros(n) for kind in CLASSES}
        self.units: dict[Class, Floats] = {kind: np.zeros(n) for kind in CLASSES}

    @property
    def margin(self) -> Floats:
        return sum(self.money.values(), np.zeros(()))


def bands(reckoning: Reckoning, season: Season, flows: Flows, draws: Draws) -> MoneyBands:
    """Bands of the margin, of each class and of the cost of one unit."""
    found = drawn(reckoning, season, flows, draws)
    costs: dict[Class, MoneyBand | None] = {}
    for kind in CLASSES:
        units = found.units[kind]
        some = bool((units > 0).all())
        costs[kind] = _band((found.main[kind] - found.money[kind]) / units) if some else None
    return MoneyBands(
        draws.n, draws.seed, _band(found.margin), {k: _band(found.money[k]) for k in CLASSES}, costs
    )


def _band(values: Floats) -> MoneyBand:
    low, middle, high = (float(x) for x in np.percentile(values, POINTS))
    return MoneyBand(low, middle, high, float((values < 0).mean()))


def drawn(reckoning: Reckoning, season: Season, flows: Flows, draws: Draws) -> Drawn:
    """The money of each draw. ValueError where the draws are of another plan."""
    if draws.lots != season.lots or draws.first != season.first:
        raise ValueError("the draws are of another plan")
    rates = {e.rate.id: e.rate for e in reckoning.entries}
    found = Drawn(draws.n)
    cells = draws.cells.astype(np.float32)
    scale = _scales(season, draws, cells)
    expected = dict.fromkeys(CLASSES, 0.0)
    for flow in flows:
        rate = rates.get(flow.rate)
        if rate is None:
            continue
        sign = rate.figure.value * (1.0 if rate.takes else -1.0)
        for kind, amount in _by_class(flows, flow):
            if not amount.any():
                continue
            if flow.by == "heads":
                each = np.divide(amount, season.heads, out=np.zeros_like(amount), where=season.heads > 0)
                quantity = (_cells_of(draws, each) @ cells).astype(np.float64) * scale.get(flow.rate, 1.0)
                usual = float((each * season.heads).sum())
            else:
                quantity, usual = _killed(season, flows, draws, flow.rate, amount)
            expected[kind] += sign * usual
            found.money[kind] += sign * quantity
            if flow.rate in MAIN[kind]:
                found.main[kind] += sign * quantity
                found.units[kind] += quantity
    for kind in CLASSES:
        entries = [e for e in reckoning.entries if e.kind == kind]
        found.money[kind] += sum(e.sum for e in entries) - expected[kind]
        # Eggs set are laid like the others: what hens hand over is no loss of eggs.
        found.main[kind] += sum(e.sum for e in entries if _fixed_main(e.rate, e.quantity.sum()))
    return found


def _fixed_main(rate: Rate, amount: float) -> bool:
    return rate.id == "hatching_egg_out" or (rate.id == "egg" and amount < 0)


def _by_class(flows: Flows, flow: Flow) -> list[tuple[Class, Floats]]:
    if flow.kind is not None:
        return [(flow.kind, flow.amount)]
    return [(kind, flow.amount * flows.classes[kind]) for kind in CLASSES]


def _cells_of(draws: Draws, each: Floats) -> NDArray[np.float32]:
    """[cell] from [lot, day]."""
    flat = np.zeros(draws.cells.shape[0], dtype=np.float32)
    for lot, cells in enumerate(draws.at):
        flat[cells] = each[lot, draws.span(lot)]
    return flat


def _scales(season: Season, draws: Draws, cells: NDArray[np.float32]) -> dict[str, Floats]:
    """[draw] how much more of each feed and of water is used than the same birds use in an average year."""
    found = {}
    wanted: Sequence[tuple[str, Floats, Floats]] = (
        *(
            (f"feed.{feed}", season.feed_kg * (season.feed_kind == i), draws.feed_kg[:, i].sum(axis=1))
            for i, feed in enumerate(season.feeds)
        ),
        ("water", season.water_l, draws.water_l.sum(axis=1)),
    )
    for name, usual, total in wanted:
        each = np.divide(usual, season.heads, out=np.zeros_like(usual), where=season.heads > 0)
        of_birds = (_cells_of(draws, each) @ cells).astype(np.float64)
        found[name] = np.divide(total, of_birds, out=np.ones(draws.n), where=of_birds > 0)
    return found


def _killed(season: Season, flows: Flows, draws: Draws, rate: str, amount: Floats) -> tuple[Floats, float]:
    killed = season.killed.sum(axis=1)
    each = np.divide(amount.sum(axis=1), killed, out=np.zeros_like(killed), where=killed > 0)
    birds = draws.killed.astype(np.float64)
    if rate == "carcass":
        order = {batch.id: i for i, batch in enumerate(draws.plan.batches)}
        for lot, of in enumerate(season.lots):
            cv = flows.farm.lines[flows.batches[of.batch].line].of(of.sex).batch_weight_cv.value
            birds[lot] *= 1.0 + cv * draws.growth[order[of.batch]]
    return each @ birds, float(amount.sum())
