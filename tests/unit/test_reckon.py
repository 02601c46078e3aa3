"""The reckoning: sums that must agree whichever way they are made, and what a dearer world does to them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import BreedingPen
from leyfold.nouns.plan import Batch, Draft, Out, Plan
from leyfold.nouns.reckoning import CLASSES, Reckoning
from leyfold.reckoning.compare import compare
from leyfold.reckoning.matters import matters
from leyfold.reckoning.reckon import reckon
from leyfold.reckoning.sums import SELLS, by, by_month, by_rate, cash_by_week, units
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.expect import expect
from money import FEED, PRICES, priced
from seasons import bought, hatch, season

CENT = 0.005


def the_plan() -> Plan:
    """A set in two drafts, day-olds, and an old flock that goes."""
    drafts = (Draft(date(2027, 6, 8), 0.5), Draft(date(2027, 6, 22), 1.0))
    old = Batch(
        "old", "tawny", "present", date(2026, 4, 1), date(2027, 1, 4), heads={"pullet": 40.0}, house="coop"
    )
    return Plan(
        (hatch("early", date(2027, 2, 8), 110, drafts=drafts), bought("more", date(2027, 4, 5), 30, 30), old),
        outs=(Out("old", date(2027, 8, 2)),),
        first=date(2027, 1, 4),
        last=date(2028, 1, 2),
    )


PLAN = the_plan()
SEASON = season(priced(), PLAN)
RECKONING = reckon(priced(), SEASON)


def test_sums_agree_whichever_way() -> None:
    total = RECKONING.total()
    for parts in (by(RECKONING, lambda e: e.batch), by(RECKONING, lambda e: e.kind)):
        assert sum(p.margin for p in parts.values()) == pytest.approx(total, abs=CENT)
    assert sum(by_month(RECKONING).values()) == pytest.approx(total, abs=CENT)
    assert sum(by_rate(RECKONING).values()) == pytest.approx(total, abs=CENT)
    assert set(by(RECKONING, lambda e: e.kind)) == set(CLASSES)


def test_what_is_handed_on_inside_cancels() -> None:
    inside = [e for e in RECKONING.entries if e.rate.inside]
    assert {e.rate.id for e in inside} == {"pullet_in", "pullet_out"}
    assert sum(e.sum for e in inside) == pytest.approx(0.0, abs=1e-9)
    with_pen = reckon(PEN, season(PEN, PLAN))
    inside = [e for e in with_pen.entries if e.rate.inside]
    assert {"hatching_egg_in", "hatching_egg_out"} <= {e.rate.id for e in inside}
    assert sum(e.sum for e in inside) == pytest.approx(0.0, abs=1e-9)


PEN = priced(pens={"pen": BreedingPen("pen", "tawny", 12, 2, settable_share=0.8)})


def test_own_eggs_set_are_not_sold() -> None:
    """They cost their price as eating eggs, where eggs from elsewhere cost that of hatching eggs."""

    def amount(r: Reckoning, rate: str) -> float:
        return sum(float(e.quantity.sum()) for e in r.entries if e.rate.id == rate)

    own = reckon(PEN, season(PEN, PLAN))
    set_ = amount(own, "hatching_egg_in")
    assert 0 < set_ <= 110
    assert amount(own, "hatching_egg") == pytest.approx(110 - set_)
    assert amount(own, "egg") == pytest.approx(amount(RECKONING, "egg") - set_)
    gain = set_ * (PRICES["hatching_egg"] - PRICES["egg"])
    assert own.total() == pytest.approx(RECKONING.total() + gain)


def test_cash_is_the_margin_without_worth_and_own_hours() -> None:
    """No feed is in a bin here, so that nothing is paid before or after it is eaten."""
    apart = [e for e in RECKONING.entries if e.rate.stock or e.rate.inside or e.rate.own_hours]
    cash = cash_by_week(priced(), RECKONING)
    assert sum(m for _, m in cash) == pytest.approx(RECKONING.total() - sum(e.sum for e in apart))
    assert [day for day, _ in cash] == [SEASON.first + timedelta(days=7 * i) for i in range(SEASON.days // 7)]


def test_without_own_hours() -> None:
    without = reckon(priced(), SEASON, own_hours=False)
    hours = sum(float(e.quantity.sum()) for e in RECKONING.entries if e.rate.id == "labour")
    assert hours > 100
    assert without.total() == pytest.approx(RECKONING.total() + hours * PRICES["labour"])
    for a, b in zip(units(without), units(RECKONING), strict=True):
        assert a.cost is not None
        assert b.cost is not None
        assert a.cost < b.cost


@pytest.mark.parametrize("kind", CLASSES)
def test_at_the_break_even_price_the_class_has_a_margin_of_nothing(kind: Any) -> None:
    unit = next(u for u in units(RECKONING) if u.kind == kind)
    assert unit.break_even is not None
    name = SELLS[kind].partition(".")[2]
    at = reckon(priced({**PRICES, name: unit.break_even}), SEASON)
    assert at.total(e for e in at.entries if e.kind == kind) == pytest.approx(0.0, abs=CENT)


def test_birds_there_at_first_and_left_are_counted_in_and_out() -> None:
    money = by_rate(RECKONING)
    age = (date(2027, 1, 4) - date(2026, 4, 1)).days
    spent = (age - 126) / 365
    assert money["first.pullet"] == pytest.approx(-40 * (1 - spent) * PRICES["pullet"])
    assert money["first.old_hen"] == pytest.approx(-40 * spent * PRICES["old_hen"])
    left = SEASON.heads[:, -1].sum()
    assert 0 < money["left.pullet"] + money["left.old_hen"] < left * PRICES["pullet"]


def test_older_birds_cost_more_than_day_olds() -> None:
    def paid(age_d: int) -> float:
        on = date(2027, 4, 5)
        batch = Batch(
            "b", "tawny", "bought", on - timedelta(days=age_d), on, heads={"pullet": 30.0, "cockerel": 0.0}
        )
        made = priced()
        money = by_rate(reckon(made, season(made, Plan((batch,)))))
        return -sum(m for name, m in money.items() if name.startswith("bought."))

    assert paid(0) == pytest.approx(30 * PRICES["day_old"])
    assert paid(0) < paid(40) < paid(100) < paid(126)
    assert paid(126) == pytest.approx(30 * PRICES["pullet"])
    assert paid(300) < paid(126)


def test_killing_at_home_takes_hours_where_it_has_no_price() -> None:
    home = reckon(priced({k: v for k, v in PRICES.items() if k != "killing"}), SEASON)
    assert "killing" not in by_rate(home)
    more = by_rate(home)["labour"] - by_rate(RECKONING)["labour"]
    assert more == pytest.approx(-RECKONING.carcasses * 0.2 * PRICES["labour"])


def test_what_has_no_price_and_may_do_without_is_named() -> None:
    bare = {k: PRICES[k] for k in ("carcass", "pullet", "old_hen", "egg", "hatching_egg", "day_old")}
    found = reckon(priced(bare), SEASON)
    assert set(found.unpriced) == {"water", "bedding", "labour", "electricity"}
    assert found.unpriced["water"] == pytest.approx(SEASON.water_l.sum())
    assert RECKONING.unpriced == {}


def test_every_missing_price_is_named_at_once() -> None:
    with pytest.raises(BadInput) as wrong:
        reckon(farm(), SEASON)
    fields = {fault.field for fault in wrong.value.faults}
    assert {"prices.carcass", "prices.pullet", "prices.egg", "prices.old_hen", "feeds.grower.price"} <= fields


price = st.floats(0.01, 40.0)


@settings(max_examples=25, deadline=None)
@given(feed=st.floats(0.05, 3.0), more=st.floats(0.0, 2.0))
def test_dearer_feed_never_raises_the_margin(feed: float, more: float) -> None:
    assert (
        reckon(priced(feed=feed + more), SEASON).total() <= reckon(priced(feed=feed), SEASON).total() + 1e-6
    )


@settings(max_examples=25, deadline=None)
@given(name=st.sampled_from(["carcass", "egg", "old_hen"]), at=price, more=price)
def test_dearer_wares_never_lower_the_margin(name: str, at: float, more: float) -> None:
    """Old hens there at first are few against those left and sold."""
    less, dear = (reckon(priced({**PRICES, name: p}), SEASON).total() for p in (at, at + more))
    assert dear >= less - 1e-6


@settings(max_examples=25, deadline=None)
@given(
    name=st.sampled_from(["labour", "electricity", "bedding", "water", "killing", "hatching_egg"]), more=price
)
def test_dearer_goods_and_hours_never_raise_it(name: str, more: float) -> None:
    dear = reckon(priced({**PRICES, name: PRICES[name] + more}), SEASON).total()
    assert dear <= RECKONING.total() + 1e-6


@settings(max_examples=10, deadline=None)
@given(times=st.floats(0.1, 20.0))
def test_money_of_another_worth_changes_nothing_else(times: float) -> None:
    """All prices times so much: the margin times so much."""
    found = reckon(priced({k: v * times for k, v in PRICES.items()}, FEED * times), SEASON)
    assert found.total() == pytest.approx(RECKONING.total() * times, rel=1e-9, abs=1e-6)


@settings(max_examples=8, deadline=None)
@given(eggs=st.integers(40, 120))
def test_all_but_shared_hours_and_current_is_linear_in_the_birds(eggs: int) -> None:
    """Half the eggs and half the heads bought and there at first: half of everything that is not shared."""
    fixed = {"labour", "electricity"}

    def money(part: float) -> dict[str, float]:
        batches = tuple(
            replace(b, eggs=None if b.eggs is None else round(eggs * 2 * part),
                    heads={k: v * part for k, v in b.heads.items()})
            for b in PLAN.batches
        )  # fmt: skip
        its = priced(limits=())
        found = reckon(its, expect(its, complete(its, replace(PLAN, batches=batches))))
        return {k: v for k, v in by_rate(found).items() if k not in fixed}

    whole, half = money(1.0), money(0.5)
    assert set(whole) == set(half)
    for name, value in whole.items():
        assert half[name] == pytest.approx(value / 2, rel=1e-9), name


def test_the_draws_lie_about_the_expected() -> None:
    its = priced()
    draws = draw(its, SEASON.plan, n=600, seed=3)
    found = reckon(its, SEASON, draws)
    assert found.bands is not None
    assert found.entries[0].rate == RECKONING.entries[0].rate
    takings = sum(p.takings for p in by(RECKONING, lambda e: e.kind).values())
    assert found.bands.margin.middle == pytest.approx(RECKONING.total(), abs=0.02 * takings)
    assert found.bands.margin.low < RECKONING.total() < found.bands.margin.high
    for unit in units(RECKONING):
        band = found.bands.unit_cost[unit.kind]
        assert band is not None
        assert unit.cost is not None
        assert band.low < unit.cost < band.high
        assert band.middle == pytest.approx(unit.cost, rel=0.03)
    again = reckon(its, SEASON, draw(its, SEASON.plan, n=600, seed=3))
    assert again.bands == found.bands


def test_draws_of_another_plan_are_refused() -> None:
    its = priced()
    other = draw(its, complete(its, Plan((bought("x", date(2027, 4, 5), 10, 10),))), n=5, seed=0)
    with pytest.raises(ValueError, match="another plan"):
        reckon(its, SEASON, other)


def test_the_figures_that_matter_are_what_a_new_reckoning_says() -> None:
    its = priced()
    rows = {m.figure: m for m in matters(its, SEASON, RECKONING)}
    dear = reckon(priced({**PRICES, "carcass": PRICES["carcass"] * 1.1}), SEASON).total()
    assert rows["price_carcass"].margin_high == pytest.approx(dear)
    assert rows["price_feed"].margin_high == pytest.approx(reckon(priced(feed=FEED * 1.1), SEASON).total())
    swings = [m.swing for m in matters(its, SEASON, RECKONING)]
    assert swings == sorted(swings, reverse=True)
    assert {"hatch", "losses", "growth", "lay"} <= set(rows)
    assert rows["losses"].margin_low > rows["losses"].margin_high
    assert rows["lay"].margin_low < rows["lay"].margin_high


def test_one_against_another() -> None:
    dear = reckon(priced(feed=FEED * 1.2), SEASON)
    same, worse = compare(RECKONING, RECKONING), compare(RECKONING, dear)
    assert all(row.change in (None, 0.0) for row in (*same.margin, *same.money))
    assert worse.margin[0].change == pytest.approx(dear.total() - RECKONING.total())
    assert sum(row.change or 0.0 for row in worse.money) == pytest.approx(worse.margin[0].change)
    assert all((row.change or 0.0) > 0 for row in worse.unit_cost)


def test_two_moneys_are_not_compared() -> None:
    its = priced()
    other = reckon(replace(its, holding=replace(its.holding, currency="SEK")), SEASON)
    with pytest.raises(BadInput, match="SEK"):
        compare(RECKONING, other)
    with pytest.raises(ValueError, match="own hours"):
        compare(RECKONING, reckon(its, SEASON, own_hours=False))


def test_a_book_opened_in_the_middle_counts_rearing_from_there() -> None:
    """Pullets there half grown go to the house at the price of a pullet, and cost what they were worth."""
    on = date(2027, 6, 1)
    young = Batch("y", "tawny", "present", date(2027, 3, 1), on, heads={"pullet": 30.0, "cockerel": 30.0})
    its = priced()
    made = season(its, Plan((young,), first=on))
    found = reckon(its, made)
    assert found.pullets == pytest.approx(30, rel=0.05)
    assert by_rate(found, "pullets")["pullet_out"] > 0
    assert by_rate(found, "pullets")["first.pullet"] < 0
    assert by_rate(found, "table")["first.carcass"] < 0
    assert np.isfinite(found.total())
