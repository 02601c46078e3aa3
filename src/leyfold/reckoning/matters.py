"""The figures that matter most: how far the margin moves when one of them goes from its low to its high end.

Prices move by a tenth either way. Figures of the birds move within the band that their line's own spread
gives them over a season's batches (5 to 95 %), or by a tenth where nothing is known of their spread. One
figure moves at a time, the plan stays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import sqrt

from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.reckoning import Reckoning
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Line, SexTraits
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect

__all__ = ["Matter", "matters"]

NINE_IN_TEN = 1.6449
TENTH = 0.1
Change = Callable[[float], Farm]


@dataclass(frozen=True, slots=True)
class Matter:
    """`figure` (its key in the words of this room) at `low` and at `high` times what it is, the margin there,
    and how much of the margin one per cent more of it moves. `spread`: the band comes from the birds."""

    figure: str
    low: float
    high: float
    margin_low: float
    margin_high: float
    per_cent: float
    spread: bool

    @property
    def swing(self) -> float:
        return abs(self.margin_high - self.margin_low)


def matters(farm: Farm, season: Season, reckoning: Reckoning) -> tuple[Matter, ...]:
    """Every figure tried, the one that moves the margin most first."""

    def margin(changed: Farm) -> float:
        found = reckon(changed, expect(changed, season.plan), own_hours=reckoning.own_hours)
        return found.total()

    rows = [*_prices(reckoning)]
    for name, low, high, spread, change in _birds(farm, season):
        ends = margin(change(low)), margin(change(high))
        per_cent = (ends[1] - ends[0]) / (100.0 * (high - low)) if high > low else 0.0
        rows.append(Matter(name, low, high, *ends, per_cent, spread))
    return tuple(sorted((r for r in rows if r.swing > 0), key=lambda r: -r.swing))


def _prices(reckoning: Reckoning) -> Iterator[Matter]:
    """The margin is linear in every price."""
    total = reckoning.total()
    by_price: dict[str, float] = {}
    for entry in reckoning.entries:
        name = "feed" if entry.rate.id.startswith("feed.") else entry.rate.price.partition(".")[2]
        by_price[name] = by_price.get(name, 0.0) + entry.sum
    for name, money in by_price.items():
        low, high = 1.0 - TENTH, 1.0 + TENTH
        moved = TENTH * money
        yield Matter(f"price_{name}", low, high, total - moved, total + moved, money / 100.0, False)


def _birds(farm: Farm, season: Season) -> Iterator[tuple[str, float, float, bool, Change]]:
    """(figure, low, high, whether the band is the birds' own, the farm with it so many times what it is)."""
    batches = [b for b in season.plan.batches if b.origin != "present"]
    lines = [farm.lines[b.line] for b in batches]
    sets = [farm.lines[b.line] for b in batches if b.origin == "set" and b.fertile is None]
    if sets:
        half = max(_hatch_spread(line) for line in sets) / sqrt(len(sets))
        most = 1.0 / max(line.hatch_of_fertile.value for line in sets)
        yield "hatch", *_within(half, most), True, lambda x: _lines(farm, lambda a: _hatch(a, x))
    if lines:
        half = max(_loss_spread(line) for line in lines) / sqrt(len(lines))
        yield "losses", *_within(half, 2.0), True, lambda x: _lines(farm, lambda a: _losses(a, x))
        half = NINE_IN_TEN * max(line.cockerel.batch_weight_cv.value for line in lines) / sqrt(len(lines))
        yield "growth", *_within(half, 2.0), True, lambda x: _lines(farm, lambda a: _growth(a, x))
    if season.eggs.any():
        most = 1.0 / max(line.hen.lay_a.value for line in farm.lines.values())
        yield "lay", *_within(TENTH, most), False, lambda x: _lines(farm, lambda a: _lay(a, x))


def _within(half: float, most: float) -> tuple[float, float]:
    return max(1.0 - half, 0.0), min(1.0 + half, most)


def _hatch_spread(line: Line) -> float:
    """Half of the band of one batch's hatch over its mean: beta by the line's concentration."""
    mean = line.fertility.value * line.hatch_of_fertile.value
    if not 0.0 < mean < 1.0:
        return 0.0
    return NINE_IN_TEN * sqrt(mean * (1.0 - mean) / (line.hatch_concentration.value + 1.0)) / mean


def _loss_spread(line: Line) -> float:
    lives = (
        line.survival_first_week.value
        * line.survival_brooder.value
        * line.survival_shelter.value
        * line.cockerel.survival_grower.value
    )
    if not 0.0 < lives < 1.0:
        return 0.0
    return NINE_IN_TEN * sqrt(lives * (1.0 - lives) / (line.loss_concentration.value + 1.0)) / (1.0 - lives)


def _lines(farm: Farm, change: Callable[[Line], Line]) -> Farm:
    lines: Mapping[str, Line] = {name: change(line) for name, line in farm.lines.items()}
    return replace(farm, lines=lines)


def _times(figure: Figure, x: float) -> Figure:
    return replace(figure, value=figure.value * x)


def _hatch(line: Line, x: float) -> Line:
    return replace(line, hatch_of_fertile=_times(line.hatch_of_fertile, x))


def _losses(line: Line, x: float) -> Line:
    def lives(figure: Figure) -> Figure:
        return replace(figure, value=max(1.0 - (1.0 - figure.value) * x, 0.0))

    def grown(traits: SexTraits) -> SexTraits:
        return replace(traits, survival_grower=lives(traits.survival_grower))

    return replace(
        line,
        survival_first_week=lives(line.survival_first_week),
        survival_brooder=lives(line.survival_brooder),
        survival_shelter=lives(line.survival_shelter),
        pullet=grown(line.pullet),
        cockerel=grown(line.cockerel),
    )


def _growth(line: Line, x: float) -> Line:
    def grown(traits: SexTraits) -> SexTraits:
        growth = replace(traits.growth, mature_kg=_times(traits.growth.mature_kg, x))
        return replace(traits, growth=growth)

    return replace(line, pullet=grown(line.pullet), cockerel=grown(line.cockerel))


def _lay(line: Line, x: float) -> Line:
    return replace(line, hen=replace(line.hen, lay_a=_times(line.hen.lay_a, x)))
