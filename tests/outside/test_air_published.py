"""Moist air, films and skies against psychrolib, handbook tables and the papers' own examples."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from leyfold.nature import air, hot

psychrolib.SetUnitSystem(psychrolib.SI)

T, RH = (a.ravel() for a in np.meshgrid(np.arange(-25.0, 46.0, 4.7), [0.05, 0.31, 0.5, 0.83, 1.0]))


def test_saturation_pressure_of_ashrae_2017():
    """ASHRAE Handbook of Fundamentals 2017, ch. 1, table 3."""
    at, pascal = [-20, -5, 5, 25, 50], [103.24, 401.74, 872.6, 3169.7, 12351.3]
    np.testing.assert_allclose(air.saturation_pressure_pa(at), pascal, rtol=3e-4)


def test_moist_air_of_ashrae_2017():
    """Same chapter: table 2 (saturated air at sea level), standard atmosphere, and its equations worked at
    95 461 Pa (500 m) as in psychrolib's own tests."""
    np.testing.assert_allclose(air.humidity_ratio([5, 25], 1.0), [0.005425, 0.020173], rtol=5e-3)
    np.testing.assert_allclose(air.pressure_pa([500, 1000]), [95461, 89875], atol=1)
    assert air.enthalpy_j_per_kg(30, 0.02) == pytest.approx(81316, rel=3e-4)
    assert air.volume_m3_per_kg(30, 0.02, 95461) == pytest.approx(0.940855, rel=3e-4)
    rh = psychrolib.GetRelHumFromTWetBulb(30, 25, 95461)
    assert air.humidity_ratio(30, rh, 95461) == pytest.approx(0.0192281, rel=3e-4)


def test_against_psychrolib():
    """An independent implementation of the same chapter; it iterates to 0.001 K."""
    for pressure in (air.SEA_LEVEL_PA, 95461.0):
        wet = [psychrolib.GetTWetBulbFromRelHum(t, rh, pressure) for t, rh in zip(T, RH, strict=True)]
        ours = air.wet_bulb_C(T, RH, pressure)
        # Two bulbs balance at the change from ice to water; both are right within that step.
        away = np.abs(wet) > 0.5
        assert away.mean() > 0.9
        np.testing.assert_allclose(ours[away], np.array(wet)[away], atol=2e-3)
    dew = [psychrolib.GetTDewPointFromRelHum(t, rh) for t, rh in zip(T, RH, strict=True)]
    np.testing.assert_allclose(air.dew_point_C(T, RH), dew, atol=2e-3)
    ratio = [psychrolib.GetHumRatioFromRelHum(t, rh, 95461.0) for t, rh in zip(T, RH, strict=True)]
    np.testing.assert_allclose(air.humidity_ratio(T, RH, 95461.0), ratio, rtol=1e-6)
    np.testing.assert_allclose(
        air.enthalpy_j_per_kg(T, ratio),
        [psychrolib.GetMoistAirEnthalpy(t, w) for t, w in zip(T, ratio, strict=True)],
        rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    np.testing.assert_allclose(
        air.relative_humidity(T, np.minimum(dew, T)),
        [psychrolib.GetRelHumFromTDewPoint(t, min(d, t)) for t, d in zip(T, dew, strict=True)],
        rtol=1e-6,
    )


def test_wet_bulb_of_stull_2011():
    """The paper's example, 20 °C and 50 %: 13.7 °C; and its stated errors, -1 to +0.65 K for most of its
    range, up to +0.9 K in hot dry air."""
    assert air.stull_2011_wet_bulb_C(20, 0.5) == pytest.approx(13.7, abs=0.01)
    t, rh = (a.ravel() for a in np.meshgrid(np.arange(0.0, 41.0, 5), np.arange(0.3, 0.96, 0.1)))
    error = air.stull_2011_wet_bulb_C(t, rh) - air.wet_bulb_C(t, rh)
    assert error.min() > -1.0
    assert error.max() < 0.9


@pytest.mark.parametrize(
    ("t", "dew", "swinbank", "berdahl", "bliss"),
    [
        (25.0, 13.858, 11.029, 9.054, 13.585),
        (0.0, -3.0, -23.95, -23.76, -15.79),
        (10.0, 5.0, -10.15, -10.46, -3.71),
    ],
)
def test_clear_skies(t, dew, swinbank, berdahl, bliss):
    """The three equations worked by an independent script."""
    assert air.swinbank_1963_sky_C(t) == pytest.approx(swinbank, abs=6e-3)
    assert air.berdahl_martin_1984_sky_C(t, dew) == pytest.approx(berdahl, abs=6e-3)
    assert air.bliss_1961_sky_C(t, dew) == pytest.approx(bliss, abs=6e-3)


def test_full_low_cloud_is_a_black_sky():
    sky = air.berdahl_martin_1984_sky_C(8.0, 2.0, cloud_share=1.0, cloud_factor=1.0)
    assert sky == pytest.approx(8.0, abs=1e-9)


def test_wind_near_short_grass():
    """Log law over z0 0.03 m, by hand: ln(z/z0)/ln(10/z0)."""
    np.testing.assert_allclose(air.wind_at_m_per_s(1.0, [1.0, 0.6, 0.3]), [0.6036, 0.5157, 0.3964], atol=6e-5)


def test_films():
    """The lines by hand; the cylinder by an independent script at 0.26 m in air of some 25 °C, and by a
    textbook: 12.7 mm, 10 m/s, film 350 K: 96 W/m2/K (Incropera & DeWitt, example 7.4, from memory)."""
    np.testing.assert_allclose(air.mcadams_1954_film([0, 1, 2, 3, 5]), [5.7, 9.5, 13.3, 17.1, 24.7])
    np.testing.assert_allclose(air.watmuff_1977_film([0, 1, 2, 3, 5]), [2.8, 5.8, 8.8, 11.8, 17.8])
    film = air.churchill_bernstein_1977_film([1, 2, 3, 5], 0.26)
    np.testing.assert_allclose(film, [7.2, 10.8, 13.9, 19.3], atol=0.09)
    assert air.churchill_bernstein_1977_film(10, 0.0127, 76.85) == pytest.approx(96, rel=0.02)
    wind = np.linspace(0.5, 5, 10)
    middle = air.churchill_bernstein_1977_film(wind, 0.26)
    assert np.all(middle > air.watmuff_1977_film(wind) * 0.95)
    assert np.all(middle < air.mcadams_1954_film(wind))


def test_heat_index_of_tao_and_xin_2003():
    """Trans. ASAE 46:491: by hand at 35 °C, wet bulb 28, 0.2, 0.7 and 1.2 m/s; outside their winds held."""
    felt = hot.tao_xin_2003_thvi_C(35, 28, [0.2, 0.7, 1.2])
    np.testing.assert_allclose(felt, [37.272, 34.660, 33.593], atol=6e-4)
    assert hot.tao_xin_2003_thvi_C(35, 28, 0.0) == felt[0]
    assert hot.tao_xin_2003_thvi_C(35, 28, 9.0) == felt[2]


def test_hens_index_and_states():
    """0.6 dry + 0.4 wet by hand for 30 °C and 80 %: 28.837; states begin at their limits."""
    assert hot.zulovich_deshazer_1990_hens_C(30, air.wet_bulb_C(30, 0.8)) == pytest.approx(28.837, abs=2e-3)
    state = hot.heat_state([23.9, 24, 27.4, 27.5, 30], alert_C=24, danger_C=27.5, emergency_C=30)
    np.testing.assert_array_equal(state, [0, 1, 1, 2, 3])
    assert len(hot.HEAT_STATES) == 4
