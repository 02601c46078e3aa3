"""Grass: what grows is what is there, rest by growth, days of grass left."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from leyfold.nature.sward import Sward, days_of_grass, days_to_regrow, sward_schapendonk_1998


@given(
    arrays(float, 60, elements=st.floats(-20, 35)), arrays(float, 60, elements=st.floats(0, 32)),
    arrays(float, 60, elements=st.floats(0, 1)), st.integers(0, 59), st.floats(0, 2000),
)
def test_green_is_conserved_and_never_negative(
    mean: np.ndarray, light: np.ndarray, water: np.ndarray, cut: int, left: float
) -> None:
    got = sward_schapendonk_1998(mean, light, water=water, cuts={cut: left})
    change = got.grown_kg_per_ha - got.died_kg_per_ha - got.taken_kg_per_ha
    after = np.append(got.green_kg_per_ha[1:], got.end.green_kg_per_ha)
    assert after == pytest.approx(got.green_kg_per_ha + change, abs=1e-9)
    assert min(after.min(), got.reserves_kg_per_ha.min(), got.grown_kg_per_ha.min()) >= -1e-9


def test_grass_goes_on_from_where_it_was() -> None:
    mean, light = np.linspace(4, 16, 90), np.linspace(6, 18, 90)
    whole = sward_schapendonk_1998(mean, light, cuts={40: 320.0})
    first = sward_schapendonk_1998(mean[:50], light[:50], cuts={40: 320.0})
    second = sward_schapendonk_1998(mean[50:], light[50:], start=first.end)
    assert second.end == whole.end
    assert second.end.since_cut == 49


def test_cold_grass_and_dark_grass_do_not_grow() -> None:
    cold = sward_schapendonk_1998(np.full(20, -5.0), np.full(20, 15.0), start=Sward(soil_C=-5.0))
    assert cold.grown_kg_per_ha.sum() == 0
    dark = sward_schapendonk_1998(np.full(20, 12.0), np.zeros(20), start=Sward(reserves_kg_per_ha=0.0))
    assert dark.grown_kg_per_ha.sum() == 0


def test_missing_weather_is_an_error() -> None:
    with pytest.raises(ValueError, match="temperature_C"):
        sward_schapendonk_1998([1.0, np.nan], [3.0, 3.0])
    with pytest.raises(ValueError, match="one length"):
        sward_schapendonk_1998([1.0, 2.0], [3.0])


@pytest.mark.parametrize(("growth", "days"), [(55.0, 20), (35.0, 31), (15.0, 73)])
def test_rest_days_by_hand(growth: float, days: int) -> None:
    # 2,700 kg DM/ha wanted again from 1,600: 1,100 / growth.
    assert round(days_to_regrow(2700, 1600, growth)) == days
    assert days_to_regrow(2700, 1600, np.full(100, growth)) == pytest.approx(1100 / growth)


def test_grass_that_never_comes_back() -> None:
    assert days_to_regrow(2700, 1600, 0.0) == np.inf
    assert days_to_regrow(2700, 1600, [10.0, -10.0] * 5) == np.inf
    assert days_to_regrow(1600, 1600, 0.0) == 0
    with pytest.raises(ValueError, match="cover"):
        days_to_regrow(1500, 1600, 10.0)


def test_days_of_grass_left() -> None:
    # 1.2 ha with 600 kg/ha above the residual; 14 cows at 11 kg; 8 kg/ha a day grows: 720 / (154 - 9.6).
    assert days_of_grass(720.0, 14 * 11.0, 1.2 * 8) == pytest.approx(4.986, abs=0.001)
    assert days_of_grass(720.0, 10.0, 10.0) == np.inf
    drying = days_of_grass(720.0, 154.0, np.linspace(100, 0, 30))
    assert 4.986 < drying < 30
    assert days_of_grass(0.0, 5.0, 1.0) == 0
