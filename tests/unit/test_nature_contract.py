"""What every equation promises: missing is refused, arrays broadcast, a scalar equals its array."""

from __future__ import annotations

import inspect
from types import ModuleType

import numpy as np
import pytest

from leyfold.nature import (
    air,
    alarms,
    ammonia,
    bucket,
    cold,
    dung,
    grazing,
    growth,
    hatch,
    heat,
    hot,
    intake,
    lay,
    light,
    losses,
    machine,
    night,
    pull,
    sun,
    water,
    wind,
)

HEN = {"weight_kg": 1.8, "temperature_C": 12.0, "gain_g_per_d": 1.0, "egg_mass_g_per_d": 50.0}
WEIGHT, AT = {"weight_kg": 0.5}, {"temperature_C": 12.0}
AIR, AT_SEA = AT | {"humidity": 0.6}, {"pressure_pa": 101325.0}
PLACE = {"latitude_deg": 57.0, "longitude_deg": 10.0, "unix_s": 1.7e9}
GROUND = {"height_m": 2.5, "roughness_m": 0.05, "least_height_m": 2.0}
SHELTER = {
    "mass_kg": 90.0, "depth_m": 3.3, "height_m": 0.6, "roof_m2": 5.1, "front_m2": 0.9, "lift": 1.3,
    "drag": 1.0, "uplift_centre_m": 2.5, "mass_centre_m": 1.6,
}  # fmt: skip
STEPS = {"alert_C": 24.0, "danger_C": 27.0, "emergency_C": 30.0}

