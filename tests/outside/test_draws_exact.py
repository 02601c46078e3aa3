"""Draws against the exact distributions and against published and textbook distributions.

Seeds are fixed. Two samples of a distribution differ by at most 1.95 / sqrt(n) (Kolmogorov-Smirnov, 0.1 %, on
the safe side for whole numbers); where foxes come, 0.004 is added for what the exact chance rounds (see
`season.chance`).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from farms import farm, line, mine
from leyfold.nouns.draws import Draws
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.season.chance import number_by
from leyfold.season.chances.foxes import Fox, nightly_survival, visits
from leyfold.season.chances.streams import stream
from leyfold.season.complete import complete
from leyfold.season.draw import draw

N = 4000
SET = date(2027, 2, 1)
BY = date(2027, 8, 16)
FARM = farm()
QUIET = farm(risks={"fox_chance": mine(0.0)})


def a_set(i: int, eggs: int = 90) -> Batch:
    on = SET + timedelta(days=28 * i)
    hatch = on + timedelta(days=21)
    drafts = (Draft(hatch + timedelta(days=84), 0.5), Draft(hatch + timedelta(days=98), 1.0))
    return Batch(f"b{i}", "tawny", "set", hatch, hatch, set_on=on, eggs=eggs, drafts=drafts)


PLAN = Plan(tuple(a_set(i) for i in range(3)))


def pullets(draws: Draws, on: date) -> NDArray[np.int64]:
    day = draws.index(on)
    return sum(draws.heads_of(i)[:, day] for i, lot in enumerate(draws.lots) if lot.sex == "pullet")  # type: ignore[return-value]


def killed(draws: Draws, on: date) -> NDArray[np.int64]:
    ends = {s.id: s.until for s in draws.plan.stays}
    mine_ = [i for i, lot in enumerate(draws.lots) if lot.sex == "cockerel" and ends[lot.stay] <= on]
    return draws.killed[mine_].sum(axis=0)  # type: ignore[no-any-return]


def apart(seen: NDArray[np.int64], below: NDArray[np.float64]) -> float:
    """The largest difference between the shares tried and exact, over every whole number."""
    tried = np.searchsorted(np.sort(seen), np.arange(below.size), side="right") / seen.size
    return float(np.abs(below - tried).max())


@pytest.mark.parametrize("shared", [False, True])
@pytest.mark.parametrize("foxes", [False, True])
def test_draws_have_the_exact_distribution(shared: bool, foxes: bool) -> None:
    made = FARM if foxes else QUIET
    plan = complete(made, PLAN)
    draws = draw(made, plan, n=N, seed=11, shared=shared)
    for what, seen in (("pullets", pullets(draws, BY)), ("table birds", killed(draws, BY))):
        exact = number_by(made, plan, what, BY, spread="shared" if shared else "batches")  # type: ignore[arg-type]
        assert apart(seen, np.cumsum(exact.pmf)) < 1.95 / N**0.5 + (0.004 if foxes else 0.0)
        assert seen.mean() == pytest.approx(exact.mean, abs=4 * exact.sd / N**0.5)


def test_foxes_make_the_lower_end_longer() -> None:
    plan = complete(FARM, PLAN)
    with_foxes, without = (number_by(made, plan, "pullets", BY) for made in (FARM, QUIET))
    assert with_foxes.mean == pytest.approx(without.mean, rel=2e-4)
    assert with_foxes.quantile(0.05) < without.quantile(0.05)


def test_pullets_among_110_chicks_are_the_binomials() -> None:
    """Hays 1945, American Naturalist: 438 of 870 chicks were female, not to be told from one half. The 5 and
    95 % points of Bin(110, 1/2), by scipy, are 46 and 64: over nearly twenty heads."""
    hatch = date(2027, 3, 1)
    batch = Batch("b", "tawny", "bought", hatch, hatch, heads={"pullet": 55.0, "cockerel": 55.0})
    draws = draw(QUIET, Plan((batch,)), n=6000, seed=5)
    seen = draws.came[[c.sex == "pullet" for c in draws.cohorts]][0]
    peer = stats.binom(110, 0.5)
    assert (peer.ppf(0.05), peer.ppf(0.95)) == (46, 64)
    assert tuple(np.percentile(seen, (5, 95), method="inverted_cdf")) == (46, 64)
    assert apart(seen, peer.cdf(np.arange(111))) < 1.95 / 6000**0.5
    assert draws.came.sum(axis=0).tolist() == [110] * 6000
    assert abs(438 / 870 - 0.5) < 1.96 * (0.25 / 870) ** 0.5


def test_chicks_are_beta_binomial() -> None:
    draws = draw(QUIET, Plan((a_set(0, 160),)), n=8000, seed=2)
    kind = QUIET.lines["tawny"]
    p, c = kind.fertility.value * kind.hatch_of_fertile.value, kind.hatch_concentration.value
    peer = stats.betabinom(160, c * p, c * (1 - p))
    assert apart(draws.chicks[0], peer.cdf(np.arange(161))) < 1.95 / 8000**0.5


def test_losses_of_a_batch_are_beta_binomial() -> None:
    """A batch of 150 in its first week, where batches differ much: scipy's beta-binomial, not binomial."""
    kind = line(survival_first_week=0.9, loss_concentration=5.0)
    made = farm(lines={"tawny": kind}, risks={"fox_chance": mine(0.0)})
    hatch = date(2027, 3, 1)
    batch = Batch("b", "tawny", "bought", hatch, hatch, heads={"pullet": 150.0})
    draws = draw(made, Plan((batch,), last=hatch + timedelta(days=20)), n=N, seed=6)
    seen = pullets(draws, hatch + timedelta(days=7))
    k = np.arange(151)
    assert apart(seen, stats.betabinom.cdf(k, 150, 4.5, 0.5)) < 1.95 / N**0.5
    assert apart(seen, stats.binom.cdf(k, 150, 0.9)) > 0.2


