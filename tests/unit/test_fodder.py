"""Grass given and kept, against sums by hand."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.fodder import break_m2_per_day, days_of_grass, days_to_regrow, hay_ha


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


def test_a_break_for_cattle() -> None:
    # 14 cows at 11 kg DM, 2,700 down to 1,600 kg/ha, nine tenths used: 154 / 990 x 10,000.
    assert break_m2_per_day(14, 11, 2700, 1600, 0.9) == pytest.approx(1556, abs=0.5)
    with pytest.raises(ValueError, match="cover"):
        break_m2_per_day(14, 11, 1600, 1600, 0.9)


def test_hay_ground() -> None:
    # 14 cows for 190 days at 9 kg, 4.5 t/ha cut: 26,334 kg with a tenth lost.
    assert hay_ha(14, 190, 9, 4500) == pytest.approx(5.852)