# Each public equation with one good call. Arguments that are not numbers stand in FIXED.
CALLS = {
    growth.gompertz: {"age_d": 40.0, "mature_kg": 3.0, "rate_per_d": 0.03, "inflection_d": 50.0},
    growth.logistic: {"age_d": 40.0, "mature_kg": 3.0, "scale_d": 20.0, "inflection_d": 50.0},
    growth.richards: {
        "age_d": 40.0, "mature_kg": 3.0, "rate_per_d": 0.03, "inflection_d": 50.0, "shape": 1.4,
    },
    growth.weight_kg: {
        "age_d": 40.0, "mature_kg": 3.0, "rate_per_d": 0.03, "inflection_d": 50.0, "shape": 1.4,
    },
    growth.gompertz_through: {"mature_kg": 3.6, "hatch_kg": 0.04, "age_d": 105.0, "weight_kg": 2.4},
    intake.eaten_kg: {
        "weight_kg": 1.0, "gain_kg": 0.02, "maintenance_kg_per_kg075": 0.04, "per_gain_kg_per_kg": 1.5,
        "cold_kg": 0.01,
    },
    intake.given_kg: {"eaten_kg": 0.1, "waste_share": 0.05},
    intake.cold_extra_kj: {"weight_kg": 0.5, "age_d": 30.0, "temperature_C": 5.0},
    intake.hen_energy_nrc_1994_kcal: HEN,
    intake.hen_energy_sakomura_2005_first_kcal: HEN,
    intake.hen_energy_sakomura_2005_second_kcal: HEN,
    intake.hen_energy_brainer_2016_kcal: {"weight_kg": 2.0, "egg_mass_g_per_d": 45.0},
    water.drunk_l: {
        "feed_kg": 0.1, "temperature_C": 28.0, "litres_per_kg": 1.8, "slope_per_K": 0.07, "base_C": 21.0,
    },
    water.pesti_1985_ml: {"age_d": 30.0},
    hatch.storage_factor: {
        "stored_d": 12.0, "free_d": 7.0, "loss_per_d": 0.01, "late_from_d": 14.0, "late_loss_per_d": 0.03,
    },
    hatch.chicks: {"eggs": 120.0, "fertility": 0.9, "hatch_of_fertile": 0.85, "storage": 0.98},
    hatch.chick_weight_g: {"egg_weight_g": 60.0},
    hatch.projected_loss_share: {"weight_start": 60.0, "weight_now": 57.0, "day": 9.0, "at_day": 18.0},
    hatch.egg_weight_on_day: {"weight_start": 60.0, "day": 9.0, "loss_share_per_d": 0.006},
    hatch.fate_kuurman_2001: {"day": 9.0},
    losses.daily_survival: {"stage_survival": 0.97, "stage_days": 28.0},
    losses.lost_over: {"lost_share": 0.1, "days": 392.0, "over_d": 28.0},
    losses.eu_2007_43_ceiling_share: {"age_d": 42.0},
    heat.chepete_xin_2001_broiler_w: WEIGHT,
    heat.chepete_xin_2001_layer_w: WEIGHT,
    heat.cigr_2002_broiler_w: WEIGHT,
    heat.cigr_2002_hen_w: WEIGHT | {"egg_kg_per_d": 0.05},
    heat.cigr_2002_correction: AT,
    heat.cigr_2002_sensible_share_broilers: AT,
    heat.cigr_2002_sensible_share_layers: AT,
    heat.cigr_1984_correction: AT,
    heat.cigr_1984_sensible_share: AT,
    heat.latent_to_water_g_per_h: {"latent_w": 336.0},
    heat.resting_heat_meltzer_1983_w: WEIGHT,
    heat.lower_critical_temperature_meltzer_1983_C: {"age_d": 30.0},
    heat.lower_critical_temperature_by_weight_meltzer_1983_C: WEIGHT,
    dung.nitrogen_share: {"protein_share": 0.18},
    dung.balance_kg: {
        "feed_given_kg": 8.0, "content_share": 0.03, "gain_kg": 2.0, "kept_per_gain": 0.03, "egg_kg": 1.0,
        "kept_per_egg": 0.019,
    },
    dung.ipcc_2006_n_kg: {"weight_kg": 1.8, "days": 365.0},
    lay.yang: {"age_wk": 30.0, "a": 0.95, "b_per_wk": 0.005, "c_per_wk": 0.9, "d_wk": 24.5},
    lay.grossman_koops_2001: {"week": 12.0, "k1": 0.88, "k2": 0.76, "c2_wk": 25.0},
    lay.grossman_koops_2001_eggs: {"week": 12.0, "k1": 0.88, "k2": 0.76, "c2_wk": 25.0},
    lay.wood: {"week": 12.0, "a": 60.0, "b": 0.4, "c_per_wk": 0.02},
    lay.mcmillan: {"week": 12.0, "most": 95.0, "a_per_wk": 0.01, "c_per_wk": 0.5, "d_wk": 1.0},
    lay.adams_bell: {"week": 12.0, "a": 0.01, "r": 0.3, "b_wk": 8.0, "c_per_wk": 0.4, "d_wk": 10.0},
    lay.light_factor: {"light_h": 11.0, "dark_h": 8.0, "full_h": 14.0, "at_dark": 0.5},
    lay.egg_weight_g: {"age_wk": 30.0, "p": 61.0, "q": 31.0, "r_per_wk": 0.05},
    sun.day_length_h: {"latitude_deg": 57.0, "day_of_year": 100.0, "below_horizon_deg": 0.8333},
    sun.declination_deg: {"day_of_year": 100.0},
    sun.sun_position: PLACE,
    sun.rise_and_set: PLACE | {"below_horizon_deg": 0.8333},
    light.extraterrestrial_w: {"day_of_year": 100.0},
    light.haurwitz_1945_w: {"zenith_deg": 40.0},
    light.clouded_kasten_czeplak_1980: {"cloud_share": 0.4},
    light.beam_and_diffuse_w: {"global_w": 500.0, "zenith_deg": 40.0, "day_of_year": 100.0},
    light.on_cylinder_w: {
        "global_w": 500.0, "direct_w": 600.0, "diffuse_w": 90.0, "zenith_deg": 40.0, "diameter_m": 0.26,
        "height_m": 0.23, "reflected_share": 0.2,
    },
    ammonia.ammonia_g_per_h: {"n_kg_per_d": 0.15},
    ammonia.fresh_air_m3_per_h: AT | {"ammonia_g_per_h": 1.1, "most_ppm": 20.0},
    air.saturation_pressure_pa: AT,
    air.pressure_pa: {"altitude_m": 300.0},
    air.relative_humidity: AT | {"dew_point_C": 5.0},
    air.dew_point_C: AIR,
    air.wet_bulb_C: AIR | AT_SEA,
    air.humidity_ratio: AIR | AT_SEA,
    air.enthalpy_j_per_kg: AT | {"humidity_ratio": 0.006},
    air.volume_m3_per_kg: AT | {"humidity_ratio": 0.006} | AT_SEA,
    air.stull_2011_wet_bulb_C: AIR,
    air.swinbank_1963_sky_C: AT,
    air.berdahl_martin_1984_sky_C: AT | {
        "dew_point_C": 5.0, "solar_h": 3.0, "cloud_share": 0.3, "cloud_factor": 0.8,
    },
    air.bliss_1961_sky_C: AT | {"dew_point_C": 5.0},
    air.wind_at_m_per_s: {"wind_m_per_s": 4.0, "height_m": 0.6, "measured_m": 10.0, "roughness_m": 0.03},
    air.mcadams_1954_film: {"wind_m_per_s": 2.0},
    air.watmuff_1977_film: {"wind_m_per_s": 2.0},
    air.churchill_bernstein_1977_film: {"wind_m_per_s": 2.0, "diameter_m": 0.26, "temperature_C": 20.0},
    hot.tao_xin_2003_thvi_C: {"dry_C": 34.0, "wet_bulb_C": 25.0, "wind_m_per_s": 0.6},
    hot.zulovich_deshazer_1990_hens_C: {"dry_C": 34.0, "wet_bulb_C": 25.0},
    hot.heat_state: {"index_C": 28.0} | STEPS,
    bucket.mixed_C: {"first_l": 3.0, "first_C": 25.0, "second_l": 9.0, "second_C": 11.0},
    bucket.frost_free_w: {"lowest_C": -6.0, "loss_w_per_K": 4.5, "keep_C": 2.0},
    night.mckenzie_1944_minimum_C: {"highest_C": 17.0, "dew_point_C": 5.0, "k_K": 6.0},
    night.mckenzie_1944_k_K: {"wind_m_per_s": 2.0, "cloud_share": 0.2},
    night.smith_1973_grass_minimum_C: AT | {"dew_point_C": 5.0, "constant_K": 8.0},
    night.bird_height_C: {
        "station_C": 3.0, "wind_m_per_s": 1.0, "cloud_share": 0.2, "deepest_K": 3.0,
        "calm_under_m_per_s": 3.0, "station_sd_K": 1.5, "depth_sd_share": 0.35,
    },
    night.shelter_rise_K: {
        "heat_w": 300.0, "outside_C": 2.0, "loss_w_per_K": 61.0, "opening_m2": 0.5, "wind_m_per_s": 0.5,
        "height_m": 0.6, "wind_effect": 0.5, "discharge": 0.6,
    },
    night.roof_sheet_C: {
        "outside_C": 2.0, "sky_C": -18.0, "film_w_per_m2_K": 8.0, "inside_C": 3.0, "emissivity": 0.3,
        "inner_emissivity": 0.3, "inner_film_w_per_m2_K": 3.0, "absorbed_w_per_m2": 10.0,
    },
    cold.huddle_saving: {"heads": 50.0, "most": 0.42},
    cold.huddled_critical_C: {"critical_C": 28.0, "saving": 0.3, "body_C": 41.2},
    cold.soaked_limit_C: {"age_d": 13.0},
    cold.pile_risk: {
        "heads": 70.0, "margin_K": -2.0, "settled": 1.0, "easy_heads": 35.0, "many_heads": 55.0,
    },
    wind.terrain_factor: {"roughness_m": 0.05},
    wind.roughness_factor: GROUND,
    wind.turbulence_intensity: GROUND,
    wind.peak_pressure_pa: {"basic_m_per_s": 24.0} | GROUND,
    wind.gust_at_shelter_m_per_s: {"gust_m_per_s": 24.0} | GROUND,
    wind.canopy_coefficients: {"pitch_deg": 5.0, "blocked_share": 0.4},
    wind.gusts_borne: SHELTER | {"friction": 0.4},
    wind.anchor_load_n: {"gust_m_per_s": 25.0} | SHELTER | {
        "a_side": 2.0, "wind_factor": 1.5, "weight_factor": 0.9,
    },
    pull.pull_n: {"mass_kg": 90.0, "friction": 0.4, "slope_share": 0.05},
    pull.best_rope_n: {"mass_kg": 90.0, "friction": 0.4},
    pull.wheeled_pull_n: {"mass_kg": 90.0, "friction": 0.4, "wheeled_share": 0.5, "rolling": 0.1},
    pull.people_needed: {"force_n": 350.0, "one_n": 150.0},
    machine.cooled_C: {"hours": 4.0, "room_C": 12.0, "tau_h": 3.0, "from_C": 37.7},
    machine.hours_until_cooled: {"limit_C": 32.0, "room_C": 12.0, "tau_h": 3.0, "from_C": 37.7},
    machine.cold_embryo_grade: {"hours_cold": 5.0, "coldest_C": 24.0, "day": 10.0},
    machine.hot_embryo_grade: {"hours": 3.0, "hottest_C": 41.0, "day": 10.0},
    machine.settable_share: {"hen_age_wk": 30.0, "none_before_wk": 26.0, "kept_share": 0.85},
    machine.chicks_under_lamp: {"barn_C": 3.0, "watts": 250.0, "at_10C": 75.0, "per_K": 1.8},
    machine.needed_C: {"age_d": 10.0},
    machine.under_heat: {"age_d": 10.0, "barn_C": 3.0},
    alarms.first_week_chance: {"dead": 5.0, "chicks": 110.0, "usual_share": 0.015},
    alarms.sick_batch_chance: {"dead": 3.0, "expected": 0.8},
    alarms.least_alarming: {"expected": 0.8, "under": 0.05},
    grazing.days_behind_cattle: {"mean_C": 17.0, "first_K_d": 62.0, "last_K_d": 108.0, "base_C": 10.0},
}  # fmt: skip
FIXED = {
    growth.weight_kg: {"model": "richards"},
    dung.ipcc_2006_n_kg: {"bird": "hen", "region": "Western Europe"},
}
# Not of one shape: they take a line's curve, a list of weighings, stages, days or lamps, or what surrounds a
# thing, and are tested in their own files.
OF_LISTS = {
    growth.by_curve, growth.fit, losses.alive_share, lay.first_egg_delay_d, water.over_the_day,
    grazing.grass_season, grazing.grass_warmth_K_d, bucket.stand_C, bucket.time_constant_h, bucket.follow,
    bucket.hours_above, bucket.hours_until_dry, cold.cold_risk, cold.cold_reasons, machine.brooder_carries,
    machine.fuse_amps,
}  # fmt: skip
# Parameters of a whole table, scalar by contract.
SCALAR = {
    hatch.storage_factor: {"free_d", "loss_per_d", "late_from_d", "late_loss_per_d"},
    lay.light_factor: {"dark_h", "full_h", "at_dark"},
    alarms.least_alarming: {"under"},
}
MODULES: tuple[ModuleType, ...] = (
    air,
    alarms,
    ammonia,
    bucket,
    cold,
    dung,
    grazing,
    growth,
    hatch,
    heat,
    hot,
    intake,
    lay,
    light,
    losses,
    machine,
    night,
    pull,
    sun,
    water,
    wind,
)


