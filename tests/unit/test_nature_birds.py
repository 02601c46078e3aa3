"""Laws the equations of birds and sun must keep for any numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leyfold.nature import dung, hatch, heat, intake, lay, losses, sun, water

share = st.floats(0.5, 1.0)
weight = st.floats(0.03, 4.0)


# Feed and water


@given(weight, st.floats(0, 0.08), st.floats(0, 0.5))
def test_feed_given_is_feed_eaten_and_wasted(kg, gain, waste):
    eaten = intake.eaten_kg(kg, gain, maintenance_kg_per_kg075=0.045, per_gain_kg_per_kg=1.4)
    given = intake.given_kg(eaten, waste_share=waste)
    assert given * (1 - waste) == pytest.approx(eaten)
    assert given >= eaten


def test_eaten_by_hand():
    """0.045 * 16^0.75 = 0.36; plus 1.5 * 0.02 and 0.01 against the cold."""
    eaten = intake.eaten_kg(16.0, 0.02, maintenance_kg_per_kg075=0.045, per_gain_kg_per_kg=1.5, cold_kg=0.01)
    assert eaten == pytest.approx(0.36 + 0.03 + 0.01)


@given(weight, st.floats(0, 200), st.floats(-25, 35), st.floats(0, 10))
def test_cold_never_costs_less_when_colder(kg, age, warm, colder):
    assert intake.cold_extra_kj(kg, age, warm - colder) >= intake.cold_extra_kj(kg, age, warm) >= 0


def test_critical_temperature_holds_after_seventy_days():
    at_70, later = intake.cold_extra_kj(1.0, np.array([70, 200]), 0.0)
    assert at_70 == later == pytest.approx(4.5 * heat.lower_critical_temperature_meltzer_1983_C(70))
    with pytest.raises(ValueError, match="at most 70"):
        heat.lower_critical_temperature_meltzer_1983_C(71)


@given(st.floats(0, 5), st.floats(-30, 45), st.floats(0, 10), st.floats(0, 0.2), st.floats(15, 25))
def test_water_never_falls_with_heat(feed, cool, warmer, slope, base):
    def litres(at):
        return water.drunk_l(feed, at, litres_per_kg=1.9, slope_per_K=slope, base_C=base)

    assert litres(min(cool + warmer, 50)) >= litres(cool) >= 1.9 * feed * (1 - 1e-12)


# Hatch


@given(st.integers(0, 59), st.floats(0, 10), st.floats(0, 0.05), st.floats(0, 10), st.floats(0, 0.2))
def test_storage_never_gains(days, free, loss, gap, late):
    storage = {"free_d": free, "loss_per_d": loss, "late_from_d": free + gap, "late_loss_per_d": late}
    fresh, kept, longer = hatch.storage_factor([0, days, days + 1], **storage)
    assert fresh == 1
    assert fresh >= kept >= longer - 1e-12
    assert longer >= 0


@given(st.integers(0, 60), st.floats(0, 10), st.floats(0, 0.05), st.floats(0, 10), st.floats(0, 0.2))
def test_storage_is_the_mean_over_its_eggs(days, free, loss, gap, late):
    """Egg by egg: the sum a farmer would do on paper."""
    eggs = []
    for age in range(days + 1):
        lost = 0.0
        if age > free:
            lost += loss * (min(age, free + gap) - free)
        if age > free + gap:
            lost += late * (age - free - gap)
        eggs.append(max(1 - lost, 0))
    factor = hatch.storage_factor(
        days, free_d=free, loss_per_d=loss, late_from_d=free + gap, late_loss_per_d=late
    )
    assert factor == pytest.approx(sum(eggs) / len(eggs), abs=1e-9)


def test_storage_refuses_half_days_and_order():
    storage = {"free_d": 7, "loss_per_d": 0.01, "late_from_d": 14, "late_loss_per_d": 0.03}
    with pytest.raises(ValueError, match="whole days"):
        hatch.storage_factor(3.5, **storage)
    with pytest.raises(ValueError, match="late_from_d"):
        hatch.storage_factor(3, **storage | {"late_from_d": 5})


@given(st.floats(0, 1e4), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_no_more_chicks_than_eggs(eggs, fertility, hof, storage):
    assert 0 <= hatch.chicks(eggs, fertility=fertility, hatch_of_fertile=hof, storage=storage) <= eggs


@given(st.floats(0, 21), st.floats(0, 21))
def test_eggs_are_clear_alive_or_dead(one, other):
    early, late = sorted((one, other))
    before, after = hatch.fate_kuurman_2001(early), hatch.fate_kuurman_2001(late)
    assert sum(before) == pytest.approx(1, abs=1e-12)
    assert after.dead >= before.dead
    assert after.clear == before.clear


def test_chick_weights_outside_the_table_are_refused():
    for grams in (49.9, 70.1):
        with pytest.raises(ValueError, match="egg_weight_g"):
            hatch.chick_weight_g(grams)
    with pytest.raises(ValueError, match="cannot gain"):
        hatch.projected_loss_share(60, 61, 7)


# Losses


@st.composite
def stages(draw):
    lengths = draw(st.lists(st.integers(0, 60), min_size=1, max_size=5))
    survivals = [draw(share) for _ in lengths]
    return [float(end) for end in np.cumsum(lengths)], survivals


@given(stages())
def test_stages_multiply_and_birds_stay_dead(three):
    ends, survivals = three
    age = np.arange(0.0, ends[-1] + 30)
    alive = losses.alive_share(age, ends_d=ends, survivals=survivals)
    assert alive[0] == 1
    assert np.all(np.diff(alive) <= 1e-15)
    assert np.all(alive > 0)
    product, begins = 1.0, 0.0
    for end, survival in zip(ends, survivals, strict=True):
        product *= survival if end > begins else 1.0
        assert losses.alive_share(end, ends_d=ends, survivals=survivals) == pytest.approx(product)
        begins = end


@given(stages(), st.integers(0, 5), share)
def test_a_stage_of_no_length_changes_nothing(given_stages, at, survival):
    ends, survivals = given_stages
    at = min(at, len(ends))
    begins = 0.0 if at == 0 else ends[at - 1]
    age = np.arange(0.0, ends[-1] + 30)
    np.testing.assert_allclose(
        losses.alive_share(
            age,
            ends_d=[*ends[:at], begins, *ends[at:]],
            survivals=[*survivals[:at], survival, *survivals[at:]],
        ),
        losses.alive_share(age, ends_d=ends, survivals=survivals),
        rtol=1e-12,
    )


@given(share, st.integers(1, 100))
def test_days_of_a_stage_have_one_rate(survival, days):
    alive = losses.alive_share(np.arange(days + 10), ends_d=[days], survivals=[survival])
    np.testing.assert_allclose(alive[1:] / alive[:-1], losses.daily_survival(survival, days), rtol=1e-12)


def test_each_lot_may_have_its_own_stages():
    age = np.arange(120.0)
    ends = [28.0, np.array([[60.0], [90.0]])]
    both = losses.alive_share(age, ends_d=ends, survivals=[0.97, np.array([[0.98], [0.95]])])
    assert both.shape == (2, 120)
    for lot, (end, survival) in enumerate([(60, 0.98), (90, 0.95)]):
        np.testing.assert_allclose(
            both[lot], losses.alive_share(age, ends_d=[28, end], survivals=[0.97, survival]), rtol=1e-14
        )


def test_no_stage_no_loss():
    np.testing.assert_array_equal(losses.alive_share([0, 50], ends_d=[], survivals=[]), 1.0)
    np.testing.assert_array_equal(losses.alive_share([0, 50], ends_d=[0], survivals=[0.5]), 1.0)


def test_stages_out_of_order_are_refused():
    with pytest.raises(ValueError, match=r"ends_d\[1\] falls"):
        losses.alive_share(3, ends_d=[28, 21], survivals=[0.9, 0.9])
    with pytest.raises(ValueError, match="2 stage ends for 1"):
        losses.alive_share(3, ends_d=[7, 28], survivals=[0.9])
    with pytest.raises(ValueError, match="above 0"):
        losses.alive_share(3, ends_d=[7], survivals=[0.0])


# Heat


@given(st.floats(-30, 40), st.floats(0, 10))
def test_warmer_birds_lose_less_of_it_by_touch(cool, warmer):
    warm = min(cool + warmer, 40)
    assert heat.cigr_2002_correction(warm) <= heat.cigr_2002_correction(cool)
    for sensible in (heat.cigr_2002_sensible_share_layers, heat.cigr_2002_sensible_share_broilers):
        assert 0 <= sensible(warm) <= sensible(cool) + 1e-12 <= 1


@given(st.floats(0, 70), st.floats(0, 70))
def test_older_pullets_stand_more_cold(one, other):
    """But for the published step of a quarter degree at day 21."""
    young, old = sorted((one, other))
    step = 0.23 if young <= 21 < old else 1e-9
    at = heat.lower_critical_temperature_meltzer_1983_C
    assert at(old) <= at(young) + step


# Dung


@given(st.floats(1, 100), st.floats(0.1, 0.25), share, st.floats(0, 0.3))
def test_nitrogen_is_conserved(feed, protein, kept_share, waste):
    """Feed given = wasted + kept in gain + kept in eggs + dropped, to 1e-9."""
    fed = dung.nitrogen_share(protein) * feed
    keeps = fed * (1 - waste) * kept_share
    gain, eggs = 0.4 * keeps / 0.029, 0.6 * keeps / 0.0194
    ground = dung.balance_kg(
        feed,
        dung.nitrogen_share(protein),
        gain_kg=gain,
        kept_per_gain=0.029,
        egg_kg=eggs,
        kept_per_egg=0.0194,
    )
    assert ground + gain * 0.029 + eggs * 0.0194 == pytest.approx(fed, abs=1e-9)
    assert ground >= fed * waste - 1e-9


def test_more_kept_than_fed_is_an_error():
    with pytest.raises(ValueError, match="more of the nutrient is kept"):
        dung.balance_kg([1.0, 1.0], 0.03, gain_kg=[0.5, 1.5], kept_per_gain=0.029)
    with pytest.raises(ValueError, match="no rate"):
        dung.ipcc_2006_n_kg(1.8, 365, bird="duck", region="Western Europe")


# Lay and light


@given(st.floats(0, 120), st.floats(0, 1), st.floats(0, 0.02), st.floats(0.1, 3), st.floats(16, 30))
def test_no_hen_lays_twice_a_day(age, a, b, c, d):
    assert 0 <= lay.yang(age, a=a, b_per_wk=b, c_per_wk=c, d_wk=d) <= 1


@given(st.floats(0, 1), st.floats(0, 1), st.floats(5, 60), st.floats(0.1, 90))
def test_sum_of_eggs_grows_as_they_are_laid(k1, k2, c2, week):
    k1, k2 = max(k1, k2), min(k1, k2)
    h = 1e-4
    pair = {"k1": k1, "k2": k2, "c2_wk": c2}
    before, after = lay.grossman_koops_2001_eggs([week - h, week + h], **pair)
    assert (after - before) / (2 * h) == pytest.approx(lay.grossman_koops_2001(week, **pair), abs=1e-6)
    assert lay.grossman_koops_2001_eggs(0, **pair) == 0


@given(st.floats(0, 24), st.floats(0, 24), st.floats(0, 1))
def test_more_light_never_means_fewer_eggs(one, other, low):
    less, more = sorted((one, other))
    dark, light = lay.light_factor([less, more], dark_h=8, full_h=14, at_dark=low)
    assert low <= dark <= light <= 1
    assert lay.light_factor([8, 11, 14], dark_h=8, full_h=14, at_dark=0.5) == pytest.approx([0.5, 0.75, 1])


def test_first_egg_waits_for_the_light():
    light = [10.0, 12.0, 14.0, 13.0, 14.5]
    assert lay.first_egg_delay_d(light, from_day=0, needed_h=14) == 2
    assert lay.first_egg_delay_d(light, from_day=2, needed_h=14) == 2
    assert lay.first_egg_delay_d(light, from_day=3, needed_h=14) == 4
    assert lay.first_egg_delay_d(light, from_day=0, needed_h=15) is None
    assert lay.first_egg_delay_d(light, from_day=9, needed_h=10) is None
    with pytest.raises(ValueError, match="from_day"):
        lay.first_egg_delay_d(light, from_day=-1, needed_h=10)


def test_parameters_out_of_order_are_refused():
    with pytest.raises(ValueError, match="dark_h"):
        lay.light_factor(10, dark_h=14, full_h=14, at_dark=0.5)
    with pytest.raises(ValueError, match="q must"):
        lay.egg_weight_g(30, p=60, q=60, r_per_wk=0.1)


# Sun


@given(st.floats(-90, 90), st.integers(1, 366), st.floats(-6, 12))
def test_a_day_has_no_more_than_its_hours(latitude, day, below):
    assert 0 <= sun.day_length_h(latitude, day, below_horizon_deg=below) <= 24


@given(st.floats(0, 89.9), st.integers(1, 366))
def test_day_here_is_night_on_the_other_half(latitude, day):
    """For the sun's centre on a bare horizon; refraction gives both halves a little more."""
    both = sun.day_length_h([latitude, -latitude], day, below_horizon_deg=0)
    assert both.sum() == pytest.approx(24, abs=1e-9)
    assert sun.day_length_h([latitude, -latitude], day).sum() >= 24 - 1e-9


@given(st.floats(-66, 66), st.integers(1, 366), st.floats(-6, 6), st.floats(0, 6))
def test_twilight_is_longer(latitude, day, below, deeper):
    at = sun.day_length_h(latitude, day, below_horizon_deg=[below, below + deeper])
    assert at[1] >= at[0] - 1e-12
