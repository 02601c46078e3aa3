"""Nights against forecasters' worked examples, root finders and measured birds."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from leyfold.farm.tables import figure, table
from leyfold.nature import air, cold, heat, night

SIGMA = 5.670374419e-8


def test_grass_minimum_of_smith_1973():
    """The example in a growers' handbook of frost: 6 °C and dew point 3 at 15:00 in September: -5.5 °C."""
    assert night.smith_1973_grass_minimum_C(6, 3) == pytest.approx(-5.5)


def test_minimum_of_mckenzie_1944():
    """Half of highest and dew point less K; K by a forecaster's rule, its ranges by wind and cloud."""
    assert night.mckenzie_1944_minimum_C(17, 5, k_K=6) == pytest.approx(5)
    for wind, cloud, low, high in (
        (0, 0.0, 8, 9), (2, 0.1, 6, 8), (2, 0.5, 4, 5), (2, 1.0, 2, 3), (5, 0.1, 3, 5), (5, 0.5, 3, 4),
        (5, 1.0, 1, 2), (12, 0.0, 1, 2), (12, 1.0, 1, 2),
    ):  # fmt: skip
        assert low <= night.mckenzie_1944_k_K(wind, cloud) <= high


def test_two_forecasters_on_one_clear_night():
    """15 °C at 15:00, highest 15.5, dew point 3, calm and clear: Smith's grass minimum is within 3 K of
    McKenzie's station minimum less the grass correction."""
    grass = night.smith_1973_grass_minimum_C(15, 3)
    station = night.mckenzie_1944_minimum_C(15.5, 3, k_K=night.mckenzie_1944_k_K(1.0, 0.1))
    birds = night.bird_height_C(station, 1.0, 0.1, deepest_K=3, station_sd_K=1.5, depth_sd_share=0.35)
    assert birds.middle_C == pytest.approx(grass, abs=3)


def test_bird_height_correction_ends_in_wind_and_cloud():
    """Nothing above 3 m/s or under full cloud; the whole in a calm clear night; the band by hand:
    1.2816 times hypot(1.5, 3 x 0.35)."""
    kw = {"deepest_K": 3.0, "station_sd_K": 1.5, "depth_sd_share": 0.35}
    middle = night.bird_height_C(2.0, [3.0, 5.0, 0.0, 0.0, 1.5], [0, 0, 1, 0, 0.5], **kw).middle_C
    np.testing.assert_allclose(middle, [2, 2, 2, -1, 1.25])
    band = night.bird_height_C(2.0, 0.0, 0.0, **kw)
    assert band.high_C - band.middle_C == pytest.approx(1.2815516 * np.hypot(1.5, 1.05))
    assert band.middle_C - band.low_C == pytest.approx(band.high_C - band.middle_C)


@pytest.mark.parametrize(
    ("wind", "printed"), [(0, (-4.98, -2.31, -1.22)), (1, (-4.05, -1.73, -0.88)), (3, (-2.96, -1.15, -0.57))]
)
def test_sheet_roof_by_night(wind, printed):
    """Air and floor 0 °C, dew point -1, clear: painted, oxidised and new zinc by an independent script with
    McAdams's film, and by bisection here."""
    sky = float(air.berdahl_martin_1984_sky_C(0, -1))
    assert sky == pytest.approx(-22.82, abs=6e-3)
    film = float(air.mcadams_1954_film(wind))
    for emissivity, want in zip((0.9, 0.28, 0.13), printed, strict=True):
        got = night.roof_sheet_C(
            0, sky, film_w_per_m2_K=film, inside_C=0, emissivity=emissivity, inner_emissivity=emissivity
        )

        def gain(t, e=emissivity):
            k, zero = t + 273.15, 273.15
            return -(film + 3) * t + e * SIGMA * ((sky + 273.15) ** 4 + zero**4 - 2 * k**4)

        assert got == pytest.approx(brentq(gain, -60, 20), abs=1e-6)
        assert got == pytest.approx(want, abs=0.012)


def test_sheet_roof_by_day():
    """800 W/m2, 25 °C, 2 m/s: new zinc runs hotter than black paint (53.2 and 49.2 °C within the ±3 K such
    balances are good for), white stays near the air (29.7)."""
    sky = float(air.swinbank_1963_sky_C(25))
    for absorptance, emissivity, printed in ((0.65, 0.2, 53.2), (0.95, 0.9, 49.2), (0.25, 0.9, 29.7)):
        got = night.roof_sheet_C(
            25, sky, film_w_per_m2_K=air.mcadams_1954_film(2), inside_C=25, emissivity=emissivity,
            inner_emissivity=emissivity, absorbed_w_per_m2=absorptance * 800,
        )  # fmt: skip
        assert got == pytest.approx(printed, abs=3.1)


