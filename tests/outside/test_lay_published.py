"""Lay curves and egg weight against published curves and bands."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature import lay

PAIR_1 = {"k1": 0.88, "k2": 0.76, "c2_wk": 25}
# The dual-purpose layers' curve used as a start value: fitted here to a band, not published.
DUAL = {"a": 0.95, "b_per_wk": 0.005, "c_per_wk": 0.9, "d_wk": 24.5}


def test_grossman_koops_2001_pair_1():
    """Poult. Sci. 80, persistencies 0.88 then 0.76 about week 25; eggs a week and in total, by hand."""
    rate = lay.grossman_koops_2001([1, 4, 10, 25, 52], **PAIR_1)
    np.testing.assert_allclose(rate, [2.8466, 5.9384, 6.1594, 5.7400, 5.3200], atol=6e-5)
    total = lay.grossman_koops_2001_eggs([0, 10, 26, 52], **PAIR_1)
    np.testing.assert_allclose(total, [0, 53.06, 150.52, 289.10], atol=6e-3)


def test_grossman_koops_sum_is_the_integral_of_the_rate():
    from scipy.integrate import quad

    area, _ = quad(lambda t: lay.grossman_koops_2001(t, **PAIR_1), 0, 52, limit=200)
    assert lay.grossman_koops_2001_eggs(52, **PAIR_1) == pytest.approx(area, rel=1e-9)


def test_yang_by_hand():
    """a exp(-bx) / (1 + exp(-c (x - d))) worked by hand for 21 to 72 weeks."""
    percent = 100 * lay.yang([21, 24.5, 28, 32, 40, 52, 72], **DUAL)
    np.testing.assert_allclose(percent, [3.51, 42.02, 79.20, 80.86, 77.78, 73.25, 66.28], atol=6e-3)


def test_yang_in_the_band_of_dual_purpose_crosses():
    """Organic dual-purpose crosses laid 68-73 % to 72 weeks (Org. Agric. 2021, part 2)."""
    weeks = 100 * lay.yang(np.arange(21, 73), **DUAL)
    assert weeks.mean() == pytest.approx(68.94, abs=0.006)
    assert 68 <= weeks.mean() <= 73
    assert weeks.max() == pytest.approx(81.19, abs=0.006)
    # Their loss after the peak, about 0.33 points a week.
    assert (weeks[52 - 21] - weeks[-1]) / 20 == pytest.approx(0.35, abs=0.03)


def test_wood_peaks_where_its_form_says():
    """Wood 1967: at t = b/c, of height a (b/c)^b e^-b."""
    a, b, c = 60.0, 0.4, 0.02
    t = np.arange(0, 80, 0.01)
    assert t[np.argmax(lay.wood(t, a=a, b=b, c_per_wk=c))] == pytest.approx(b / c, abs=0.01)
    assert lay.wood(b / c, a=a, b=b, c_per_wk=c) == pytest.approx(a * (b / c) ** b * np.exp(-b))


def test_mcmillan_by_hand():
    """McMillan 1981: nothing before first lay, then 95 (1 - e^-0.5(t-1)) e^-0.01t."""
    lays = lay.mcmillan([0, 1, 5, 40], most=95, a_per_wk=0.01, c_per_wk=0.5, d_wk=1)
    np.testing.assert_allclose(
        lays, [0, 0, 95 * (1 - np.exp(-2)) * np.exp(-0.05), 95 * np.exp(-0.4)], rtol=1e-7
    )


def test_adams_bell_by_hand():
    """Adams & Bell 1980: nears 100 % less c for each week; 50 % where a r^(t - b) = 0.01."""
    half = lay.adams_bell(8, a=0.01, r=0.3, b_wk=8, c_per_wk=0, d_wk=0)
    assert half == pytest.approx(50.0)
    late = lay.adams_bell([30, 40], a=0.01, r=0.3, b_wk=8, c_per_wk=0.5, d_wk=10)
    np.testing.assert_allclose(late, [90, 85], atol=1e-6)


def test_egg_weight_of_minvielle_1994():
    """Genet. Sel. Evol. 26, 18-51 weeks of age: P 56.9-65.8 g, P - Q 26.9-33.9 g. A curve from the middle of
    both that reaches 55 g at 30 weeks stays within the ages' handbook eggs (meat breeders, VM099: 56 g at
    26-35 weeks) and never passes P."""
    p, start = 61.4, 30.4
    rate = np.log((p - start) / (p - 55.0)) / 30
    weights = lay.egg_weight_g(np.array([0, 18, 30, 35, 51]), p=p, q=p - start, r_per_wk=rate)
    assert weights[0] == pytest.approx(start)
    assert weights[2] == pytest.approx(55.0)
    assert 45 < weights[1] < 52
    assert weights[3] == pytest.approx(56, abs=1.0)
    assert weights[4] < p


def test_autumn_pullets_wait_for_the_light():
    """57 N, 14 h needed (extension advice): pullets of 15 March are 20 weeks old on 2 August, in over 16 h,
    and lay at once; those of 17 May on 4 October, in 11 h, and wait for 14 h until mid April."""
    from leyfold.nature.sun import day_length_h

    year = day_length_h(57, np.arange(1, 366))
    two_years = np.concatenate([year, year])
    early, late = 74 - 1 + 140, 137 - 1 + 140
    assert lay.first_egg_delay_d(two_years, from_day=early, needed_h=14) == early
    spring = lay.first_egg_delay_d(two_years, from_day=late, needed_h=14)
    assert spring is not None
    assert 365 + 100 < spring < 365 + 110
