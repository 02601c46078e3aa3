"""Water drunk against published trials and handbook tables."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.water import drunk_l, pesti_1985_ml


def test_pesti_1985():
    """Poult. Sci. 64:803: 5.28 mL a day of age; by hand at 7, 14, 21, 28, 42 d."""
    np.testing.assert_allclose(
        pesti_1985_ml([7, 14, 21, 28, 42]), [37.0, 73.9, 110.9, 147.8, 221.8], atol=0.06
    )


def test_a_shelter_of_pesti_1985():
    """72 birds of 35 days drink 13.31 L a day."""
    assert 72 * pesti_1985_ml(35) / 1000 == pytest.approx(13.31, abs=0.006)


def test_slope_agrees_with_the_kentucky_table():
    """Univ. of Kentucky poultry manual, table 12.1, 20 to 32 °C: hens 5.55 to 10.57 US gal/100/d (+90 %),
    broilers 6.60 to 13.21 (doubled). Linear 7 % of the 21 °C amount lies within 10 % of both; the same 7 %
    per degree Fahrenheit would not (x2.5)."""
    at = drunk_l(0.11, np.array([20.0, 32.0]), litres_per_kg=1.8, slope_per_K=0.07, base_C=21)
    growth = at[1] / at[0]
    assert growth == pytest.approx(10.57 / 5.55, rel=0.10)
    assert growth == pytest.approx(13.21 / 6.60, rel=0.12)
    per_fahrenheit = drunk_l(0.11, 32, litres_per_kg=1.8, slope_per_K=0.07 * 1.8, base_C=21) / at[0]
    assert per_fahrenheit > 1.15 * 13.21 / 6.60


def test_a_laying_hen_by_the_handbook():
    """Hens at 21 °C drink 220-270 L/1000/d at 50-90 % lay, and 1.8-2.0 g/g feed (Xin et al. 2002, Poult. Sci.
    81:608): 120 g of feed meets both."""
    litres = 1000 * drunk_l(0.120, 21, litres_per_kg=np.array([1.85, 2.0]), slope_per_K=0.07, base_C=21)
    assert np.all((litres >= 220) & (litres <= 270))


def test_pastured_meat_birds_of_knight_2019():
    """J. NACAA 12(1): 4.68 kg feed and 10.92 L water a bird over life in daily-moved pens, 2.33 L/kg: between
    the rule's cool ratio (Pesti's 1.77) and the rule at 30 °C."""
    cool, hot = drunk_l(4.68, np.array([21.0, 30.0]), litres_per_kg=1.77, slope_per_K=0.07, base_C=21)
    assert cool < 10.92 < hot