@pytest.mark.parametrize("weight", [0.25, 0.65, 1.2])
@pytest.mark.parametrize(("opening", "wind"), [(0.1, 0), (0.5, 0.5), (2, 2), (6, 2)])
def test_shelter_balance_by_bisection(weight, opening, wind):
    """72 birds by CIGR 2002 at 0 °C in 10 m2: the balance written out again. Open sides leave under 1 K."""
    watts = float(
        72 * heat.cigr_2002_broiler_w(weight) * heat.cigr_2002_correction(0)
        * heat.cigr_2002_sensible_share_broilers(0)
    )  # fmt: skip

    def lacks(rise):
        flow = np.hypot(0.5 * opening / 2 * wind, 0.6 * opening / 2 * np.sqrt(9.81 * 0.6 * rise / 273.15))
        return (61.4 + 101325 / 287.05 / 273.15 * 1006 * flow) * rise - watts

    rise = night.shelter_rise_K(
        watts, 0, loss_w_per_K=61.4, opening_m2=opening, wind_m_per_s=wind, height_m=0.6
    )
    assert rise == pytest.approx(brentq(lacks, 0, 50), abs=1e-3)
    if opening == 6:
        assert rise < 1


def test_huddling():
    """A pair saves 21 % (passerines at 20 °C, Auk 1982); a crowd 42 % (Canals et al. 1997); form by hand."""
    np.testing.assert_allclose(
        cold.huddle_saving([1, 2, 5, 10, 72]), [0, 0.21, 0.336, 0.378, 0.414], atol=5e-4
    )


def test_critical_temperature_in_a_huddle():
    """Scholander: M = C (41.2 - T): savings of 0, 20, 40 and 53 % take 30 °C to 27.2, 22.5 and 17.4, and 25
    to 20.9, 14.2 and 6.7; at it, saved loss equals the lonely bird's loss at its own."""
    save = np.array([0, 0.2, 0.4, 0.53])
    np.testing.assert_allclose(cold.huddled_critical_C(30, save), [30, 27.2, 22.5, 17.4], atol=0.051)
    np.testing.assert_allclose(cold.huddled_critical_C(25, save), [25, 20.9, 14.2, 6.7], atol=0.1)
    np.testing.assert_allclose((1 - save) * (41.2 - cold.huddled_critical_C(30, save)), 41.2 - 30)


def test_wet_chicks_of_marjoniemi_1995():
    """Full heat production at 25 °C when 10-11 d old, at 5 °C from 15-16 d; 5 °C shunned until 25 d."""
    np.testing.assert_allclose(cold.soaked_limit_C([10, 10.5, 15.5, 24]), [25, 25, 5, 5])
    assert cold.soaked_limit_C(25) < -40


def rule() -> cold.ColdRule:
    floors = table("tonight")["cold_floor"]

    def value(name):
        return figure(f"tonight.{name}").value

    return cold.ColdRule(
        floors["age_d"], floors["floor_C"], value("bare_or_wet"), value("wind_chill"),
        value("wind_chill_most"), value("group_easy"), value("cold_watch"), value("cold_danger"),
    )  # fmt: skip


def test_the_trade_s_table_of_floors():
    """Rule of thumb: dry and bedded 15 °C at three weeks, 8 at four, 2 at five, -3 at six; 6 K more where
    unbedded or wet. Act begins at the floor."""
    for age, floor in ((21, 15), (28, 8), (35, 2), (42, -3), (70, -3)):
        for bedded, wet, added in ((1, 0, 0), (0, 0, 6), (1, 1, 6), (0, 1, 6)):
            kw = {"heads": 60, "bedded": bedded, "wet": wet, "wind_m_per_s": 0.0, "rule": rule()}
            assert cold.cold_risk(floor + added + 0.01, age, **kw).grade == 1
            assert cold.cold_risk(floor + added - 0.01, age, **kw).grade == 2
            assert cold.cold_risk(floor + added - 4.99, age, **kw).grade == 2
            assert cold.cold_risk(floor + added - 5.01, age, **kw).grade == 3
            assert cold.cold_risk(floor + added + 3.01, age, **kw).grade == 0
            assert cold.cold_risk(floor + added, age, **kw).floor_C == pytest.approx(floor + added)


def test_reasons_are_data():
    got = cold.cold_risk(3.0, 22, heads=12, bedded=0, wet=1, wind_m_per_s=2.5, rule=rule())
    reasons = cold.cold_reasons(got)
    assert [r.what for r in reasons] == ["soaked", "young", "bare_or_wet", "windy", "few"]
    assert sum(r.by for r in reasons[1:]) == pytest.approx(float(got.floor_C))
    assert got.grade == 3
    easy = cold.cold_risk(12.0, 60, heads=50, bedded=1, wet=0, wind_m_per_s=0, rule=rule())
    assert [r.what for r in cold.cold_reasons(easy)] == ["young"]
    assert easy.grade == 0


def test_piling_grows_with_pressure_and_crowd():
    kw = {"easy_heads": 35, "many_heads": 55}
    assert cold.pile_risk(110, 5, settled=1, **kw) == 0
    np.testing.assert_array_equal(cold.pile_risk([30, 50, 110], -1, settled=1, **kw), [0, 1, 2])
    np.testing.assert_array_equal(cold.pile_risk([30, 50, 110], -6, settled=0, **kw), [2, 3, 3])
    assert cold.pile_risk(1, -30, settled=0, **kw) == 0
