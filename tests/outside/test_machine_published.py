"""Incubator, brooder, alarms and pasture sums against extension advice, scipy and sums by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp

from leyfold.nature import alarms, grazing, machine


def test_cooling_against_an_ode_solver():
    solved = solve_ivp(
        lambda _, y: [-(y[0] - 12.0) / 3.0], (0, 10), [37.7], t_eval=[0.5, 3.0, 10.0], rtol=1e-10, atol=1e-10
    )
    got = machine.cooled_C([0.5, 3.0, 10.0], room_C=12, tau_h=3)
    np.testing.assert_allclose(got, solved.y[0], atol=1e-6)
    assert got[1] == pytest.approx(12 + 25.7 / np.e)


def test_hours_until_cooled_is_the_inverse():
    for limit in (36.0, 32.2, 21.0):
        hours = machine.hours_until_cooled(limit, room_C=8, tau_h=4.2)
        assert machine.cooled_C(hours, room_C=8, tau_h=4.2) == pytest.approx(limit)
    assert machine.hours_until_cooled(21, room_C=24, tau_h=3) == np.inf
    assert machine.hours_until_cooled(38, room_C=10, tau_h=3) == 0


def test_power_cut_advice():
    """Penn State Extension: some embryos live through 18 h below 90 F (32.2 °C), hatch then down to 40-50 %;
    Lundy 1969: frost kills, growth stands still below 27 °C."""
    assert machine.cold_embryo_grade(0.5, 35, 10) == 0
    assert machine.cold_embryo_grade(40, 33, 10) == 0
    np.testing.assert_array_equal(machine.cold_embryo_grade(18.0, 21, [3, 10, 20]), [3, 3, 3])
    np.testing.assert_array_equal(machine.cold_embryo_grade(5.0, 24, [3, 10, 20]), [1, 1, 2])
    assert machine.cold_embryo_grade(0.1, -2, 3) == 3


def test_overheating_advice():
    """Virginia Cooperative Extension: 97-102 F (36.1-38.9 °C) is borne, 105 F (40.6) for a quarter of an hour
    harms. Lundy 1969: to day 5 a few hours at 41 °C kill; near hatch more is outlived, to 43.5 for hours."""
    assert machine.hot_embryo_grade(24, 38.9, 10) == 0
    assert machine.hot_embryo_grade(3, 39.5, 10) == 1
    assert machine.hot_embryo_grade(0.25, 40.6, 10) == 2
    np.testing.assert_array_equal(machine.hot_embryo_grade(3, 41, [4, 19]), [3, 2])
    assert machine.hot_embryo_grade(0.1, 44, 19) == 3


def test_chicks_to_a_lamp():
    """Handbook: 75 at +10 °C, 57 at 0, 39 at -10, to 250 W."""
    np.testing.assert_allclose(machine.chicks_under_lamp([20, 10, 0, -10]), [75, 75, 57, 39])
    assert machine.chicks_under_lamp(-40) == 0
    assert machine.chicks_under_lamp(0, watts=175) == pytest.approx(57 * 0.7)


def test_one_lamp_or_one_fuse_out_by_trying_each():
    lamps = [(250, "a"), (175, "a"), (250, "b"), (100, "c")]
    got = machine.brooder_carries(lamps, -4.0)

    def carries(left):
        return sum(float(machine.chicks_under_lamp(-4.0, watts=w)) for w, _ in left)

    assert got.all_on == pytest.approx(carries(lamps))
    one_out = [carries(lamps[:i] + lamps[i + 1 :]) for i in range(len(lamps))]
    assert got.lamp_out == pytest.approx(min(one_out))
    by_fuse = [carries([lamp for lamp in lamps if lamp[1] != fuse]) for fuse in "abc"]
    assert got.fuse_out == pytest.approx(min(by_fuse))
    assert machine.brooder_carries([], 5.0) == (0, 0, 0)
    assert machine.fuse_amps(lamps, volts=230) == pytest.approx(
        {"a": 425 / 230, "b": 250 / 230, "c": 100 / 230}
    )


def test_settable_eggs():
    np.testing.assert_array_equal(
        machine.settable_share([24, 25.9, 26, 40], none_before_wk=26, kept_share=0.85), [0, 0, 0.85, 0.85]
    )


def test_alarms_against_scipy_stats():
    dead, chicks = (a.ravel() for a in np.meshgrid(np.arange(12), [12, 110, 400]))
    np.testing.assert_allclose(
        alarms.first_week_chance(dead, chicks, usual_share=0.015),
        stats.binom.sf(dead - 1, chicks, 0.015), rtol=1e-10,
    )  # fmt: skip
    for expected in (0.05, 0.756, 4.0, 60.0):
        np.testing.assert_allclose(
            alarms.sick_batch_chance(np.arange(80), expected),
            stats.poisson.sf(np.arange(80) - 1, expected), rtol=1e-9,
        )  # fmt: skip
        least = alarms.least_alarming(expected)
        assert stats.poisson.sf(least - 1, expected) < 0.05 <= stats.poisson.sf(least - 2, expected)


def test_three_growers_of_108_in_a_week_call_for_the_vet():
    """Rule of the trade, at a usual loss of 0.1 % a day: 0.756 due in the week."""
    assert alarms.least_alarming(108 * 0.001 * 7) == 3


def test_grass_season_by_hand():
    # Inland at 58 N: means on straight lines between mid-months (15.5, 45, 74.5, 105, 135.5 ... days gone).
    # March rises from 0.2 C at its middle to 2.65 at its end, April from there over 5.1 to 7.8, May on by
    # 0.174 a day: some 20 in March, 155 in April, then 8 to 9 a day: 200 within the first days of May.
    months = [-3.1, -2.9, 0.2, 5.1, 10.4, 14.2, 16.3, 15.4, 11.3, 6.6, 2.4, -1.2]
    days = np.flatnonzero(grazing.grass_season(months))
    assert days[0] == pytest.approx(122, abs=2)  # 3 May, counted from 0
    # 6.6 C at the middle of October, 2.4 at that of November: 5 C after 30.5 * 1.6 / 4.2 = 11.6 days.
    assert days[-1] == pytest.approx(287.5 + 11.6, abs=1)
    assert len(days) == days[-1] - days[0] + 1


def test_grass_season_by_hand_elsewhere():
    mild = [6.0, 6.5, 8.0, 10.0, 13.0, 16.0, 18.0, 18.0, 15.0, 12.0, 8.0, 6.5]
    assert grazing.grass_season(mild).all()  # the mean is never under 5 C
    assert not grazing.grass_season(np.full(12, -5.0)).any()
    north = np.array([-3.1, -2.9, 0.2, 5.1, 10.4, 14.2, 16.3, 15.4, 11.3, 6.6, 2.4, -1.2])
    south = np.flatnonzero(grazing.grass_season(np.roll(north, 6), southern=True))
    assert 0 in south  # New Year is high summer there
    assert 181 not in south
    # Halves of the year are of 181 and 184 days: the season shifts by half a year but for those.
    assert len(south) == pytest.approx(grazing.grass_season(north).sum(), abs=5)


def test_grass_warmth_by_hand():
    """Ernst & Loeper 1976: frost counts nothing; January half, February three quarters, March whole."""
    got = grazing.grass_warmth_K_d([4.0, -6.0, 4.0, 8.0, 5.0], [1, 1, 2, 2, 3])
    np.testing.assert_allclose(got, [2, 2, 5, 11, 16])
    assert (
        np.searchsorted(grazing.grass_warmth_K_d(np.full(90, 4.0), np.repeat([1, 2, 3], [31, 28, 31])), 200)
        == 72
    )


def test_days_behind_cattle():
    """Common practice: larvae fat in 4 to 7 days at 25 °C, 9 to 16 at 17; never at 10."""
    got = grazing.days_behind_cattle([25, 17, 10], first_K_d=62, last_K_d=108)
    np.testing.assert_allclose(got.first_d[:2], [4, 9], atol=0.2)
    np.testing.assert_allclose(got.last_d[:2], [7, 16], atol=0.6)
    assert got.first_d[2] == np.inf
