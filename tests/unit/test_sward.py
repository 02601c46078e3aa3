"""Grass: what grows is what is there."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from leyfold.nature.sward import Sward, sward_schapendonk_1998


@settings(deadline=None)
@given(
    arrays(float, 60, elements=st.floats(-20, 35)),
    arrays(float, 60, elements=st.floats(0, 32)),
    arrays(float, 60, elements=st.floats(0, 1)),
    st.integers(0, 59),
    st.floats(0, 2000),
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
