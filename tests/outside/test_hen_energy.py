"""Energy and feed of birds against published equations, tables and trials."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.intake import (
    cold_extra_kj,
    eaten_kg,
    hen_energy_brainer_2016_kcal,
    hen_energy_nrc_1994_kcal,
    hen_energy_sakomura_2005_first_kcal,
    hen_energy_sakomura_2005_second_kcal,
)

# NRC 1994, Nutrient Requirements of Poultry, Table 2-4 (from memory): kcal a hen and day at 22 °C, no gain,
# 60 g eggs, at 0, 50, 60, 70, 80, 90 % lay.
NRC_TABLE = {
    1.0: (130, 192, 205, 217, 229, 242),
    1.5: (177, 239, 251, 264, 276, 289),
    2.0: (218, 280, 292, 305, 317, 330),
    2.5: (259, 321, 333, 346, 358, 371),
    3.0: (296, 358, 370, 383, 395, 408),
}


@pytest.mark.parametrize("weight", NRC_TABLE)
def test_nrc_1994_table_within_its_rounding(weight):
    """The table cuts maintenance and eggs down to whole kcal each (218.8 to 218): up to 1.4 below the sum."""
    egg_mass = 60 * np.array([0, 0.5, 0.6, 0.7, 0.8, 0.9])
    energy = hen_energy_nrc_1994_kcal(weight, 22, gain_g_per_d=0, egg_mass_g_per_d=egg_mass)
    assert np.all(np.abs(energy - NRC_TABLE[weight]) <= 1.4)


def test_nrc_1994_by_temperature():
    """The equation by hand for 2.2 kg and 42 g of egg a day, and the feed at 2.75 kcal/g."""
    energy = hen_energy_nrc_1994_kcal(2.2, np.arange(-5, 31, 5), gain_g_per_d=0, egg_mass_g_per_d=42)
    np.testing.assert_allclose(energy, [417.1, 399.4, 381.8, 364.2, 346.6, 329.0, 311.4, 293.8], atol=0.06)
    np.testing.assert_allclose(energy[[0, -1]] / 2.75, [151.7, 106.8], atol=0.06)
    assert hen_energy_nrc_1994_kcal(2, 22, gain_g_per_d=2, egg_mass_g_per_d=50) == pytest.approx(
        333.30, abs=0.005
    )


def test_van_krimpen_2014_one_per_cent_a_degree():
    """van Krimpen et al. 2014, J. Anim. Sci.: hens at 11-21 °C ate 1 % more energy for each degree less."""
    warm, cold = hen_energy_nrc_1994_kcal(1.8, np.array([21.0, 11.0]), gain_g_per_d=0, egg_mass_g_per_d=55)
    assert 100 * (cold / warm - 1) / 10 == pytest.approx(1.0, abs=0.15)


def test_sakomura_2005():
    """Acta Sci. Anim. Sci. 27:349, both models by hand at 15, 21, 25 °C for 1.6 kg, 55 g egg."""
    for model, kcal in [
        (hen_energy_sakomura_2005_first_kcal, [317.2, 297.0, 283.5]),
        (hen_energy_sakomura_2005_second_kcal, [320.2, 302.4, 290.5]),
    ]:
        energy = model(1.6, np.array([15, 21, 25]), gain_g_per_d=0, egg_mass_g_per_d=55)
        np.testing.assert_allclose(energy, kcal, atol=0.06)
        more = model(1.6, 21, gain_g_per_d=2, egg_mass_g_per_d=55) - energy[1]
        assert more == pytest.approx(2 * 6.68)


def test_brainer_2016():
    """J. Anim. Sci. 94:117: 121.8 kcal/kg^0.75 and 2.48 kcal/g of egg."""
    assert hen_energy_brainer_2016_kcal(2.2, egg_mass_g_per_d=42) == pytest.approx(324.2, abs=0.05)


def test_the_published_hens_agree_with_each_other():
    """Three laboratories within 8 % for one hen at 22 °C: none of the four can be off by a unit."""
    arguments = {"gain_g_per_d": 0, "egg_mass_g_per_d": 45}
    each = [
        hen_energy_nrc_1994_kcal(2.0, 22, **arguments),
        hen_energy_sakomura_2005_first_kcal(2.0, 22, **arguments),
        hen_energy_sakomura_2005_second_kcal(2.0, 22, **arguments),
        hen_energy_brainer_2016_kcal(2.0, egg_mass_g_per_d=45),
    ]
    assert max(each) / min(each) < 1.08


def test_maintenance_of_grimbergen_1970_in_the_partition():
    """NJAS 18(3): litter hens 138 kcal/kg^0.75; with 2.75 kcal/g feed, 2 kg ask 84.4 g at rest from lay."""
    kg = eaten_kg(2.0, 0.0, maintenance_kg_per_kg075=138 / 2750, per_gain_kg_per_kg=0)
    assert 1000 * kg == pytest.approx(84.4, abs=0.05)


def test_cold_of_young_broilers_by_calorimetry():
    """24-h gas exchange, broilers 5-35 °C: 0.65 kg, 25 K below the critical temperature is 362 kJ/d, 27.8 g
    of feed at 13 MJ/kg; at 5 °C birds of 16-30 days made 60-80 % more heat than at their least."""
    critical = 63.3 * 28**-0.254
    extra = cold_extra_kj(0.65, 28, critical - 25)
    assert extra == pytest.approx(362, abs=0.5)
    assert extra / 13 == pytest.approx(27.8, abs=0.05)
    # Against the thermoneutral heat of CIGR 2002 at 30 °C (10.62 W kg^-0.75 x 0.8, in kJ a day).
    neutral = 10.62 * 0.8 * 0.65**0.75 * 86.4
    assert 0.5 <= cold_extra_kj(0.65, 28, 5) / neutral <= 0.8


def test_cold_slopes_step_with_age():
    """The same calorimetry: 20 kJ first, 10-15 in weeks 6 and 7, 4-5 after, per kg^0.75, day and K."""
    ages = np.array([10, 34, 35, 48, 49, 100])
    slopes = cold_extra_kj(1.0, ages, 10.0) - cold_extra_kj(1.0, ages, 11.0)
    np.testing.assert_allclose(slopes, [20, 20, 12.5, 12.5, 4.5, 4.5])
    assert cold_extra_kj(1.5, 100, 21.6) == 0
    assert cold_extra_kj(1.5, 100, 20.52) == pytest.approx(4.5 * 1.5**0.75, rel=0.005)
