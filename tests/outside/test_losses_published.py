"""Losses against published rates."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.losses import alive_share, eu_2007_43_ceiling_share, lost_over


def test_ceiling_of_eu_2007_43():
    """Council Directive 2007/43/EC Annex V: 1 % + 0.06 % a day; 42, 84, 98 d by hand."""
    np.testing.assert_allclose(100 * eu_2007_43_ceiling_share([42, 84, 98]), [3.52, 6.04, 6.88])


def test_hens_lost_in_four_weeks():
    """Free range, 2823 flocks (PLOS ONE 0146394): mean 10 % cumulative; as 52-56 weeks 0.73-0.8 % in four."""
    lost = 100 * lost_over(0.10, np.array([52, 56]) * 7, over_d=28)
    assert lost[1] == pytest.approx(0.75, abs=0.005)
    assert np.all((lost > 0.73) & (lost < 0.81))


def test_weekly_rates_of_the_eu_scientific_committee():
    """Standard meat birds lose 1 % a week, slower ones 0.25 %: six weeks leave 94.15 and 98.51 %; the slower
    stay under the directive's ceiling, the standard ones do not."""
    for weekly, left in [(0.01, 0.9415), (0.0025, 0.9851)]:
        alive = alive_share(42, ends_d=[7], survivals=[1 - weekly])
        assert alive == pytest.approx(left, abs=5e-5)
        assert (1 - alive < eu_2007_43_ceiling_share(42)) == (weekly < 0.005)


def test_three_stages_by_hand():
    """97 % through the brooder to day 28, 98 % to day 98, 99 % to day 140: half a stage is a square root."""
    stages = {"ends_d": [28, 98, 140], "survivals": [0.97, 0.98, 0.99]}
    ages = [0, 14, 28, 63, 98, 140]
    by_hand = [1, 0.97**0.5, 0.97, 0.97 * 0.98**0.5, 0.97 * 0.98, 0.97 * 0.98 * 0.99]
    np.testing.assert_allclose(alive_share(ages, **stages), by_hand, rtol=1e-14)
    # Past the last stage its own rate goes on.
    assert alive_share(182, **stages) == pytest.approx(by_hand[-1] * 0.99)
