"""What every equation promises: missing is refused, arrays broadcast, a scalar equals its array."""

from __future__ import annotations

import inspect
from types import ModuleType

import numpy as np
import pytest

from leyfold.nature import dung, growth, hatch, heat, intake, lay, losses, sun, water

HEN = {"weight_kg": 1.8, "temperature_C": 12.0, "gain_g_per_d": 1.0, "egg_mass_g_per_d": 50.0}
WEIGHT, AT = {"weight_kg": 0.5}, {"temperature_C": 12.0}

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
}  # fmt: skip
FIXED = {
    growth.weight_kg: {"model": "richards"},
    dung.ipcc_2006_n_kg: {"bird": "hen", "region": "Western Europe"},
}
# Not of one shape: they take a line's curve, a list of weighings, of stages or of days, and are tested in
# their own files.
OF_LISTS = {growth.by_curve, growth.fit, losses.alive_share, lay.first_egg_delay_d}
# Parameters of a whole table, scalar by contract.
SCALAR = {
    hatch.storage_factor: {"free_d", "loss_per_d", "late_from_d", "late_loss_per_d"},
    lay.light_factor: {"dark_h", "full_h", "at_dark"},
}
MODULES: tuple[ModuleType, ...] = (dung, growth, hatch, heat, intake, lay, losses, sun, water)


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
        "c2_wk", "d_wk", "b_wk",
    }  # fmt: skip
    if equation in (growth.gompertz, growth.logistic, growth.richards, growth.weight_kg):
        may = may | {"age_d"}
    good, fixed = CALLS[equation], FIXED.get(equation, {})
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
