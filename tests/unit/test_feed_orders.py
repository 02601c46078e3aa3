"""Stores, orders and changes of feed: nothing lost, nothing dry that can be helped, no bin over its brim."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, line, mine
from leyfold.farm.tables import figure
from leyfold.feed.bedding import bedding
from leyfold.feed.changeover import changes, mixing, reaches
from leyfold.feed.demand import Demand, demand
from leyfold.feed.haul import bleach_ml, hauled, last_haul_s
from leyfold.feed.lime import lime, no_calcium
from leyfold.feed.needs import labels
from leyfold.feed.orders import plan_orders
from leyfold.feed.stores import Store, empty_on, hoppers, last_weeks_days, runs_out, stores
from leyfold.nouns.farm import Bin, Cattle, Farm, Hopper, Tank
from leyfold.nouns.record import BatchFacts, State, Weighing
from leyfold.nouns.stock import SEXES, FeedPhase
from leyfold.paper.feed_sheet import water_said
from leyfold.reckoning.quantities import Flows
from leyfold.reckoning.rates import Rates
from leyfold.season.grazing import grass_grows
from seasons import season, three

FIRST = date(2027, 1, 4)
SPARE, KEEPS = 2, 56


def wanted(kg: list[float]) -> Demand:
    return Demand(FIRST, ("grower",), np.array([kg]))


def store(
    has: float | None = 0.0,
    holds: float | None = None,
    delivery: int = 3,
    least: float | None = None,
    most: float | None = None,
    bag: float = 25.0,
) -> Store:
    bins = () if holds is None else (Bin("b", "grower", holds, has, delivery, least, most),)
    known = {} if has is None else {"b" if bins else "": (FIRST, has)}
    return Store("grower", bins, known, FIRST, "farm file" if known else None, delivery, bag)


EATEN = st.lists(st.floats(0, 40), min_size=5, max_size=200)


@settings(max_examples=150, deadline=None)
@given(
    EATEN,
    st.floats(0, 900),
    st.one_of(st.none(), st.floats(100, 2000)),
    st.integers(0, 20),
    st.one_of(st.none(), st.floats(20, 100)),
    st.one_of(st.none(), st.floats(150, 2000)),
    st.integers(-60, 260),
)
def test_whatever_is_eaten(
    kg: list[float],
    has: float,
    holds: float | None,
    delivery: int,
    least: float | None,
    most: float | None,
    today: int,
) -> None:
    has = has if holds is None else min(has, holds)
    kept = store(has, holds, delivery, least, most)
    plan = plan_orders(kept, wanted(kg), FIRST + timedelta(days=today))
    came = np.zeros(len(kg))
    for order in plan.orders:
        came[(order.arrives - FIRST).days] += order.kg
        assert order.kg > 0
        assert (order.arrives - order.order_by).days <= delivery
        if most is not None and holds is not None:
            assert order.kg <= most + 1e-6
        if holds is None:
            assert order.kg == pytest.approx(order.bags * kept.bag_kg)
    # Nothing lost or made: what was there and came is eaten or left.
    missing = sum(dry.kg for dry in plan.dry)
    assert has + came.sum() - (sum(kg) - missing) == pytest.approx(plan.left_kg, abs=1e-4)
    assert (plan.stock_kg >= -1e-6).all()
    if holds is not None:
        assert (plan.stock_kg <= holds + 1e-6).all()
    # Dry days are only those that no order of today could have helped.
    now = today if 0 <= today < len(kg) else min(today, 0)
    for dry in plan.dry:
        assert (dry.last - FIRST).days < now + delivery


@settings(max_examples=60, deadline=None)
@given(EATEN, st.floats(0, 500), st.integers(0, 10))
def test_bags_do_not_grow_old(kg: list[float], has: float, delivery: int) -> None:
    """First in, first out: the last of each coming is eaten within eight weeks, or it is a single bag."""
    plan = plan_orders(store(has, None, delivery), wanted(kg), FIRST - timedelta(days=30))
    for order in plan.orders:
        day = (order.arrives - FIRST).days
        whole = plan.stock_kg[day]
        same_day = sum(o.kg for o in plan.orders if o.arrives == order.arrives)
        to_eat = min(whole, sum(kg[day:]))
        assert to_eat <= sum(kg[day : day + KEEPS]) + 1e-6 or same_day <= 25.0


def test_an_order_by_hand() -> None:
    """10 kg a day for 40 days, 100 kg in a bin of 300, delivery 3 days, lorry of 150 to 250 kg: it would be
    empty on day 10, so the lorry comes on day 8 and is ordered on day 5; there is room for 280, and 250
    come. 270 less 10 a day is empty on day 35: there on day 33, when 20 are left, and 50 are still wanted,
    but the lorry brings 150 at the least."""
    plan = plan_orders(store(100.0, 300.0, 3, 150.0, 250.0), wanted([10.0] * 40), FIRST)
    assert plan.runs_out == FIRST + timedelta(days=10)
    said = [((o.order_by - FIRST).days, (o.arrives - FIRST).days, o.kg, o.late) for o in plan.orders]
    assert said == [(5, 8, pytest.approx(250.0), False), (30, 33, pytest.approx(150.0), False)]
    assert plan.left_kg == pytest.approx(100.0)
    assert plan.dry == ()
    # On day 30, 50 kg are left: five days by what is eaten, and by last week's use.
    assert (plan.orders[1].lasts_d, plan.orders[1].naive_d) == (5.0, pytest.approx(5.0))


def test_the_lorry_waits_for_room() -> None:
    """A bin of 200 with 20 kg spare on the day it would come takes no lorry of 190 before the last."""
    plan = plan_orders(store(200.0, 200.0, 3, 190.0), wanted([10.0] * 30), FIRST)
    first = plan.orders[0]
    assert (first.arrives - FIRST).days == 19
    assert first.kg == pytest.approx(190.0)
    assert not first.small


def test_late_is_said_and_so_is_dry() -> None:
    plan = plan_orders(store(30.0, 500.0, 5), wanted([10.0] * 30), FIRST)
    assert plan.orders[0].late
    assert plan.orders[0].arrives == FIRST + timedelta(days=5)
    (dry,) = plan.dry
    assert ((dry.first - FIRST).days, (dry.last - FIRST).days, dry.kg) == (3, 4, pytest.approx(20.0))


def test_past_days_are_empty_by_the_book_alone() -> None:
    plan = plan_orders(store(30.0, 500.0, 5), wanted([10.0] * 30), FIRST + timedelta(days=10))
    before, after = plan.dry
    assert (before.first, before.last, before.past) == (
        FIRST + timedelta(days=3),
        FIRST + timedelta(days=9),
        True,
    )
    assert (after.first, after.last, after.past) == (
        FIRST + timedelta(days=10),
        FIRST + timedelta(days=14),
        False,
    )


def test_what_nobody_read_is_not_known() -> None:
    kept = store(None)
    assert kept.has_kg is None
    assert empty_on(kept, wanted([1.0] * 9)) == {}


def test_old_feed_in_store_is_told() -> None:
    plan = plan_orders(store(90.0, 500.0), wanted([0.0] * 50 + [10.0] * 20), FIRST)
    assert plan.stale_kg == pytest.approx(30.0)


def test_the_rule_of_thumb_is_too_long_while_birds_grow() -> None:
    """Feed that grows a kg a day: 100 kg on day 20 last 4.5 days, by last week's use 5.9."""
    kg = np.arange(1.0, 41.0)
    last = last_weeks_days(kg, 20, 100.0)
    assert last == pytest.approx(100 / np.arange(14, 21).mean())
    out = runs_out(kg, 20, 100.0)
    assert out is not None
    assert out - 20 == 4
    assert last > 5.8
    assert last_weeks_days(kg, 6, 100.0) is None


