"""Incubation against published break-outs, tables and norms."""

from __future__ import annotations

from math import gamma

import numpy as np
import pytest

from leyfold.nature import hatch


def test_fate_of_eggs_of_kuurman_2001():
    """Poult. Sci. 80:710: clear 0.213, dead 0.086 of eggs set, so 0.701 hatch, 0.8907 of the fertile."""
    start, end = hatch.fate_kuurman_2001(0), hatch.fate_kuurman_2001(21)
    assert start == (0.213, 0.787, 0.0)
    assert end.clear == 0.213
    assert end.dead == pytest.approx(0.086, rel=0.006)
    assert end.alive == pytest.approx(0.701, abs=0.0006)
    assert end.alive / (end.alive + end.dead) == pytest.approx(0.8907, abs=0.001)


def test_day_of_death_of_kuurman_2001():
    """Phases 2.6 ± 3.3 and 17.4 ± 2.0 d, 77 and 23 %; the mixture has mean 6.00 and SD 6.94 d. Each phase by
    the moments of its Weibull; the mixture by summing the deaths of short steps."""
    means, squares = [], []
    for share, shape, scale in hatch._PHASES:
        mean = scale * gamma(1 + 1 / shape)
        sd = (scale**2 * gamma(1 + 2 / shape) - mean**2) ** 0.5
        wanted = (2.6, 3.3) if share == 0.77 else (17.4, 2.0)
        assert (mean, sd) == pytest.approx(wanted, rel=1e-4)
        means.append(share * mean)
        squares.append(share * (mean**2 + sd**2))
    assert sum(means) == pytest.approx(6.00, abs=0.01)
    assert (sum(squares) - sum(means) ** 2) ** 0.5 == pytest.approx(6.94, abs=0.01)
    steps = np.linspace(0, 21, 4201)
    deaths = np.diff(hatch.fate_kuurman_2001(steps).dead)
    # Cut at day 21: a little earlier than the whole mixture.
    assert np.average(steps[1:] - 0.0025, weights=deaths) == pytest.approx(6.00, abs=0.1)


def test_most_deaths_are_early():
    """The same break-out: three in four of the dead are in the first phase, before candling on day 8."""
    dead = hatch.fate_kuurman_2001([8, 21]).dead
    assert 0.65 < dead[0] / dead[1] < 0.77


def test_chick_weight_of_vm099():
    """Univ. of Florida IFAS VM099: egg to chick; and chicks are 65-72 % of the egg."""
    eggs = np.array([50, 56, 63, 68, 70])
    np.testing.assert_allclose(hatch.chick_weight_g(eggs), [35, 40, 43, 45, 47])
    ratio = hatch.chick_weight_g(eggs) / eggs
    assert np.all((ratio > 0.65) & (ratio < 0.72))
    # The same page's mean pair, 65 g to 45 g, off the other rows by a gram or so.
    assert hatch.chick_weight_g(65) == pytest.approx(45, abs=1.5)


def test_weight_loss_of_an_egg():
    """0.5-0.6 % a day, 11.5 % in all by day 18: a 60 g egg weighs 53.1 g at transfer."""
    at_transfer = hatch.egg_weight_on_day(60, 18, loss_share_per_d=0.115 / 18)
    assert at_transfer == pytest.approx(53.1)
    assert 54 < hatch.egg_weight_on_day(60, 18, loss_share_per_d=0.0055) < 54.1


def test_loss_seen_early_projects_to_the_same_end():
    """An egg losing evenly and weighed on day 7 or 12 is projected to the loss it ends with; the textbook's
    10.5 % by day 19 (Poultry Meat and Egg Production, p. 78) is 9.95 % by day 18."""
    for day in (7, 12, 18):
        now = hatch.egg_weight_on_day(60, day, loss_share_per_d=0.115 / 18)
        assert hatch.projected_loss_share(60, now, day) == pytest.approx(0.115)
    assert hatch.projected_loss_share(1, 1 - 0.105, 19) == pytest.approx(0.0995, abs=5e-5)


def test_small_incubator_norms():
    """Taulo et al.: fertility 80 %, hatch 66 % of the eggs set, so 82.5 % of the fertile."""
    assert hatch.chicks(100, fertility=0.80, hatch_of_fertile=0.825) == pytest.approx(66.0)


def test_storage_as_the_hatchery_manuals_say():
    """No difference at 0-6 d (15 °C); after 7 d about 0.5-1 % of hatch a day. A set of eggs gathered over
    14 days: 0 for the first eight ages, then 0.75, 1.5, .. 5.25 %; mean of 15 eggs 1.4 %."""
    storage = {"free_d": 7, "loss_per_d": 0.0075, "late_from_d": 21, "late_loss_per_d": 0.03}
    np.testing.assert_array_equal(hatch.storage_factor([0, 3, 6, 7], **storage), 1.0)
    by_hand = 1 - sum(0.0075 * k for k in range(1, 8)) / 15
    assert hatch.storage_factor(14, **storage) == pytest.approx(by_hand)
    assert by_hand == pytest.approx(0.986)