def test_every_public_equation_is_on_the_list():
    public = {
        function
        for module in MODULES
        for name in module.__all__
        if inspect.isfunction(function := getattr(module, name))
    }
    assert public == set(CALLS) | OF_LISTS


@pytest.mark.parametrize("equation", CALLS, ids=lambda f: f.__name__)
def test_missing_is_refused_in_every_argument(equation):
    good, fixed = CALLS[equation], FIXED.get(equation, {})
    assert np.all(np.isfinite(equation(**good, **fixed)))
    for name in good:
        for bad in (np.nan, np.inf, -np.inf):
            with pytest.raises(ValueError, match=name):
                equation(**good | {name: bad}, **fixed)
        if name not in SCALAR.get(equation, ()):
            with pytest.raises(ValueError, match=name):
                equation(**good | {name: np.array([good[name], np.nan])}, **fixed)


@pytest.mark.parametrize("equation", CALLS, ids=lambda f: f.__name__)
def test_negative_is_refused_or_means_something(equation):
    """Only temperatures, gains and positions on a time axis or globe may be below zero."""
    may = {
        "temperature_C", "base_C", "gain_g_per_d", "inflection_d", "latitude_deg", "below_horizon_deg",
        "c2_wk", "d_wk", "b_wk", "longitude_deg", "unix_s", "altitude_m", "k_K", "margin_K", "slope_share",
    }  # fmt: skip
    if equation in (growth.gompertz, growth.logistic, growth.richards, growth.weight_kg):
        may = may | {"age_d"}
    good, fixed = CALLS[equation], FIXED.get(equation, {})
    may = may | {name for name in good if name.endswith("_C")}
    for name in set(good) - may:
        with pytest.raises(ValueError, match=name):
            equation(**good | {name: -1.0}, **fixed)