@settings(max_examples=30, deadline=None)
@given(EATEN, st.floats(0, 600), st.floats(0, 600))
def test_bins_are_emptied_one_after_the_other(kg: list[float], one: float, two: float) -> None:
    bins = tuple(Bin(n, "grower", 700.0, x) for n, x in (("a", one), ("b", two)))
    both = Store("grower", bins, {"a": (FIRST, one), "b": (FIRST, two)}, FIRST, "farm file", 3, 25.0)
    ends = empty_on(both, wanted(kg))
    assert (ends["a"] or date.max) <= (ends["b"] or date.max)
    assert ends["b"] == plan_orders(both, wanted(kg), FIRST).runs_out


# --- on a season -------------------------------------------------------------------------------------------


def kept_farm(**changes: object) -> Farm:
    base = farm(**changes)
    return replace(
        base, feeds={n: replace(f, calcium=figure(f"feeds.{n}.calcium")) for n, f in base.feeds.items()}
    )


def test_changes_move_feed_and_lose_none() -> None:
    at, plan = kept_farm(), three()
    s = season(at, plan)
    found = changes(at, at, s, State())
    by_age, by_weight = demand(s), demand(s, found)
    assert by_weight.kg.sum(axis=0) == pytest.approx(s.feed_kg.sum(axis=0))
    assert by_age.kg.sum(axis=0) == pytest.approx(s.feed_kg.sum(axis=0))
    # Mixed over four days, some grower is saved and starter eaten in its place, and not much.
    assert 0 < by_weight.of("starter").sum() - by_age.of("starter").sum() < 0.2 * by_age.of("starter").sum()
    # Without records the weight is that of the age, so the days are the same.
    assert {(c.on, c.by_age) for c in found if c.feed == "grower"} == {
        (c.by_age, c.by_age) for c in found if c.feed == "grower"
    }


