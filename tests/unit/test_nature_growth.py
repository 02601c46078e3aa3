from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leyfold.nature.growth import Unidentifiable, fit, gompertz, gompertz_through, logistic, richards

mature = st.floats(0.5, 8)
rate = st.floats(0.01, 0.1)
inflection = st.floats(20, 90)
ages = np.arange(0.0, 400.0)


@given(mature, rate, inflection)
def test_gompertz_at_its_inflection(A, b, ti):
    assert gompertz(ti, mature_kg=A, rate_per_d=b, inflection_d=ti) == pytest.approx(A / np.e)
    h = 1e-4
    gain = np.diff(gompertz([ti - h, ti + h], mature_kg=A, rate_per_d=b, inflection_d=ti))[0] / (2 * h)
    assert gain == pytest.approx(A * b / np.e, rel=1e-6)


@given(mature, rate, inflection)
def test_logistic_at_its_inflection(A, k, ti):
    assert logistic(ti, mature_kg=A, scale_d=1 / k, inflection_d=ti) == pytest.approx(A / 2)


@given(mature, rate, inflection)
def test_richards_limits(A, k, ti):
    common = {"mature_kg": A, "rate_per_d": k, "inflection_d": ti}
    np.testing.assert_allclose(
        richards(ages, **common, shape=2),
        logistic(ages, mature_kg=A, scale_d=1 / k, inflection_d=ti),
        rtol=1e-12,
    )
    np.testing.assert_array_equal(richards(ages, **common, shape=1), gompertz(ages, **common))
    for near in (1 - 1e-9, 1 + 1e-9):
        np.testing.assert_allclose(
            richards(ages, **common, shape=near), gompertz(ages, **common), rtol=1e-6, atol=1e-12
        )


@given(mature, rate, inflection, st.floats(0.1, 8))
def test_richards_inflection_and_monotony(A, k, ti, m):
    weights = richards(ages, mature_kg=A, rate_per_d=k, inflection_d=ti, shape=m)
    assert np.all(np.diff(weights) >= 0)
    assert np.all((weights >= 0) & (weights <= A))
    share = np.exp(-1) if m == 1 else m ** (1 / (1 - m))
    assert richards(ti, mature_kg=A, rate_per_d=k, inflection_d=ti, shape=m) == pytest.approx(A * share)


@given(st.floats(1, 6), st.floats(0.02, 0.06), st.floats(30, 200), st.floats(0.1, 0.95))
def test_gompertz_goes_through_the_weights_given(A, hatch, age, share):
    b, ti = gompertz_through(mature_kg=A, hatch_kg=hatch, age_d=age, weight_kg=share * A)
    np.testing.assert_allclose(
        gompertz([0, age], mature_kg=A, rate_per_d=b, inflection_d=ti), [hatch, share * A], rtol=1e-9
    )


@pytest.mark.parametrize("bad", [(1.0, 0.04, 2.0), (3.0, 0.04, 0.03), (3.0, 0.04, 3.0)])
def test_gompertz_through_refuses_weights_out_of_order(bad):
    A, hatch, weight = bad
    with pytest.raises(ValueError, match="hatch_kg < weight_kg < mature_kg"):
        gompertz_through(mature_kg=A, hatch_kg=hatch, age_d=100, weight_kg=weight)


def test_parameters_broadcast_by_lot_and_day():
    A, b, ti = np.array([[2.0], [3.6]]), np.array([[0.03], [0.023]]), np.array([[50.0], [65.0]])
    both = gompertz(np.arange(10), mature_kg=A, rate_per_d=b, inflection_d=ti)
    assert both.shape == (2, 10)
    one = gompertz(7, mature_kg=3.6, rate_per_d=0.023, inflection_d=65)
    assert np.ndim(one) == 0
    assert both[1, 7] == one


def test_far_ages_do_not_overflow():
    for age in (-1e6, 1e6):
        assert gompertz(age, mature_kg=3, rate_per_d=0.05, inflection_d=50) in (0.0, 3.0)
        assert richards(age, mature_kg=3, rate_per_d=0.05, inflection_d=50, shape=1.5) == pytest.approx(
            3.0 if age > 0 else 0.0
        )


@given(st.floats(1, 5), st.floats(0.02, 0.06), st.floats(25, 60))
def test_a_fit_finds_the_curve_its_points_came_from(A, b, ti):
    age = np.arange(0, 120, 7.0)
    found = fit(age, gompertz(age, mature_kg=A, rate_per_d=b, inflection_d=ti))
    assert found.parameters["mature_kg"] == pytest.approx(A, rel=1e-6)
    assert found.parameters["rate_per_d"] == pytest.approx(b, rel=1e-6)
    assert found.parameters["inflection_d"] == pytest.approx(ti, rel=1e-6)


def test_weights_count_as_repeated_weighings():
    age = np.arange(0, 120, 7.0)
    rng = np.random.default_rng(4)
    seen = gompertz(age, mature_kg=3, rate_per_d=0.03, inflection_d=45) * np.exp(
        0.05 * rng.normal(size=age.size)
    )
    times = rng.integers(1, 5, size=age.size)
    repeated = fit(np.repeat(age, times), np.repeat(seen, times))
    weighted = fit(age, seen, weights=times)
    for key in repeated.parameters:
        assert weighted.parameters[key] == pytest.approx(repeated.parameters[key], rel=1e-6)
    assert weighted.rss_kg2 == pytest.approx(repeated.rss_kg2)


@pytest.mark.parametrize(
    ("age", "weight", "reason"),
    [
        ([0, 7, 14], [0.04, 0.1, 0.2], "nature.fit_few"),
        ([0, 0, 7, 7], [0.04, 0.05, 0.1, 0.2], "nature.fit_few"),
        ([1, 2, 3, 4, 5, 6], [1.0] * 6, "nature.fit_failed"),
        (np.arange(0, 21, 2.0), 0.04 * np.exp(0.1 * np.arange(0, 21, 2.0)), "nature.fit_far"),
    ],
)
def test_what_cannot_be_settled_is_refused_with_its_reason(age, weight, reason):
    with pytest.raises(Unidentifiable) as refusal:
        fit(age, weight)
    assert refusal.value.reason == reason


@pytest.mark.parametrize("call", [
    lambda x: gompertz(x, mature_kg=3, rate_per_d=0.03, inflection_d=50),
    lambda x: gompertz(10, mature_kg=x, rate_per_d=0.03, inflection_d=50),
    lambda x: logistic(10, mature_kg=3, scale_d=x, inflection_d=50),
    lambda x: richards(10, mature_kg=3, rate_per_d=0.03, inflection_d=50, shape=x),
    lambda x: gompertz_through(mature_kg=3, hatch_kg=0.04, age_d=x, weight_kg=2),
    lambda x: fit([1, 2, 3, 4, 5], [0.1, 0.2, 0.3, 0.4, x]),
])  # fmt: skip
def test_missing_is_refused(call):
    for bad in (np.nan, np.inf):
        with pytest.raises(ValueError, match="missing or infinite"):
            call(bad)


def test_nonsense_is_refused():
    for bad in ({"mature_kg": -1}, {"rate_per_d": 0}):
        with pytest.raises(ValueError, match="must be above 0"):
            gompertz(10, **{"mature_kg": 3, "rate_per_d": 0.03, "inflection_d": 50} | bad)
    with pytest.raises(ValueError, match="one length"):
        fit([1, 2, 3, 4], [1, 2, 3])
    with pytest.raises(ValueError, match="model must be"):
        fit([1, 2, 3, 4], [1, 2, 3, 4], model="line")
