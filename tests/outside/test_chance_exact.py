"""Exact distributions of whole birds, against scipy.stats (a second implementation) and plain enumeration."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import integrate, stats

from farms import farm, line, mine
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.season.chance import number_by
from leyfold.season.chances.foxes import Fox, fox, visit_counts
from leyfold.season.chances.whole import (
    EVEN,
    Number,
    before_draft,
    beta_binomial,
    beta_nodes,
    binomial,
    convolved,
    partly,
    raided,
    thinning,
)

SET = date(2027, 2, 1)


def a_set(name: str, eggs: int, on: date = SET, **more: object) -> Batch:
    hatch = on + timedelta(days=21)
    return Batch(name, "tawny", "set", hatch, hatch, set_on=on, eggs=eggs, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("n", "p", "c"), [(1, 0.5, 2.0), (24, 0.83, 60.0), (160, 0.72, 60.0), (640, 0.9, 9.0)]
)
def test_beta_binomial_is_scipys(n: int, p: float, c: float) -> None:
    k = np.arange(n + 1)
    np.testing.assert_allclose(
        beta_binomial(n, p, c), stats.betabinom.pmf(k, n, c * p, c * (1 - p)), rtol=1e-9, atol=1e-25
    )
    np.testing.assert_allclose(beta_binomial(n, p, EVEN), stats.binom.pmf(k, n, p), rtol=1e-9, atol=1e-25)
    np.testing.assert_allclose(
        binomial(n, np.array([p, 0.1]))[1], stats.binom.pmf(k, n, 0.1), rtol=1e-9, atol=1e-25
    )


def test_thinning_has_a_row_for_every_number_of_birds() -> None:
    matrix = thinning(30, 0.9, 25.0)
    for m in (0, 1, 7, 30):
        np.testing.assert_allclose(
            matrix[m], stats.betabinom.pmf(np.arange(31), m, 22.5, 2.5), rtol=1e-10, atol=1e-26
        )
    assert np.array_equal(thinning(4, 1.0, 25.0), np.eye(5))
    assert np.array_equal(thinning(4, 0.0, 25.0)[:, 0], np.ones(5))


def test_a_stage_half_done_is_the_average_over_its_luck() -> None:
    """Numerical integration over the beta, by scipy's quadrature."""
    m, survival, steady, part = 12, 0.9, 15.0, 0.4
    luck = stats.beta(steady * survival, steady * (1 - survival))
    for k in (6, 10, 12):
        value, _ = integrate.quad(
            lambda p, k=k: luck.pdf(p) * stats.binom.pmf(k, m, 1 - (1 - p) * part), 0, 1, epsabs=1e-12
        )
        assert partly(m, survival, steady, part)[m, k] == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(("p", "c"), [(0.97, 30.0), (0.5, 3.0), (0.9, 15.0), (0.72, 60.0)])
def test_beta_nodes_have_the_moments_of_the_beta(p: float, c: float) -> None:
    points, weights = beta_nodes(p, c, 16)
    assert weights.sum() == pytest.approx(1.0, abs=1e-12)
    for power in (1, 2, 5, 20, 31):
        moment = np.prod([(c * p + i) / (c + i) for i in range(power)])  # any textbook's
        assert weights @ points**power == pytest.approx(moment, rel=1e-10)


def test_sum_of_batches_is_the_sum_over_all_pairs() -> None:
    a, b, c = beta_binomial(5, 0.7, 6.0), beta_binomial(3, 0.4, 4.0), beta_binomial(2, 0.5, EVEN)
    brute = np.zeros(11)
    for i, j, k in itertools.product(range(6), range(4), range(3)):
        brute[i + j + k] += a[i] * b[j] * c[k]
    np.testing.assert_allclose(convolved([a, b, c]), brute, atol=1e-16)


def test_visits_of_foxes_are_those_of_every_sequence_of_nights() -> None:
    """Six nights, 64 ways: the chance of each way multiplied out by the rule."""
    habits = Fox(0.1, 4.0, 2, 0.5)
    brute = np.zeros(4)
    for nights in itertools.product((0, 1), repeat=6):
        chance, left = 1.0, 0
        for visit in nights:
            likely = 0.4 if left else 0.1
            chance *= likely if visit else 1 - likely
            left = 2 if visit else max(left - 1, 0)
        brute[min(sum(nights), 3)] += chance
    np.testing.assert_allclose(visit_counts(habits, 6, 3), brute, atol=1e-14)