def test_without_mixing_and_at_the_age_nothing_changes() -> None:
    at = kept_farm()
    s = season(at, three())
    found = tuple(replace(c, on=c.by_age, shares=()) for c in changes(at, at, s, State()))
    assert demand(s, found).kg == pytest.approx(demand(s).kg)


def test_light_birds_change_late_and_heavy_ones_early() -> None:
    at = kept_farm()
    s = season(at, three())
    batch = s.plan.batches[0]
    on = batch.hatched_on + timedelta(days=28)
    rows = [i for i, lot in enumerate(s.lots) if lot.batch == batch.id and s.heads[i, s.index(on)] > 0]
    mean = float(np.average(s.weight_kg[rows, s.index(on)], weights=s.heads[rows, s.index(on)]))

    def day(factor: float) -> date | None:
        facts = BatchFacts(batch.id, "tawny", "set", weighings=(Weighing(on, None, (mean * factor,) * 20),))
        found = changes(at, at, s, State(batches={batch.id: facts}))
        return next(c.on for c in found if c.batch == batch.id and c.feed == "grower")

    planned = batch.hatched_on + timedelta(days=42)
    light, same, heavy = day(0.8), day(1.0), day(1.2)
    assert same == planned
    assert light is not None
    assert heavy is not None
    assert heavy < planned < light


def test_the_weight_the_farm_says_and_one_never_reached() -> None:
    for kg, reached in ((0.5, True), (30.0, False)):
        phases = (
            FeedPhase("starter", 0),
            FeedPhase("grower", 42, None, kg),
            FeedPhase("layers", 140, "pullet"),
        )
        at = kept_farm(lines={"tawny": line(feeding=phases)})
        s = season(at, three())
        found = [c for c in changes(at, at, s, State()) if c.feed == "grower"]
        assert all((c.on is not None) == reached for c in found)
        for c in found:
            if c.on is not None:
                rows = [i for i, lot in enumerate(s.lots) if lot.batch == c.batch]
                day = s.index(c.on)
                mean = np.average(s.weight_kg[rows, day], weights=s.heads[rows, day])
                before = np.average(s.weight_kg[rows, day - 1], weights=s.heads[rows, day - 1])
                assert before < kg * 0.999 <= mean
        if not reached:
            assert demand(s, changes(at, at, s, State())).of("grower").sum() == 0


