"""Ammonia in the barn, held to what was measured in houses of broilers on litter.

Groot Koerkamp et al. 1998, J. agric. Engng Res. 70:79-95, fourteen kinds of houses in northern Europe:
broilers on litter gave off 2,208 to 8,294 mg/h for 500 kg of live weight (from memory), and the air of
poultry houses held 5 to 30 ppm.
"""

from __future__ import annotations

import pytest

from leyfold.nature.ammonia import ammonia_g_per_h, fresh_air_m3_per_h


def test_broilers_lie_within_what_was_measured() -> None:
    """250 birds of 2 kg that drop some 3 g of nitrogen each (55 g over 42 days, most of it near the end)."""
    assert 2.208 < float(ammonia_g_per_h(250 * 0.003)) < 8.294


def test_the_air_balance_by_hand() -> None:
    """1 g/h of NH3 (17.03 g/mol) is 0.0587 mol/h, at 25 °C 1.4365 l/h: 20 ppm of 71.8 m3/h; cold air less."""
    assert float(fresh_air_m3_per_h(1.0, 25.0)) == pytest.approx(1.4365e-3 / 20e-6, rel=1e-3)
    assert float(fresh_air_m3_per_h(1.0, 25.0, most_ppm=10.0)) == pytest.approx(143.7, rel=1e-3)
    assert fresh_air_m3_per_h(1.0, 0.0) < fresh_air_m3_per_h(1.0, 25.0)


def test_ammonia_by_hand() -> None:
    """100 g of nitrogen a day: 70 g ammoniacal, 14.7 g of it lost, as NH3 17.87 g, by the hour 0.745 g."""
    assert float(ammonia_g_per_h(0.1)) == pytest.approx(0.745, abs=0.001)
