"""Nutrient balances against published excretion, worked examples and balance trials."""

from __future__ import annotations

import numpy as np
import pytest

from leyfold.nature.dung import PUBLISHED, balance_kg, ipcc_2006_n_kg, nitrogen_share


def published(bird, word):
    return next(x for x in PUBLISHED if x.bird == bird and word in x.source)


def test_usda_figures_from_the_printed_ones():
    """USDA NRCS prints short tons and pounds per 1000 lb of birds and year: 250 hens, 11.45 tons of 26.93 N,
    9.98 P, 10.44 K lb/ton; 455 broilers, 14.97 tons of 26.83, 7.80, 10.49, in six rounds."""
    pound, ton = 0.45359237, 907.18474
    for bird, heads, tons, contents in [
        ("laying hen", 250, 11.45, (26.93, 9.98, 10.44)),
        ("broiler", 455 * 6, 14.97, (26.83, 7.80, 10.49)),
    ]:
        row = published(bird, "NRCS")
        kg = [tons / heads * x * pound for x in contents]
        assert (row.n_kg, row.p_kg, row.k_kg) == pytest.approx(kg, rel=2e-5)
        assert row.manure_kg == pytest.approx(tons / heads * ton, rel=1e-6)


def test_handbooks_agree_on_the_hen():
    """USDA 0.5595, ASABE 0.584, German 0.56, IPCC (1.8 kg, W. Europe) 0.631 kg N a year: within 13 %."""
    by_year = [x.n_kg * 365 / x.days for x in PUBLISHED if x.bird == "laying hen"]
    ipcc = ipcc_2006_n_kg(1.8, 365, bird="hen", region="Western Europe")
    assert published("laying hen", "ASABE").n_kg * 365 == pytest.approx(0.584)
    assert ipcc == pytest.approx(0.631, abs=5e-4)
    assert max([*by_year, ipcc]) / min(by_year) < 1.13


def test_worked_hen():
    """110 g a day of 16.5 % protein for a year; 50 g eggs at 18.5 g N/kg; 0.3 kg gain at 29: 713.6 g N."""
    fed = 0.110 * 365
    assert fed * nitrogen_share(0.165) == pytest.approx(1.05996)
    left = balance_kg(
        fed, nitrogen_share(0.165), gain_kg=0.3, kept_per_gain=0.029, egg_kg=0.050 * 365, kept_per_egg=0.0185
    )
    assert 1000 * left == pytest.approx(713.6, abs=0.05)
    # The German range for a place is 0.35-0.76 kg.
    assert 0.35 < left < 0.76


def test_worked_cockerel():
    """2.36 kg gained on 8.26 kg of 19 % protein: 182.66 g N a bird."""
    left = balance_kg(8.26, nitrogen_share(0.19), gain_kg=2.36, kept_per_gain=0.029)
    assert 1000 * left == pytest.approx(182.66, abs=0.006)


def test_balance_trial_with_hens():
    """PMC7597913 table 5: intake 2.95 g N a day, 1.11 g in 57.1 g of egg; excreta measured 1.60 and retained
    1.34 g. With the body's share of the retained (0.23 g) as gain the balance gives the excreta to 1 %."""
    left = balance_kg(
        0.1, 0.0295, gain_kg=0.23 / 30, kept_per_gain=0.030, egg_kg=0.0571, kept_per_egg=1.11 / 57.1
    )
    assert 1000 * left == pytest.approx(1.60, abs=0.02)


def test_broilers_of_patterson_1998():
    """J. Appl. Poult. Res. 7:247, 44 d: 3.82 kg feed, 2.01 kg bird, 51 % of the N in the bird: with 30 g N/kg
    (Fenske et al. 2022) that is 19-20 % protein, what such feed holds, and the other 49 % is the balance."""
    kept = 0.030 * 2.01
    protein = kept / 0.51 / 3.82 * 6.25
    assert 0.185 < protein < 0.225
    left = balance_kg(3.82, nitrogen_share(protein), gain_kg=2.01, kept_per_gain=0.030)
    assert left / (3.82 * nitrogen_share(protein)) == pytest.approx(0.49)


def test_asabe_broiler_against_the_balance():
    """ASABE D384.2: 53 g N a finished broiler of 48 days, USDA 67 g. NRC 1994 at 7 weeks (males 2.59 kg on
    5.0 kg feed, females 2.13 on 4.3, about 20 % protein) leave 83 and 75 g: more, by less than 60 %."""
    left = balance_kg(
        np.array([4.998, 4.310]), nitrogen_share(0.20), gain_kg=[2.55, 2.094], kept_per_gain=0.030
    )
    assert np.all(left > published("broiler", "ASABE").n_kg)
    assert np.all(left < 1.6 * published("broiler", "ASABE").n_kg)


def test_egg_nitrogen_of_three_trials():
    """PMC7597913: 1.11 g in 57.1 g, 0.93 in 48.0, 0.97 in 49.8: 19.4-19.5 g N/kg egg."""
    np.testing.assert_allclose([1110 / 57.1, 930 / 48.0, 970 / 49.8], [19.44, 19.38, 19.48], atol=6e-3)
