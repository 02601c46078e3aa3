"""What must hold of the air, bucket, wind, cold and machine whatever the numbers."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.nature import air, alarms, bucket, cautions, cold, light, machine, night, pull, water, wind
from leyfold.nature.bucket import Surroundings
from leyfold.words import say

SIZE = {"diameter_m": 0.26, "height_m": 0.226}
few = settings(max_examples=40, deadline=None)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


# --- air ------------------------------------------------------------------------------------------


@few
@given(between(-40, 50), between(0.01, 1))
def test_wet_bulb_lies_between_dew_point_and_air(t, humidity):
    dew, wet = air.dew_point_C(t, humidity), air.wet_bulb_C(t, humidity)
    assert dew - 1e-6 <= wet <= t + 1e-6
    assert air.relative_humidity(t, min(dew, t)) == pytest.approx(humidity, rel=1e-5)


@few
@given(between(-30, 45), between(0.05, 0.95), between(0.01, 0.05))
def test_damper_air_is_nearer_to_its_wet_bulb(t, humidity, more):
    # Over the step from ice to water the bulb may jump: keep to one side.
    low, high = air.wet_bulb_C(t, humidity), air.wet_bulb_C(t, humidity + more)
    assert high > low or (low > -0.1 and high < 0.6)


@few
@given(between(-30, 40), between(0, 1), between(0, 1))
def test_more_cloud_makes_a_warmer_sky_that_never_outdoes_the_air(t, cloud, more):
    few_, many = sorted((cloud, more))
    sky = air.berdahl_martin_1984_sky_C(t, t - 3, cloud_share=[few_, many, 1.0], cloud_factor=1.0)
    assert sky[0] <= sky[1] + 1e-9 <= sky[2] + 2e-9
    assert sky[2] == pytest.approx(t)


# --- light ----------------------------------------------------------------------------------------


@few
@given(between(0, 1300), between(0, 86.9), st.integers(1, 366))
def test_beam_and_diffuse_make_the_whole(ghi, zenith, day):
    part = light.beam_and_diffuse_w(ghi, zenith, day)
    assert part.direct_w * np.cos(np.radians(zenith)) + part.diffuse_w == pytest.approx(ghi)
    assert part.direct_w >= 0
    assert 0 <= part.diffuse_w <= ghi


# --- bucket ---------------------------------------------------------------------------------------

STEPS = 40
series = st.lists(between(0, 1), min_size=STEPS, max_size=STEPS).map(np.array)
sizes = st.tuples(between(1, 40), between(0, 1), between(0, 2.0))


def run(sun, warmth, absorptance, holds, filled, per_step, **more):
    around = Surroundings(absorptance * 110 * sun, 30 * warmth, 30 * warmth - 12, 6 + 10 * sun)
    return bucket.follow(
        around,
        step_h=0.25,
        wanted_l=per_step,
        start_l=holds * filled,
        start_C=12,
        holds_l=holds,
        **SIZE,
        **more,
    )


@few
@given(series, series, sizes, between(0.05, 0.9), between(0, 0.1))
def test_darker_is_never_cooler(sun, warmth, size, absorptance, darker):
    holds, filled, want = size
    light_, dark = (
        run(sun, warmth, a, holds, filled, want).water_C for a in (absorptance, absorptance + darker)
    )
    assert np.all(dark >= light_ - 1e-9)


@few
@given(series, series, sizes, between(0, 1), series)
def test_more_birds_never_drink_less_nor_take_longer_to_dry(sun, warmth, size, more, pour):
    holds, filled, want = size
    one, two = (run(sun, warmth, 0.5, holds, filled, w, poured_l=pour) for w in (want, want + more))
    assert np.all(np.cumsum(two.drunk_l, axis=1) >= np.cumsum(one.drunk_l, axis=1) - 1e-9)
    dry = [bucket.hours_until_dry(r, step_h=0.25)[0] for r in (one, two)]
    assert dry[1] <= dry[0] + 1e-9


@few
@given(series, series, sizes, series)
def test_water_adds_up_and_warmth_stays_within_its_makers(sun, warmth, size, pour):
    """Start + poured = drunk + left; no warmer than the warmest rest, no colder than the coldest."""
    holds, filled, want = size
    got = run(sun, warmth, 0.7, holds, filled, want, poured_l=pour, poured_C=9)
    np.testing.assert_allclose(
        got.water_l[:, 1:], got.water_l[:, :-1] + got.poured_l - got.drunk_l, atol=1e-9
    )
    np.testing.assert_allclose(got.drunk_l + got.missed_l, want, atol=1e-9)
    assert got.water_l.min() >= 0
    assert got.water_l.max() <= holds + 1e-9
    rest = bucket.stand_C(Surroundings(0.7 * 110 * sun, 30 * warmth, 30 * warmth - 12, 6 + 10 * sun), **SIZE)
    assert got.water_C.max() <= max(12, rest.max()) + 0.01
    assert got.water_C.min() >= min(9, rest.min()) - 0.01


def test_many_buckets_at_once_are_each_alone():
    rng = np.random.default_rng(4)
    sun, t_air, want = rng.uniform(0, 1, (3, 5, 96))
    holds, at = np.array([8, 10, 12, 20, 40.0]), np.array([10, 12, 14, 16, 18.0])

    def go(i):
        around = Surroundings(90 * sun[i], 10 + 20 * t_air[0], 3.0, 9.0)
        return bucket.follow(
            around, step_h=0.25, wanted_l=0.3 * want[i], start_l=holds[i], start_C=at[i], holds_l=holds[i],
            poured_l=np.where(np.arange(96) == 50, 9.0, 0.0), **SIZE,
        )  # fmt: skip

    every = go(slice(None))
    for i in range(5):
        alone = go(i)
        np.testing.assert_allclose(every.water_C[i], alone.water_C[0], atol=1e-12)
        np.testing.assert_allclose(every.missed_l[i], alone.missed_l[0], atol=1e-12)


@few
@given(st.lists(between(-5, 50), min_size=2, max_size=20), between(0, 44))
def test_hours_above_of_straight_lines(run_C, limit):
    """Against a fine count along each straight piece."""
    fine = np.concatenate([np.linspace(a, b, 2001)[:-1] for a, b in pairwise(run_C)])
    got = bucket.hours_above(run_C, limit, step_h=0.25)
    assert got == pytest.approx((fine > limit).mean() * 0.25 * (len(run_C) - 1), abs=0.01)
    dry = bucket.hours_above(run_C, limit, step_h=0.25, counted=np.zeros(len(run_C) - 1))
    assert dry == 0


def test_buckets_refuse_what_is_missing():
    good = Surroundings(10.0, 20.0, 5.0, 8.0)
    kw = {"step_h": 1.0, "wanted_l": 0.1, "start_l": 5.0, "start_C": 12.0, "holds_l": 10.0} | SIZE
    assert bucket.follow(good, **kw).water_C.shape == (1, 2)
    for name in ("absorbed_w", "air_C", "sky_C", "film_w_per_m2_K", "emissivity"):
        with pytest.raises(ValueError, match=name):
            bucket.follow(good._replace(**{name: np.nan}), **kw)
    for name in kw:
        with pytest.raises(ValueError, match=name):
            bucket.follow(good, **kw | {name: np.nan})
    with pytest.raises(ValueError, match="start_l"):
        bucket.follow(good, **kw | {"start_l": 11.0})


@few
@given(st.lists(between(0, 0.25), min_size=1, max_size=96))
def test_the_day_s_drinking_is_one_day_s(lit):
    share = water.over_the_day(lit)
    assert share.sum() == pytest.approx(1)
    assert np.all(share >= 0)
    if sum(lit) > 0.01:
        assert np.all(share[np.array(lit) == 0] == 0)


# --- wind and pull --------------------------------------------------------------------------------

shelters = st.fixed_dictionaries(
    {
        "depth_m": between(1, 6), "height_m": between(0.3, 2), "roof_m2": between(0, 12),
        "front_m2": between(0, 6), "lift": between(0, 2.5), "drag": between(0, 1.5),
    }
)  # fmt: skip
places = st.tuples(between(0, 1), between(0, 1))


def put(shelter, where):
    return shelter | {
        "uplift_centre_m": where[0] * shelter["depth_m"],
        "mass_centre_m": where[1] * shelter["depth_m"],
    }


@few
@given(shelters, places, between(20, 500), between(0, 300))
def test_heavier_never_moves_sooner(shelter, where, mass, more):
    light_, heavy = (wind.gusts_borne(m, **put(shelter, where)) for m in (mass, mass + more))
    for a, b in zip(light_, heavy, strict=True):
        assert b >= a * (1 - 1e-12)
    loads = [wind.anchor_load_n(30, m, **put(shelter, where)) for m in (mass, mass + more)]
    assert loads[1].total_uplift_n <= loads[0].total_uplift_n + 1e-9


@few
@given(shelters, places, between(20, 500), between(5, 40), between(0, 20))
def test_a_harder_gust_never_pulls_less(shelter, where, mass, gust, more):
    soft, hard = (wind.anchor_load_n(v, mass, **put(shelter, where)) for v in (gust, gust + more))
    assert hard.total_uplift_n >= soft.total_uplift_n
    assert hard.windward_n >= soft.windward_n - 1e-9


@few
@given(shelters, places, between(20, 500))
def test_under_the_first_gust_nothing_pulls(shelter, where, mass):
    kw = put(shelter, where)
    first = wind.gusts_borne(mass, **kw).first
    if np.isfinite(first) and first < 119:
        load = wind.anchor_load_n(0.999 * first, mass, **kw, wind_factor=1, weight_factor=1)
        assert load.windward_n == pytest.approx(0, abs=1e-6 * mass)
        assert load.lee_n == pytest.approx(0, abs=1e-6 * mass)


@few
@given(between(1, 500), between(0, 1), between(-0.3, 0.3), between(0, 0.3))
def test_steeper_or_rougher_never_pulls_lighter(mass, friction, slope, more):
    base = pull.pull_n(mass, friction=friction, slope_share=slope)
    assert pull.pull_n(mass, friction=friction + more, slope_share=slope) >= base - 1e-9
    if friction < 1 / 0.6:  # over the slope where pressure falls faster than weight pulls
        assert pull.pull_n(mass, friction=friction, slope_share=slope + more) >= base - 1e-9


# --- cold -----------------------------------------------------------------------------------------

RULE = cold.ColdRule((0, 21, 28, 35, 42), (35, 15, 8, 2, -3), 6, 2, 8, 35, 3, 5)
groups = st.fixed_dictionaries(
    {
        "bird_height_C": between(-25, 30), "age_d": between(0, 120), "heads": between(1, 200),
        "bedded": between(0, 1), "wet": between(0, 1), "wind_m_per_s": between(0, 10),
    }
)  # fmt: skip
worse = {
    "bird_height_C": -1.0, "age_d": -1.0, "heads": -1.0, "bedded": -0.01, "wet": 0.01, "wind_m_per_s": 0.5,
}  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(groups, st.sampled_from(sorted(worse)), between(0, 60))
def test_risk_never_falls_when_it_gets_worse(group, what, times):
    low = {"bird_height_C": -60, "age_d": 0, "heads": 1, "bedded": 0}.get(what, -np.inf)
    high = 1.0 if what == "wet" else np.inf
    harder = group | {what: float(np.clip(group[what] + times * worse[what], low, high))}
    before, after = (cold.cold_risk(**g, rule=RULE) for g in (group, harder))
    assert after.grade >= before.grade
    assert after.margin_K <= before.margin_K + 1e-9


@pytest.mark.parametrize("heads", [1, 2, 5, 40])
@pytest.mark.parametrize("wet", [0, 1])
def test_no_age_bears_less_than_a_younger_one(heads, wet):
    """Day by day, past the last floor too, and however few they are."""
    ages = np.arange(0, 130.0)
    got = cold.cold_risk(-2.0, ages, heads=heads, bedded=1, wet=wet, wind_m_per_s=0, rule=RULE)
    assert np.all(np.diff(got.margin_K) >= -1e-9)
    assert np.all(np.diff(got.grade) <= 0)


@few
@given(groups)
def test_the_reasons_make_the_floor(group):
    got = cold.cold_risk(**group, rule=RULE)
    told = [r for r in cold.cold_reasons(got) if r.what != "soaked"]
    assert sum(r.by for r in told) == pytest.approx(float(got.floor_C), abs=1e-9)
    assert got.margin_K == pytest.approx(group["bird_height_C"] - got.floor_C)
    assert got.grade in (0, 1, 2, 3)


def test_cold_refuses_what_is_missing():
    good = {
        "bird_height_C": 3.0,
        "age_d": 30.0,
        "heads": 40.0,
        "bedded": 1.0,
        "wet": 0.0,
        "wind_m_per_s": 1.0,
    }
    for name in good:
        for bad in (np.nan, [1.0, np.inf]):
            with pytest.raises(ValueError, match=name):
                cold.cold_risk(**good | {name: bad}, rule=RULE)
    several = cold.cold_risk(
        **good | {"bird_height_C": [[3.0], [-9.0]], "age_d": [20.0, 30.0, 40.0]}, rule=RULE
    )
    assert {part.shape for part in several} == {(2, 3)}


@few
@given(between(0, 200), between(-20, 10), st.sampled_from([0, 1]), between(0, 100), between(0, 20))
def test_piling_never_falls_with_more_birds_or_more_cold(heads, margin, settled, more, colder):
    kw = {"easy_heads": 35, "many_heads": 55}
    base = cold.pile_risk(heads, margin, settled=settled, **kw)
    assert cold.pile_risk(heads + more, margin, settled=settled, **kw) >= base
    assert cold.pile_risk(heads, margin - colder, settled=settled, **kw) >= base
    assert cold.pile_risk(heads, margin, settled=0, **kw) >= base


@few
@given(between(-20, 20), between(0, 8), between(0, 1), between(0, 2), between(0, 0.5))
def test_birds_lie_no_warmer_than_the_station_says(station, blows, cloud, more_wind, more_cloud):
    kw = {"deepest_K": 3.0, "station_sd_K": 1.5, "depth_sd_share": 0.35}
    base = night.bird_height_C(station, blows, cloud, **kw)
    assert base.low_C < base.middle_C < base.high_C
    assert station - 3 - 1e-9 <= base.middle_C <= station
    assert night.bird_height_C(station, blows + more_wind, cloud, **kw).middle_C >= base.middle_C - 1e-9
    assert (
        night.bird_height_C(station, blows, min(1, cloud + more_cloud), **kw).middle_C >= base.middle_C - 1e-9
    )


@few
@given(between(0, 1500), between(0, 500), between(0.01, 8), between(0, 5))
def test_more_birds_never_make_a_colder_shelter(watts, more, opening, blows):
    kw = {"loss_w_per_K": 60.0, "wind_m_per_s": blows, "height_m": 0.6}
    less, warm = (night.shelter_rise_K(w, 0, opening_m2=opening, **kw) for w in (watts, watts + more))
    assert warm >= less - 1e-9
    assert night.shelter_rise_K(watts, 0, opening_m2=opening + 1, **kw) <= less + 1e-6


# --- machine and alarms ---------------------------------------------------------------------------


@few
@given(between(0, 30), between(0, 36), between(0, 22), between(0, 10))
def test_embryos_are_never_better_for_more_of_it(hours, coldest, day, more):
    assert machine.cold_embryo_grade(hours + more, coldest, day) >= machine.cold_embryo_grade(
        hours, coldest, day
    )
    hot = 36 + coldest / 4
    assert machine.hot_embryo_grade(hours + more, hot, day) >= machine.hot_embryo_grade(hours, hot, day)
    assert machine.hot_embryo_grade(hours, hot + more, day) >= machine.hot_embryo_grade(hours, hot, day)


@few
@given(st.lists(st.tuples(between(0, 500), st.sampled_from("abc")), max_size=8), between(-30, 30))
def test_a_fuse_out_is_never_better_than_a_lamp_out(lamps, barn):
    got = machine.brooder_carries(lamps, barn)
    assert got.fuse_out <= got.lamp_out + 1e-9 <= got.all_on + 2e-9


@few
@given(st.integers(1, 400), between(0.001, 0.2), st.integers(0, 30))
def test_more_dead_is_never_likelier_luck(chicks, share, dead):
    dead = min(dead, chicks - 1)
    chance = alarms.first_week_chance([dead, dead + 1], chicks, usual_share=share)
    assert 0 <= chance[1] <= chance[0] <= 1
    assert np.diff(alarms.sick_batch_chance([dead, dead + 1], chicks * share)) <= 0


def test_counts_must_be_whole():
    with pytest.raises(ValueError, match="dead"):
        alarms.sick_batch_chance(1.5, 2.0)
    with pytest.raises(ValueError, match="dead"):
        alarms.first_week_chance(12, 10, usual_share=0.01)


def test_cautions_are_written():
    for key in (cautions.WIND, cautions.LIFTING, cautions.ELECTRICITY):
        assert len(say(key)) > 100