def test_raids_are_those_of_every_bird_and_visit() -> None:
    """Five birds, two and three to a shelter (2.5 is rounded up in the first), each left by each visit with
    chance 0.4: every pair of visit counts enumerated, birds by scipy's binomial."""
    visits = np.array([0.7, 0.2, 0.1])
    brute = np.zeros(6)
    for (i, p), (j, q) in itertools.product(enumerate(visits), repeat=2):
        one = stats.binom.pmf(np.arange(4), 3, 0.4**i)
        two = stats.binom.pmf(np.arange(3), 2, 0.4**j)
        brute += p * q * np.convolve(one, two)
    np.testing.assert_allclose(raided(5, (0.5, 0.5), visits, 0.6)[5], brute, atol=1e-14)
    safe = raided(4, (0.5,), visits, 1.0)[4]
    assert safe[2] == pytest.approx(0.3)  # two in the shelter, two indoors
    assert safe[4] == pytest.approx(0.7)


def test_a_draft_takes_its_share_rounded_by_chance() -> None:
    after = np.eye(8)
    assert before_draft(after, 0.5, count=False)[7, 3] == pytest.approx(0.5)
    assert before_draft(after, 0.5, count=False)[7, 4] == pytest.approx(0.5)
    killed = np.zeros((8, 8))
    killed[:, 0] = 1.0
    assert before_draft(killed, 0.25, count=True)[6, 1] == pytest.approx(0.5)
    assert np.array_equal(before_draft(killed, 1.0, count=True), np.eye(8))


def test_numbers_answer_like_scipys_binomial() -> None:
    n, p = 110, 0.5
    of, peer = Number(beta_binomial(n, p, EVEN)), stats.binom(n, p)
    assert of.mean == pytest.approx(55.0)
    assert of.sd == pytest.approx(peer.std())
    for share in (0.05, 0.5, 0.95):
        assert of.quantile(share) == peer.ppf(share)
    for k in (0, 1, 46, 55, 110):
        assert of.at_least(k) == pytest.approx(peer.sf(k - 1), abs=1e-12)
    assert of.at_least(111) == 0.0
    assert of.at_least(of.safe()) >= 0.95 > of.at_least(of.safe() + 1)


def test_two_batches_by_hand() -> None:
    """Two sets of 3 and 2 eggs: every chick, sex and death enumerated with scipy's pmfs."""
    kind = line(fertility=1.0, hatch_of_fertile=0.8, share_pullets=0.4, loss_concentration=10.0)
    made = farm(lines={"tawny": kind}, risks={"fox_chance": mine(0.0)})
    plan = Plan((a_set("a", 3), a_set("b", 2, SET + timedelta(days=14))))
    on = SET + timedelta(days=21 + 56)  # the first batch as it is sorted, the second 42 days old

    def alive(chicks: int, stages: list[tuple[float, float]]) -> np.ndarray:
        pmf = stats.binom.pmf(np.arange(4), chicks, 0.4)
        for survival, part in stages:
            after = np.zeros(4)
            for m, dead in itertools.product(range(4), repeat=2):
                if dead <= m:
                    lost = pmf[m] * stats.betabinom.pmf(dead, m, 10 * (1 - survival), 10 * survival)
                    for now in range(dead + 1):
                        after[m - now] += lost * stats.binom.pmf(now, dead, part)
            pmf = after
        return pmf

    s = (kind.survival_first_week.value, kind.survival_brooder.value, kind.survival_shelter.value)
    half = (1 - s[2] ** 0.5) / (1 - s[2])
    brute = np.zeros(6)
    for i, j in itertools.product(range(4), range(3)):
        hatched = stats.betabinom.pmf(i, 3, 48, 12) * stats.betabinom.pmf(j, 2, 48, 12)
        one = alive(i, [(s[0], 1), (s[1], 1), (s[2], 1)])
        two = alive(j, [(s[0], 1), (s[1], 1), (s[2], half)])
        brute += hatched * np.convolve(one, two)[:6]
    exact = number_by(made, plan, "pullets", on).pmf
    np.testing.assert_allclose(exact, brute[: exact.size], atol=1e-12)
    assert brute[exact.size :].sum() < 1e-12