def test_mixing_in_even_steps() -> None:
    assert mixing(4) == pytest.approx((0.2, 0.4, 0.6, 0.8))
    assert mixing(0) == ()
    assert reaches(np.array([[0.1, 0.2, 0.3]]), np.array([[5.0, 5.0, 0.0]]), 0.25) is None
    with pytest.raises(ValueError, match="days"):
        mixing(-1)


def test_lime_from_the_trough_and_from_the_bag() -> None:
    """Pullets to the house at 16 weeks beside hens, layers' feed for all at 10 weeks, and neither."""
    late = (FeedPhase("starter", 0), FeedPhase("grower", 42), FeedPhase("layers", 133, "pullet"))
    early = (FeedPhase("starter", 0), FeedPhase("layers", 70))
    lay = figure("stock.point_of_lay_d", sex="pullet").value
    at = kept_farm(lines={"tawny": line(feeding=late, house_d=112, point_of_lay_d=lay)})
    beside = lime(at, season(at, three()))
    assert beside
    assert {x.place for x in beside} == {"coop"}
    assert all(x.beside and x.sex == "pullet" and x.last >= x.first for x in beside)

    at = kept_farm(lines={"tawny": line(feeding=early, point_of_lay_d=lay, house_d=112, kill_d=160)})
    s = season(at, three())
    found = lime(at, s)
    fed = [x for x in found if x.beside is None]
    assert {x.sex for x in fed} == {"pullet", "cockerel"}
    hatched = {b.id: b.hatched_on for b in s.plan.batches}
    oldest = {sex: max((x.last - hatched[x.batch]).days for x in fed if x.sex == sex) for sex in SEXES}
    assert oldest["pullet"] == lay - 14 - 1
    assert oldest["cockerel"] == 160 - 1  # no age makes it right for them
    # Said once of a bird: given to it, or in its neighbours' trough.
    said = [(x.lot, x.first.toordinal() + k) for x in found for k in range((x.last - x.first).days + 1)]
    assert len(said) == len(set(said))

    alone = replace(three(), batches=three().batches[:1])
    at = kept_farm(lines={"tawny": line(feeding=late, house_d=112, point_of_lay_d=147)})
    assert lime(at, season(at, alone)) == ()


def test_lime_unknown_is_told() -> None:
    at = farm()
    assert set(no_calcium(at, season(at, three()))) == {"starter", "grower", "layers"}


def test_bedding_is_what_the_reckoning_counts() -> None:
    at = kept_farm()
    s = season(at, three())
    weeks = bedding(at, s)
    assert sum(w.kg for w in weeks) == pytest.approx(
        sum(float(flow.amount.sum()) for flow in Flows(at, s, Rates(at)) if flow.rate == "bedding")
    )
    bale = figure("feeding.bale_kg").value
    fetched, used = 0.0, 0.0
    for week in weeks:
        fetched, used = fetched + week.bales * bale, used + week.kg
        assert used - 1e-6 <= fetched < used + bale


def test_water_and_its_tanks() -> None:
    at = kept_farm(
        tanks={"t": Tank("t", 20.0)},
        cattle={"c": Cattle("c", 3), "d": Cattle("d", 2, grazing=((4, 10), (6, 1)))},
    )
    s = season(at, three())
    days = hauled(at, s)
    assert sum(d.birds_l + d.brooder_l for d in days) == pytest.approx(s.water_l.sum())
    for d in days:
        assert (
            (d.trips - 1) * 20.0 < d.birds_l + 1e-6 <= d.trips * 20.0 + 2e-6
            if d.birds_l > 0
            else d.trips == 0
        )
        out = 3 * grass_grows(at, d.day) + 2 * ((4, 10) <= (d.day.month, d.day.day) < (6, 1))
        assert d.cattle_l == pytest.approx(65 * out)
        assert (d.last is None) == (d.trips <= 1)
        if d.last is not None:
            assert time(3) < d.last < time(22)
    assert {d.cattle_l for d in days} >= {0.0, 2 * 65.0, 3 * 65.0}  # Winter, early spring, summer.
    said = " ".join(water_said(at, days, "en"))
    assert "Cattle at grass drink 325 l a day" in said
    byre = [replace(d, cattle_l=0.0) for d in days]
    assert "Cattle" not in " ".join(water_said(at, byre, "en"))
    # 50 l from 06:00 to 18:00 by tanks of 20: the third is wanted when 40 are drunk, 0.8 of the day.
    at_s = last_haul_s(50.0, 20.0, rise_s=6 * 3600, set_s=18 * 3600)
    assert at_s == pytest.approx(15.5 * 3600)  # 15:36, down to the quarter