@pytest.mark.parametrize("equation", CALLS, ids=lambda f: f.__name__)
def test_arrays_hold_the_scalars(equation):
    """Every argument as [lot, 1] against the scalar call; the first one along [lot, day] too."""
    good, fixed = CALLS[equation], FIXED.get(equation, {})
    scalar = equation(**good, **fixed)
    assert all(np.ndim(part) == 0 for part in np.atleast_1d(np.asarray(scalar, dtype=object)))
    own = SCALAR.get(equation, set())
    columns = {k: v if k in own else np.full((3, 1), v) for k, v in good.items()}
    first = next(iter(good))
    arrays = equation(**columns | {first: np.full((3, 4), good[first])}, **fixed)
    if isinstance(scalar, tuple):
        for one, many in zip(scalar, arrays, strict=True):
            np.testing.assert_allclose(many, np.full(np.shape(many), one), rtol=1e-14)
    else:
        assert arrays.shape == (3, 4)
        np.testing.assert_allclose(arrays, np.full((3, 4), scalar), rtol=1e-14)


@pytest.mark.parametrize("equation", CALLS, ids=lambda f: f.__name__)
def test_arguments_are_left_as_they_were(equation):
    good, fixed = CALLS[equation], FIXED.get(equation, {})
    own = SCALAR.get(equation, set())
    given = {k: v if k in own else np.full(3, v) for k, v in good.items()}
    equation(**given, **fixed)
    for name, value in given.items():
        np.testing.assert_array_equal(value, good[name])


def test_the_lists_refuse_the_missing():
    for bad in (np.nan, np.inf):
        with pytest.raises(ValueError, match="age_d"):
            losses.alive_share(bad, ends_d=[7], survivals=[0.9])
        with pytest.raises(ValueError, match=r"ends_d\[0\]"):
            losses.alive_share(3, ends_d=[bad], survivals=[0.9])
        with pytest.raises(ValueError, match=r"survivals\[1\]"):
            losses.alive_share(3, ends_d=[7, 9], survivals=[0.9, bad])
        with pytest.raises(ValueError, match="light_h_by_day"):
            lay.first_egg_delay_d([12.0, bad], from_day=0, needed_h=14)
        with pytest.raises(ValueError, match="needed_h"):
            lay.first_egg_delay_d([12.0], from_day=0, needed_h=bad)


def test_empty_in_empty_out():
    assert growth.gompertz([], mature_kg=3, rate_per_d=0.03, inflection_d=50).shape == (0,)