def test_candled_counted_and_sorted_birds_narrow_the_answer() -> None:
    made = farm(risks={"fox_chance": mine(0.0)})
    kind = made.lines["tawny"]
    hatch = SET + timedelta(days=21)
    plain = a_set("a", 100)
    candled = replace(plain, fertile=88)
    counted = Batch("a", "tawny", "present", hatch, hatch, heads={"pullet": 36.0, "cockerel": 36.0})
    sorted_on = hatch + timedelta(days=56)
    known = Batch(
        "a", "tawny", "present", hatch, sorted_on, heads={"pullet": 36.0, "cockerel": 36.0},
        turnout_on=hatch + timedelta(days=28), sort_on=sorted_on,
    )  # fmt: skip
    at_hatch = {n: number_by(made, Plan((b,)), "pullets", hatch) for n, b in
                {"plain": plain, "candled": candled, "counted": counted}.items()}  # fmt: skip
    np.testing.assert_allclose(
        at_hatch["counted"].pmf, stats.binom.pmf(np.arange(at_hatch["counted"].pmf.size), 72, 0.5), atol=1e-12
    )
    chicks = stats.betabinom.pmf(np.arange(89), 88, 60 * 0.8, 60 * 0.2)
    pullets = sum(c * stats.binom.pmf(np.arange(89), m, 0.5) for m, c in enumerate(chicks))
    size = at_hatch["candled"].pmf.size
    np.testing.assert_allclose(at_hatch["candled"].pmf, pullets[:size], atol=1e-12)
    assert at_hatch["plain"].sd > at_hatch["candled"].sd > at_hatch["counted"].sd
    later = number_by(made, Plan((known,)), "pullets", sorted_on + timedelta(days=70))
    survival, steady = kind.pullet.survival_grower.value, kind.loss_concentration.value
    peer = stats.betabinom.pmf(np.arange(37), 36, steady * survival, steady * (1 - survival))
    np.testing.assert_allclose(later.pmf, peer[: later.pmf.size], atol=1e-12)


def test_one_shared_fault_is_the_average_over_its_spread() -> None:
    """Two batches at one hatch rate: scipy's quadrature over the beta of rates."""
    kind = line(share_pullets=1.0, survival_first_week=1.0, survival_brooder=1.0)
    made = farm(lines={"tawny": kind}, risks={"fox_chance": mine(0.0)})
    plan = Plan((a_set("a", 40), a_set("b", 60)))
    exact = number_by(made, plan, "pullets", SET + timedelta(days=30), spread="shared")
    rate = stats.beta(60 * 0.72, 60 * 0.28)
    for k in (55, 72, 85):
        value, _ = integrate.quad(lambda p, k=k: rate.pdf(p) * stats.binom.pmf(k, 100, p), 0, 1, epsabs=1e-13)
        assert exact.pmf[k] == pytest.approx(value, abs=1e-7)


def test_drafts_share_the_luck_of_those_left() -> None:
    """All cockerels, half killed in the middle of the stage, the rest at its end: killed in all is the
    beta-binomial of what each half could lose, by quadrature over the stage's luck."""
    kind = line(share_pullets=0.0, loss_concentration=8.0)
    made = farm(lines={"tawny": kind}, risks={"fox_chance": mine(0.0)})
    hatch = SET
    sorting = hatch + timedelta(days=56)
    end = sorting + timedelta(days=42)
    batch = Batch(
        "a", "tawny", "present", hatch, sorting, heads={"cockerel": 10.0},
        turnout_on=hatch + timedelta(days=28), sort_on=sorting,
        drafts=(Draft(sorting + timedelta(days=21), 0.5), Draft(end, 1.0)),
    )  # fmt: skip
    exact = number_by(made, Plan((batch,)), "table birds", end)
    s = kind.cockerel.survival_grower.value
    half = (1 - s**0.5) / (1 - s)
    luck = stats.beta(8 * s, 8 * (1 - s))

    def given(p: float, k: int) -> float:
        first, total = 1 - (1 - p) * half, 0.0
        for alive in range(11):
            for taken, weight in {alive // 2: 0.5, -(-alive // 2): 0.5}.items():
                share = 1.0 if alive % 2 == 0 else weight
                left = alive - taken
                total += (
                    stats.binom.pmf(alive, 10, first) * share * stats.binom.pmf(k - taken, left, p / first)
                )
        return total

    for k in (7, 9, 10):
        value, _ = integrate.quad(lambda p, k=k: luck.pdf(p) * given(p, k), 0, 1, epsabs=1e-9, limit=200)
        assert exact.pmf[k] == pytest.approx(value, abs=1e-7)


def test_habits_of_foxes_come_from_the_farm() -> None:
    assert fox(farm()).chance == pytest.approx(1 / 2000)
    assert fox(farm(risks={"fox_chance": mine(0.01)})).chance == pytest.approx(0.01)
