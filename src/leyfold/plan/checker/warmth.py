"""Warmth: lamps and fuses over brooders, groups in shelters on cold nights."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from math import floor

import numpy as np

from leyfold.farm.tables import figure, table
from leyfold.nouns.farm import Brooder, Farm
from leyfold.nouns.planned import Finding
from leyfold.nouns.stock import SEXES
from leyfold.plan.checker.book import Book, Stand
from leyfold.plan.checker.days import Floats, runs

__all__ = ["cold_nights", "warmth"]

MONTH_D = 365.25 / 12
HATCH_C, LESS_A_DAY_K = 35.0, 3.0 / 7.0
LAMP_W, LAMP_AT_C = 250.0, 10.0
BARN_C = (-40.0, 40.0)


def warmth(book: Book) -> Iterator[Finding]:
    """Chicks under too little heat, fuses that carry too many lamps, too many birds together in the cold. The
    barn of a brooder is taken to be as cold as the typical night outside."""
    nights = np.array([_night(book.farm, book.days.day(i)) for i in range(book.days.count)])
    for name, brooder in book.farm.brooders.items():
        if brooder.lamps and name in book.at:
            barn = np.clip(nights, *BARN_C)
            chicks = book.sum(name, lambda s: s.heads * _wants(s, barn))  # noqa: B023 - summed at once
            carried = np.array([_carried(book.farm, brooder, float(c)) for c in barn])
            yield from runs(book.days, "lamps", name, chicks, carried)
            yield from _fuses(book, brooder)
    most = book.farm.planning.cold_group
    for name in book.farm.shelters if most is not None else ():
        assert most is not None
        cold = np.zeros(book.days.count, dtype=bool)
        for stand in book.at.get(name, ()):
            cold |= (stand.heads > 0) & (nights < _bears(stand) + _watch(book.farm))
        yield from runs(book.days, "cold_group", name, np.where(cold, book.heads(name), 0.0), float(most))


def cold_nights(book: Book) -> Iterator[Finding]:
    """Batches in shelters on nights typically colder than a dry, bedded group of their age bears."""
    nights = np.array([_night(book.farm, book.days.day(i)) for i in range(book.days.count)])
    growing = int(table("tonight")["cold_floor"]["age_d"][-1])
    for batch in book.plan.batches:
        lacks = np.zeros(book.days.count)
        for stand in (s for sex in SEXES for s in book.of.get((batch.id, sex), ())):
            young = (stand.heads > 0) & (stand.flock.age_d <= growing)
            if stand.stay.place in book.farm.shelters:
                lacks = np.maximum(lacks, np.where(young, _bears(stand) - nights, 0.0))
        yield from runs(book.days, "cold_nights", batch.id, lacks, 0.0)


def _wants(stand: Stand, barn: Floats) -> Floats:
    """[day] what part of a day-old a chick counts for: the warmth it lacks over what a day-old lacks."""
    lacks = np.maximum(HATCH_C - LESS_A_DAY_K * np.maximum(stand.flock.age_d, 0.0) - barn, 0.0)
    return lacks / np.maximum(HATCH_C - barn, 1.0)


def _carried(farm: Farm, brooder: Brooder, barn_C: float) -> float:
    """Day-olds that the lamps carry with the worst lamp or fuse out, where the farm asks for that."""
    watts = {fuse: _burns(brooder, fuse) for fuse in {lamp.fuse for lamp in brooder.lamps}}
    all_w = sum(lamp.watts * watts[lamp.fuse] for lamp in brooder.lamps)
    out = {
        "nothing": 0.0,
        "lamp": max(lamp.watts * watts[lamp.fuse] for lamp in brooder.lamps),
        "fuse": max(
            sum(lamp.watts * share for lamp in brooder.lamps if lamp.fuse == fuse)
            for fuse, share in watts.items()
        ),
    }[farm.planning.heat_without]
    short = max(LAMP_AT_C - barn_C, 0.0)
    each = figure("space.lamp_chicks_at_10C").value - figure("space.lamp_chicks_per_K").value * short
    return max(each, 0.0) * (all_w - out) / LAMP_W


def _burns(brooder: Brooder, fuse: str) -> float:
    """The share of its lamps that a fuse bears."""
    on = sum(lamp.watts for lamp in brooder.lamps if lamp.fuse == fuse)
    rated = brooder.fuses_a.get(fuse)
    return 1.0 if rated is None else min(1.0, rated * figure("kit.mains_v").value / on)


def _fuses(book: Book, brooder: Brooder) -> Iterator[Finding]:
    used = book.heads(brooder.id) > 0
    volts = figure("kit.mains_v").value
    for fuse, rated in brooder.fuses_a.items():
        amps = sum(lamp.watts for lamp in brooder.lamps if lamp.fuse == fuse) / volts
        yield from runs(book.days, "fuse", brooder.id, np.where(used, amps, 0.0), rated, fuse=fuse)


def _bears(stand: Stand) -> Floats:
    """[day] the coldest air that a dry, bedded group bears out of the wind."""
    rule = table("tonight")["cold_floor"]
    return np.asarray(np.interp(stand.flock.age_d, rule["age_d"], rule["floor_C"]), dtype=np.float64)


def _watch(farm: Farm) -> float:
    """K over what they bear from which a night counts as cold."""
    return (farm.tonight.get("cold_watch") or figure("tonight.cold_watch")).value


def _night(farm: Farm, day: date) -> float:
    """Typical minimum out of doors [°C]: months' means, straight from mid-month to mid-month, less half of
    the daily range."""
    means = [figure.value for figure in farm.temperature_C]
    at = (day.timetuple().tm_yday - 0.5) / MONTH_D - 0.5
    whole = floor(at)
    low, high = means[whole % 12], means[(whole + 1) % 12]
    span = farm.weather.climate.get("daily_range") or figure("climate.daily_range")
    return low + (high - low) * (at - whole) - span.value / 2