def test_one_fault_moves_all_batches_together() -> None:
    apart, together = (draw(QUIET, PLAN, n=N, seed=3, shared=s).chicks for s in (False, True))
    assert abs(np.corrcoef(apart)[0, 1]) < 4 / N**0.5
    # Of two numbers with one rate: covariance n^2 var(p) over the beta-binomial's variance.
    n, p, c = 90, 0.72, 60.0
    between = n**2 * p * (1 - p) / (c + 1)
    want = between / stats.betabinom.var(n, c * p, c * (1 - p))
    assert np.corrcoef(together)[0, 1] == pytest.approx(want, abs=4 / N**0.5)


def test_foxes_come_at_their_rate_and_come_back() -> None:
    """Rates of a two-state renewal reckoned by simulation in plain Python, apart from the vector code."""
    made = farm(risks={"fox_chance": mine(0.01), "fox_return_factor": mine(20), "fox_return_nights": mine(3)})
    from leyfold.season.dates import Window

    n, days = 2000, 210
    draws, nights = visits(made, "s1", np.ones(days, dtype=bool), Window(date(2027, 1, 4), days), n=n, seed=8)
    rng, count, again = stream(1, "plain"), [], 0
    for _ in range(1000):
        left = here = 0
        for chance in rng.random(days):
            visit = chance < (0.2 if left else 0.01)
            again += visit and left > 0
            left = 3 if visit else max(left - 1, 0)
            here += visit
        count.append(here)
    mean, error = np.mean(count), np.std(count) * (1 / 1000 + 1 / n) ** 0.5
    assert draws.size / n == pytest.approx(mean, abs=4 * error)
    close = (np.diff(nights) <= 3) & (np.diff(draws) == 0)
    assert close.sum() / draws.size == pytest.approx(again / sum(count), abs=0.03)
    assert np.all(np.diff(draws) >= 0)


def test_what_foxes_leave_on_average_is_what_a_long_run_leaves() -> None:
    """Nights of birds in a shelter by plain multiplication of the chain, 400 nights on."""
    habits = Fox(0.002, 25.0, 5, 0.6)
    made = farm(risks={"fox_chance": mine(0.002), "fox_return_factor": mine(25), "fox_share": mine(0.6)})
    at = np.zeros(6)
    at[0] = 1.0
    kept = []
    for _ in range(400):
        after = np.zeros(6)
        for left, weight in enumerate(at):
            likely = habits.chance * (habits.times if left else 1.0)
            after[max(left - 1, 0)] += weight * (1 - likely)
            after[5] += weight * likely * (1 - habits.share)
        kept.append(after.sum() / at.sum())
        at = after
    assert nightly_survival(made) == pytest.approx(kept[-1], rel=1e-9)


def test_weather_spreads_and_leans_as_told() -> None:
    draws = draw(FARM, replace(PLAN, batches=PLAN.batches[:1]), n=2000, seed=4)
    off = draws.anomaly_K
    assert off.mean() == pytest.approx(0.0, abs=0.1)
    assert off.std() == pytest.approx(3.5, rel=0.02)
    new_year = off[draws.index(date(2028, 1, 1))]  # where a year of weather begins
    assert new_year.std() == pytest.approx(3.5, rel=0.07)
    today, yesterday = off[1:].ravel(), off[:-1].ravel()
    assert np.corrcoef(today, yesterday)[0, 1] == pytest.approx(0.65, abs=0.01)
