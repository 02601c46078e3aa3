"""Scalding water and chilling ice against handbook figures and worked sums."""

from __future__ import annotations

import pytest

from leyfold.nature.killing import heating_h, ice_kg, water_kwh


def test_water_for_the_scald() -> None:
    """A worked sum: 200 litres from 8 to 62 °C are 12.6 kWh. One kilowatt-hour warms 860 litres by a degree
    (860 kcal to the kWh, handbook conversion)."""
    assert water_kwh(200.0, from_C=8.0, to_C=62.0) == pytest.approx(12.6, abs=0.05)
    assert water_kwh(860.0, from_C=20.0, to_C=21.0) == pytest.approx(1.0, rel=1e-3)


def test_hours_on_the_heater() -> None:
    """The same 12.6 kWh on 3 kW: 4.2 h without loss, 4.9 h where a seventh is lost."""
    assert heating_h(12.56, watts=3000.0, kept_share=1.0) == pytest.approx(4.19, abs=0.01)
    assert heating_h(12.56, watts=3000.0, kept_share=6 / 7) == pytest.approx(4.88, abs=0.01)


def test_ice_against_a_calorimeter_sum() -> None:
    """Step by step: what the carcass gives up is what melts the ice and warms its water. With 3.6 kJ/(kg K),
    38 to 4 °C takes 0.35 kg a kilogram (common practice: bring twice that)."""
    ice = float(ice_kg(100.0, from_C=38.0, to_C=4.0, kj_per_kg_K=3.6))
    assert ice == pytest.approx(35.0, abs=0.2)
    given_up = 100.0 * 3.6 * 34.0
    assert ice * 334.0 + ice * 4.186 * 4.0 == pytest.approx(given_up, rel=1e-9)


def test_the_heat_of_a_carcass_lies_where_its_composition_puts_it() -> None:
    """Choi & Okos 1986 (as recalled): 4.18 water + 2.01 protein + 1.98 fat kJ/(kg K) near 20 °C. A whole
    chicken with 66-75 % water (food tables): 3.4 to 3.7."""
    from leyfold.farm.tables import figure

    fat, lean = (4.18 * w + 2.01 * p + 1.98 * f for w, p, f in ((0.66, 0.19, 0.15), (0.75, 0.21, 0.04)))
    assert fat < figure("killing.carcass_heat").value < lean + 0.01


@pytest.mark.parametrize("bad", [{"from_C": 4.0, "to_C": 38.0}, {"from_C": float("nan"), "to_C": 4.0}])
def test_ice_refuses_what_cannot_be(bad: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="C"):
        ice_kg(10.0, kj_per_kg_K=3.6, **bad)
