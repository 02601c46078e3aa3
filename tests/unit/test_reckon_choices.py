"""What a choice is worth, and what can be promised."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import MINE, farm
from leyfold.nouns.draws import Draws
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Limit
from leyfold.nouns.orders import Order, WeightClass
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.season import Season
from leyfold.reckoning.classes import shares
from leyfold.reckoning.keeping import hens, keeping
from leyfold.reckoning.layers import hatches
from leyfold.reckoning.orders import filled, promises, ring_first, supplies
from leyfold.reckoning.reckon import reckon
from leyfold.reckoning.room import pinches
from leyfold.season.draw import draw
from money import PRICES, priced
from seasons import hatch, season

CLASSES = (WeightClass("light", 1.2), WeightClass("middle", 1.5), WeightClass("heavy", 1.8))
FIRST, LAST = date(2027, 5, 25), date(2027, 6, 15)


def two_drafts() -> Plan:
    drafts = (Draft(FIRST, 0.5), Draft(LAST, 1.0))
    return Plan((hatch("early", date(2027, 1, 18), 200, drafts=drafts),))


def order(name: str, number: int, on: date, weight_class: str | None = None) -> Order:
    return Order(name, f"c-{name}", number, on, weight_class)


@cache
def promised() -> tuple[Farm, Season, Draws]:
    its = priced(weight_classes=CLASSES)
    made = season(its, two_drafts())
    return its, made, draw(its, made.plan, n=400, seed=2)


# Another day ------------------------------------------------------------------------------------------------


def latest(carcass: float) -> int | None:
    its = priced({**PRICES, "carcass": carcass})
    made = season(its, two_drafts())
    kept = keeping(its, made, made.plan.batches[0])
    assert kept is not None
    return kept.latest_d


def test_the_dearer_the_carcass_the_longer_he_pays() -> None:
    """The trade's direction: paid well he earns for weeks past a hundred days, paid half he is soon done, and
    there is a price at which no day after turnout pays."""
    well, half, little, none = (latest(p) for p in (14.5, 9.0, 6.0, 2.0))
    assert well is not None
    assert half is not None
    assert well > 115
    assert well > half > 60
    assert little is None or little < half
    assert none is None


def test_a_day_is_gain_less_feed_water_work_and_losses() -> None:
    its = priced()
    made = season(its, two_drafts())
    batch = made.plan.batches[0]
    kept = keeping(its, made, batch)
    assert kept is not None
    age = kept.planned_d
    day = next(d for d in kept.days if d.age_d == age)
    line = its.lines["tawny"]
    curve = line.cockerel.growth

    def weight(at: float) -> float:
        fall = np.exp(-curve.rate_per_d.value * (at - curve.inflection_d.value))
        return float(curve.mature_kg.value * np.exp(-fall))

    gain = (weight(age + 1) - weight(age)) * line.dressing_share.value * PRICES["carcass"]
    assert day.takings == pytest.approx(gain)
    assert day.earns == pytest.approx(day.takings - day.feed - day.water - day.labour - day.loss)
    assert min(day.feed, day.water, day.labour, day.loss) > 0
    week = kept.over(age, age + 7)
    assert week == pytest.approx(sum(d.earns for d in kept.days if age <= d.age_d < age + 7))
    assert kept.over(age, age) == 0.0


def test_past_his_age_he_is_no_roasting_bird() -> None:
    its = priced({**PRICES, "carcass": 30.0})
    made = season(its, two_drafts())
    kept = keeping(its, made, made.plan.batches[0])
    assert kept is not None
    assert kept.capped
    assert kept.latest_d == 126


def old_flock() -> Plan:
    old = Batch(
        "old", "tawny", "present", date(2026, 4, 1), date(2027, 3, 1), heads={"pullet": 60.0}, house="coop"
    )
    return Plan((old,), first=date(2027, 3, 1), last=date(2027, 12, 26))


def test_old_hens_stay_as_long_as_their_eggs_pay() -> None:
    best = []
    for egg in (0.05, 0.30, 0.60):
        its = priced({**PRICES, "egg": egg})
        made = season(its, old_flock())
        flock = hens(its, made, made.plan.batches[0])
        assert flock is not None
        earned = np.cumsum([d.earns for d in flock.days])
        assert flock.until_best == pytest.approx(max(float(earned.max()), 0.0))
        best.append(flock.best_on)
    assert best[0] == date(2027, 3, 1)
    assert best[0] <= best[1] <= best[2]
    assert best[2] > best[0]


def test_pullets_still_to_be_housed_are_no_old_hens() -> None:
    young = Batch(
        "young", "tawny", "present", date(2027, 1, 4), date(2027, 3, 1), heads={"pullet": 60.0}, house="coop"
    )
    its = priced()
    made = season(its, Plan((young,), first=date(2027, 3, 1), last=date(2028, 2, 27)))
    assert made.eggs.any()
    assert hens(its, made, made.plan.batches[0]) is None


def test_early_hatches_lay_this_year_and_late_ones_do_not() -> None:
    its = priced(houses=farm().houses)
    plan = Plan(
        (hatch("march", date(2027, 2, 22), 100), hatch("may", date(2027, 4, 26), 100)), last=date(2028, 1, 2)
    )
    made = season(its, plan)
    early, late = hatches(its, made, reckon(its, made))
    assert (early.batch, late.batch) == ("march", "may")
    assert early.day_h > 15.0
    assert late.day_h < 12.0
    assert early.eggs > late.eggs
    assert early.first_egg_on is not None
    assert early.pays == pytest.approx(early.earns + early.worth_left)


def test_too_few_shelters_are_priced_every_way() -> None:
    tight = (Limit("room", "kg_per_m2", "shelter", 4.0, MINE, True),)
    its = priced({**PRICES, "shelter": 380.0}, limits=tight, shelters={"s1": farm().shelters["s1"]})
    made = season(its, two_drafts())
    assert made.breaches
    kept = keeping(its, made, made.plan.batches[0])
    assert kept is not None
    found = pinches(its, made, {"early": kept})
    assert found
    pinch = max(found, key=lambda p: p.birds)
    ways = {way.how: way for way in pinch.ways}
    assert set(ways) >= {"build", "buy", "barn"}
    assert ways["build"].cost is None
    assert ways["build"].lacking == ("prices.shelter_timber",)
    for way in pinch.ways:
        if way.cost is not None:
            assert way.cost == pytest.approx(sum(n * each for _, n, each in way.terms))
    costs = [way.cost for way in pinch.ways if way.cost is not None]
    assert costs == sorted(costs)
    assert ways["buy"].terms[0][1:] == (pinch.shelters / 8, 380.0)
    assert 0 < pinch.birds < made.heads.sum(axis=0).max()


# Promises ---------------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(mean=st.floats(0.3, 4.0), cv=st.floats(0.0, 0.4), upper=st.floats(0.0, 0.9), part=st.floats(0.05, 1.0))
def test_shares_by_class_sum_to_one_and_slices_to_the_whole(
    mean: float, cv: float, upper: float, part: float
) -> None:
    edges = np.array([0.0, 1.2, 1.5, 1.8, np.inf])
    lower = upper + (1.0 - upper) * part
    found = shares(mean, cv, (upper, lower), edges)
    assert found.sum() == pytest.approx(1.0)
    assert (found >= 0).all()
    whole = shares(mean, cv, (0.0, 1.0), edges)
    parts = [(0.0, upper), (upper, lower), (lower, 1.0)]
    together = sum(shares(mean, cv, p, edges) * (p[1] - p[0]) for p in parts if p[1] - p[0] > 1e-9)
    assert together == pytest.approx(whole, abs=1e-6)


def test_the_heaviest_half_against_birds_drawn_one_by_one() -> None:
    """20,000 normal weights sorted, the upper half counted by class: within 4 standard errors."""
    birds = np.sort(np.random.default_rng(5).normal(1.6, 0.18, 20_000))[10_000:]
    edges = np.array([0.0, 1.2, 1.5, 1.8, np.inf])
    counted = np.histogram(birds, edges)[0] / birds.size
    found = shares(1.6, 0.18 / 1.6, (0.0, 0.5), edges)
    assert found == pytest.approx(counted, abs=4 * 0.5 / birds.size**0.5)
    middle = NormalDist(1.6, 0.18).cdf(1.8)
    assert found[3] == pytest.approx((1 - middle) / 0.5)


def test_the_first_draft_is_the_heavier() -> None:
    its, made, draws = promised()
    first, last = supplies(its, made, draws)
    assert (first.on, last.on) == (FIRST, LAST)
    assert first.mean.sum() + last.mean.sum() == pytest.approx(made.killed.sum())
    assert first.mean[3] > last.mean[3]
    assert first.drawn is not None
    assert first.drawn.sum(axis=1).mean() == pytest.approx(first.mean.sum(), rel=0.05)


def test_the_promise_is_below_the_mean_and_rises_with_the_killing() -> None:
    its, made, draws = promised()
    its = replace(its, orders=(order("a", 4, FIRST + timedelta(days=3), "middle"), order("b", 3, LAST)))
    rows = promises(its, made, supplies(its, made, draws))
    for row in rows:
        assert row.safe is not None
        assert row.safe <= row.mean
    whole = {row.on: row for row in rows if row.weight_class is None}
    assert whole[FIRST].mean < whole[LAST].mean
    assert (whole[FIRST].ordered, whole[LAST].ordered) == (4, 7)
    for on in (FIRST, LAST):
        classes = [row.killed for row in rows if row.on == on and row.weight_class is not None]
        assert sum(classes) <= whole[on].killed
    alone = {row.on: row for row in promises(its, made, supplies(its, made)) if row.weight_class is None}
    assert alone[FIRST].safe is None
    assert alone[FIRST].mean == pytest.approx(whole[FIRST].mean)


def test_first_due_is_first_served() -> None:
    its, made, draws = promised()
    found = supplies(its, made, draws)
    safe = next(r.safe for r in promises(its, made, found) if r.on == FIRST and r.weight_class is None)
    assert safe is not None
    its = replace(
        its,
        orders=(
            order("later", 5, FIRST + timedelta(days=4)),
            order("sooner", int(safe), FIRST + timedelta(days=1)),
        ),
    )
    sooner, later = filled(its, made, found)
    assert (sooner.order.id, sooner.short) == ("sooner", 0)
    assert (later.order.id, later.short, later.ready_on) == ("later", 5, LAST)


def test_an_order_before_any_killing_is_refused() -> None:
    its, made, draws = promised()
    early = replace(its, orders=(order("o", 2, FIRST - timedelta(days=1)),))
    with pytest.raises(BadInput, match=r"orders\.o.*before any cockerel is killed"):
        filled(early, made, supplies(early, made, draws))
    none = Plan(tuple(replace(b, drafts=(Draft(LAST, 0.0),)) for b in two_drafts().batches))
    idle = season(its, none)
    with pytest.raises(BadInput, match="no cockerel is killed"):
        filled(early, idle, supplies(early, idle))


def test_who_to_ring_depends_on_how_far_the_day_slips() -> None:
    its, made, draws = promised()
    its = replace(
        its,
        orders=(
            order("next-day", 3, FIRST + timedelta(days=1)),
            order("week", 3, FIRST + timedelta(days=7)),
            order("month", 3, LAST + timedelta(days=40)),
        ),
    )
    rung = {
        days: [f.order.id for f in ring_first(its, made, draws, days=days, slips_on=FIRST).orders]
        for days in (1, 2, 8, 35)
    }
    assert rung[1] == []
    assert rung[2] == ["next-day"]
    assert rung[8] == ["next-day", "week"]
    assert rung[35] == ["next-day", "week"]
    ready = ring_first(its, made, draws, days=8, slips_on=FIRST).orders[0].ready_on
    assert ready == FIRST + timedelta(days=8)
    assert ring_first(its, made, draws, days=8, slips_on=LAST).orders == ()