@given(st.floats(0, 1e5), st.floats(0.5, 5), st.floats(0.01, 0.15))
def test_the_dose_is_what_was_wanted(litres: float, mg: float, share: float) -> None:
    ml = bleach_ml(litres, chlorine_mg_per_l=mg, bleach_share=share)
    assert ml * share * 1000.0 == pytest.approx(mg * litres)  # mg of chlorine: a ml of 5 % holds 50
    for bad in ({"chlorine_mg_per_l": 8.0}, {"bleach_share": 5.0}):
        with pytest.raises(ValueError, match="bounds"):
            bleach_ml(litres, **{"chlorine_mg_per_l": mg, "bleach_share": share} | bad)


def test_stores_of_a_farm() -> None:
    at = kept_farm(
        bins={
            "tower": Bin("tower", "grower", 1000.0, 200.0, 4),
            "old": Bin("old", "grower", 500.0, until=date(2026, 1, 1)),
        },
        hoppers={"h": Hopper("h", "layers", 90.0)},
    )
    s = season(at, three())
    d = demand(s)
    by_feed = {x.feed: x for x in stores(at, State(), d)}
    assert set(by_feed) == {"starter", "grower", "layers"}
    assert by_feed["grower"].has_kg == 200.0
    assert by_feed["grower"].holds_kg == 1000.0
    assert by_feed["starter"].has_kg is None
    read = State(bins_kg={"tower": (s.day(40), 55.0)})
    again = {x.feed: x for x in stores(at, read, d)}["grower"]
    assert (again.has_kg, again.read_on, again.read) == (55.0, s.day(40), "records")
    plan = plan_orders(again, d, s.day(40))
    assert np.isnan(plan.stock_kg[:40]).all()
    assert plan.stock_kg[40] >= 55.0
    in_bags = {x.feed: x for x in stores(at, State(bins_kg={"starter": (s.day(60), 70.0)}), d)}["starter"]
    assert (in_bags.has_kg, in_bags.read_on, in_bags.read) == (70.0, s.day(60), "records")
    (full,) = hoppers(at, d)
    assert full.lasts_d == pytest.approx(90.0 / d.of("layers").max())


def test_a_label_that_falls_short() -> None:
    thin = kept_farm()
    weak = replace(thin, feeds=thin.feeds | {"starter": replace(thin.feeds["starter"], protein=mine(0.15))})
    found = {(x.feed, x.stage): x for x in labels(weak, season(weak, three()))}
    (short,) = found["starter", "pullet_white_0_6"].short
    assert (short.need.nutrient, short.holds, short.need.value) == ("protein", 0.15, 0.18)
    assert found["layers", "hen_brown"].short == ()
    # Hens need grams a day: what is 16.5 g in what they eat.
    s = season(weak, three())
    rows = [i for i, lot in enumerate(s.lots) if lot.sex == "pullet"]
    lays = s.age_d[rows] >= weak.lines["tawny"].point_of_lay_d.value
    on = s.feed_kind[rows] == s.feeds.index("layers")
    eaten = (s.feed_kg[rows] * (lays & on)).sum() / (s.heads[rows] * (lays & on)).sum()
    for protein, enough in ((16.5e-3 / eaten * 1.01, True), (16.5e-3 / eaten * 0.99, False)):
        fed = replace(
            weak, feeds=weak.feeds | {"layers": replace(weak.feeds["layers"], protein=mine(protein))}
        )
        (label,) = [x for x in labels(fed, s) if x.stage == "hen_brown"]
        assert ("protein" in {x.need.nutrient for x in label.short}) != enough
    bare = labels(farm(), season(farm(), three()))
    assert any("calcium" in x.unknown for x in bare)
