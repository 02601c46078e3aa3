"""Whatever the plan: the sums agree, inside transfers cancel, and every choice has an answer or none."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.nouns.farm import BreedingPen
from leyfold.nouns.orders import WeightClass
from leyfold.nouns.plan import Plan
from leyfold.reckoning.keeping import hens, keeping
from leyfold.reckoning.layers import hatches
from leyfold.reckoning.matters import matters
from leyfold.reckoning.orders import promises, ring_first, supplies
from leyfold.reckoning.reckon import reckon
from leyfold.reckoning.room import pinches
from leyfold.reckoning.sums import by, by_month, cash_by_week, units
from leyfold.season.draw import draw
from leyfold.season.expect import expect
from money import priced
from unit.test_season_properties import plans

FARM = priced(
    pens={"pen": BreedingPen("pen", "tawny", 12, 2, settable_share=0.8)},
    weight_classes=(WeightClass("small", 1.1), WeightClass("large", 1.6)),
)


@settings(max_examples=10, deadline=None)
@given(plan=plans(), late=st.integers(0, 120))
def test_sums_agree_and_choices_answer(plan: Plan, late: int) -> None:
    first = min(b.set_on or b.arrives_on for b in plan.batches) + timedelta(days=late)
    plan = replace(plan, first=first, last=first + timedelta(days=400))
    season = expect(FARM, plan)
    money = reckon(FARM, season)
    total = money.total()
    scale = 1e-9 * max(sum(abs(e.sum) for e in money.entries), 1.0)
    assert np.isfinite(total)
    assert sum(p.margin for p in by(money, lambda e: e.batch).values()) == pytest.approx(total, abs=scale)
    assert sum(p.margin for p in by(money, lambda e: e.kind).values()) == pytest.approx(total, abs=scale)
    assert sum(by_month(money).values()) == pytest.approx(total, abs=scale)
    assert sum(e.sum for e in money.entries if e.rate.inside) == pytest.approx(0.0, abs=scale)
    apart = sum(e.sum for e in money.entries if e.rate.stock or e.rate.own_hours)
    cash = sum(m for _, m in cash_by_week(FARM, money))
    assert cash == pytest.approx(total - apart, abs=scale)
    for unit in units(money):
        assert (unit.cost is None) == (unit.number <= 0)
    kept = {b.id: k for b in season.plan.batches if (k := keeping(FARM, season, b)) is not None}
    for batch in season.plan.batches:
        flock = hens(FARM, season, batch)
        assert flock is None or flock.until_best >= max(flock.until_out, 0.0) - 1e-9
    hatches(FARM, season, money)
    pinches(FARM, season, kept)
    matters(FARM, season, money)
    found = supplies(FARM, season)
    killed = sum(float(season.killed[i].sum()) for i, x in enumerate(season.lots) if x.sex == "cockerel")
    assert sum(float(s.mean.sum()) for s in found) == pytest.approx(killed, abs=1e-6)
    promises(FARM, season, found)
    if found:
        ring_first(FARM, season, None, days=9, slips_on=found[0].on)


@settings(max_examples=6, deadline=None)
@given(plan=plans())
def test_draws_of_any_plan_are_reckoned(plan: Plan) -> None:
    season = expect(FARM, plan)
    draws = draw(FARM, season.plan, n=40, seed=1)
    bands = reckon(FARM, season, draws).bands
    assert bands is not None
    for band in (bands.margin, *bands.classes.values()):
        assert np.isfinite([band.low, band.middle, band.high]).all()
        assert band.low <= band.middle <= band.high
    promises(FARM, season, supplies(FARM, season, draws))
