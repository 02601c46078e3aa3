"""A drought: ground left, wider strips, hay and what it may cost, cattle sold, water drawn and hauled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from math import ceil

import numpy as np

from leyfold.farm.tables import figure
from leyfold.feed.haul import hauled
from leyfold.nature.fodder import break_m2_per_day
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.needs import ground_used
from leyfold.plan.replan.numbers.view import View
from leyfold.season.grazing import grazes

__all__ = ["cattle_fed", "ground_left", "water_drawn"]

LOST = 1.1
"""Hay bought over hay eaten: a tenth is lost on the way (common practice)."""
COVER, RESIDUAL, USED = 2700.0, 1600.0, 0.9
"""Of a sward that cattle come into, leave behind, and the share of it that they use: kg dry matter a hectare.
Common practice; half the standing grass is taken for a drought."""
A_DAY = timedelta(days=1)
M3_L = 1000.0


def _span(view: View) -> tuple[date, date]:
    ends = [s.until for s in view.case.of("drought") if s.until is not None]
    starts = [s.first for s in view.case.of("drought")]
    return max(min(starts, default=view.day), view.day), max(ends, default=view.day)


def ground_left(view: View) -> Iterator[Number]:
    """Fresh ground under shelters by the end of the drought and of the season, against what there is; and the
    same with a strip left between."""
    used = ground_used(view.case, view.now.season)
    _, until = _span(view)
    at = min(max(view.now.season.index(until), 1), view.now.season.days)
    by_end, whole = float(used[:at].sum()), float(used.sum())
    most = min((grass.m2 for grass in view.case.farm.planning.fresh), default=None)
    a_day = float(used[view.today()])
    words = {"a_day": a_day, "by_end": by_end, "until": until, "whole": whole}
    if most is None:
        yield view.number("ground_unknown_m2", by_end, None, until, **words)
        return
    lasts = np.flatnonzero(np.cumsum(used) > most)
    key = "ground_lasts_m2" if not lasts.size else "ground_ends_m2"
    ends = view.now.season.day(int(lasts[0])) if lasts.size else until
    yield view.number(key, most, None, ends, there=most, ends=ends, **words)
    wide = whole + by_end
    key = "strips_wider_m2" if wide <= most else "strips_wider_short_m2"
    yield view.number(key, wide, None, until, wide=wide, there=most, until=until)


def cattle_fed(view: View) -> Iterator[Number]:
    """Hay if no grass grows at all, by herd; what each beast sold spares; how wide the break of a day is."""
    first, until = _span(view)
    a_head = figure("feeding.cattle_water_l_per_d").value
    for herd in view.case.farm.cattle.values():
        days = sum(grazes(view.case.farm, herd, first + i * A_DAY) for i in range((until - first).days))
        eats = herd.intake_kg_dm_per_d
        if eats is None or days == 0:
            if days:
                yield view.number("hay_unknown", None, herd.id, until, herd=herd.id)
            continue
        kg = days * herd.heads * eats * LOST
        yield view.number(
            "hay_kg", kg, herd.id, until, herd=herd.id, heads=herd.heads, days=days, kg=kg, cent=0.01 * kg
        )
        one = days * eats * LOST
        yield view.number(
            "beast_sold_kg", one, herd.id, until, kg=one, water=a_head * days, herd=herd.id, a_day=a_head
        )
        whole, half = (
            break_m2_per_day(herd.heads, eats, RESIDUAL + part * (COVER - RESIDUAL), RESIDUAL, USED)
            for part in (1.0, 0.5)
        )
        yield view.number(
            "break_m2", half, herd.id, first, herd=herd.id, whole=whole, half=half, above=COVER - RESIDUAL
        )


def water_drawn(view: View) -> Iterator[Number]:
    """Litres of the worst day in trips of the tank, and all that is drawn from lake or well by the end."""
    first, until = _span(view)
    days = [h for h in hauled(view.case.farm, view.now.season) if first <= h.day < until]
    if not days:
        return
    worst = max(days, key=lambda h: h.birds_l + h.cattle_l)
    total = sum(h.birds_l + h.brooder_l + h.cattle_l for h in days)
    words = {"on": worst.day, "birds": worst.birds_l, "cattle": worst.cattle_l}
    litres = worst.birds_l + worst.cattle_l
    if worst.trips is None:
        yield view.number("water_no_tank_l", litres, None, worst.day, **words)
    else:
        yield view.number(
            "water_trips_l", litres, None, worst.day, trips=worst.trips, every=worst.trips_all, **words
        )
    yield view.number("water_drawn_m3", total / M3_L, None, until, m3=ceil(total / M3_L), until=until)
