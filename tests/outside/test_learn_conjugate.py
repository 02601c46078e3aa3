"""What the records make of the start values, against posteriors got another way: the distributions of
scipy.stats, numerical integration of prior times likelihood, scipy.optimize on the whole growth posterior,
and a farm simulated by hand whose truth is known.

The formulas are those of any textbook of Bayesian statistics (Gelman et al., Bayesian Data Analysis, 3rd ed.,
chapters 2 and 3); the design effect is Kish 1965, Survey Sampling.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from farms import farm, line
from leyfold.farm.tables import figure
from leyfold.log import fold
from leyfold.nature.growth import by_curve, gompertz, logistic, richards
from leyfold.nouns.farm import MobileHouse
from leyfold.nouns.figure import Figure
from leyfold.nouns.record import State
from leyfold.nouns.stock import Growth
from leyfold.season.learn import learn, learned
from leyfold.season.learning import shrink
from leyfold.season.learning.evidence import Taken
from leyfold.season.learning.weighed import moved_curves, moved_spread
from logs import Diary, kept, utc

FARM = farm()
LINE = FARM.lines["tawny"]


def strength(name: str) -> float:
    return figure(f"priors.{name}").value


@pytest.mark.parametrize(("n", "steady"), [(1, 60.0), (24, 60.0), (160, 60.0), (160, 5.0), (1000, 1e5)])
def test_what_a_batch_counts_for(n: int, steady: float) -> None:
    """The variance of a beta-binomial share is that of a binomial share of the effective number."""
    p = 0.72
    variance = stats.betabinom(n, p * steady, (1 - p) * steady).var() / n**2
    assert p * (1 - p) / variance == pytest.approx(shrink.effective(n, steady), rel=1e-12)


@pytest.mark.parametrize(
    ("prior", "k", "hits", "trials"), [(0.9, 40, 31, 50), (0.5, 870, 0, 12), (0.01, 9, 0, 0)]
)
def test_a_rate_is_the_mean_of_its_beta(prior: float, k: float, hits: float, trials: float) -> None:
    a, b = prior * k, (1 - prior) * k
    assert shrink.rate(prior, k, hits, trials) == pytest.approx(
        stats.beta(a + hits, b + trials - hits).mean(), rel=1e-12
    )


def test_a_rate_by_integration_of_prior_times_likelihood() -> None:
    prior, k, hits, trials = 0.8, 40.0, 61.5, 90.25  # effective counts are no whole numbers

    def density(p: float) -> float:
        return float(stats.beta(prior * k, (1 - prior) * k).pdf(p) * p**hits * (1 - p) ** (trials - hits))

    whole = integrate.quad(density, 0, 1, epsabs=0, epsrel=1e-12)[0]
    mean = integrate.quad(lambda p: p * density(p), 0, 1, epsabs=0, epsrel=1e-12)[0] / whole
    assert shrink.rate(prior, k, hits, trials) == pytest.approx(mean, rel=1e-9)


def test_a_factor_is_the_mean_of_its_gamma() -> None:
    """Poisson counts about factor x expected."""
    k, count, expected = 30.0, 1240, 1500.0
    mine = shrink.gamma_factor(k, count, expected)
    assert mine == pytest.approx(stats.gamma(k + count, scale=1 / (k + expected)).mean(), rel=1e-12)

    def log_density(x: float) -> float:
        return float(stats.gamma(k, scale=1 / k).logpdf(x) + stats.poisson(x * expected).logpmf(count))

    peak = log_density(mine)
    whole = integrate.quad(lambda x: np.exp(log_density(x) - peak), 0.5, 1.2)[0]
    mean = integrate.quad(lambda x: x * np.exp(log_density(x) - peak), 0.5, 1.2)[0] / whole
    assert mine == pytest.approx(mean, rel=1e-8)


def test_a_spread_is_the_scale_of_its_inverse_chi_square() -> None:
    """The scale is one over the mean precision: integrated from the prior and the sample's likelihood."""
    prior, freedom = 0.11, 20.0
    sample = np.array([1.02, 0.9, 1.31, 1.12, 0.85, 1.05, 0.95])
    squares, n = float(np.sum((sample - sample.mean()) ** 2)), sample.size - 1

    def density(precision: float) -> float:
        start = stats.gamma(freedom / 2, scale=2 / (freedom * prior**2)).pdf(precision)
        return float(start * precision ** (n / 2) * np.exp(-precision * squares / 2))

    whole = integrate.quad(density, 0, 400, epsabs=0)[0]
    mean = integrate.quad(lambda x: x * density(x), 0, 400, epsabs=0)[0] / whole
    assert shrink.spread(prior, freedom, squares, n) == pytest.approx(mean**-0.5, rel=1e-7)


@pytest.mark.parametrize("truth", [8.0, 60.0, 400.0])
def test_how_alike_batches_are_is_found_again(truth: float) -> None:
    rng = np.random.default_rng(3)
    eggs = rng.integers(40, 160, 3000)
    chicks = rng.binomial(eggs, rng.beta(0.72 * truth, 0.28 * truth, eggs.size))
    found = shrink.concentration(
        60.0, 10.0, list(chicks), list(eggs), [chicks.sum() / eggs.sum()] * eggs.size
    )
    assert 1 / (found + 1) == pytest.approx(1 / (truth + 1), rel=0.12, abs=4e-4)


def test_three_batches_say_little_of_how_alike_batches_are() -> None:
    alike = shrink.concentration(60.0, 10.0, [72, 72, 72], [100, 100, 100], [0.72] * 3)
    apart = shrink.concentration(60.0, 10.0, [40, 72, 95], [100, 100, 100], [0.69] * 3)
    assert alike == pytest.approx(1 / ((10 / 61 + 0) / 12) - 1, rel=1e-12)  # the records' part is none
    assert 8 < apart < 60 < alike < 100


def hatches(*counts: tuple[int, int | None, int]) -> State:
    """Sets of (eggs, fertile, chicks), a week apart."""
    diary = Diary()
    for i, (eggs, fertile, chicks) in enumerate(counts):
        at = utc("2027-01-05 09:00") + timedelta(weeks=i)
        diary.write(at, "set", batch=f"b{i}", line="tawny", eggs=eggs)
        if fertile is not None:
            diary.write(at + timedelta(days=7), "candled", batch=f"b{i}", fertile=fertile)
        diary.write(at + timedelta(days=21), "hatched", batch=f"b{i}", chicks=chicks, place="east")
    return fold(FARM, diary, utc("2028-01-05 09:00"))


def posterior(prior: float, k: float, rows: list[tuple[float, float]], steady: float) -> float:
    """Each (hits, trials) of a batch weighted down to its effective number, by scipy's beta."""
    a, b = prior * k, (1 - prior) * k
    for hits, trials in rows:
        share = (1 + (trials - 1) / (steady + 1)) ** -1
        a, b = a + share * hits, b + share * (trials - hits)
    return float(stats.beta(a, b).mean())


def test_fertility_and_hatch_of_fertile() -> None:
    state = hatches((60, 50, 30), (120, 111, 90), (24, 20, 19))
    mine, steady = learn(FARM, state).lines["tawny"], LINE.hatch_concentration.value
    fertility = posterior(
        LINE.fertility.value, strength("fertility"), [(50, 60), (111, 120), (20, 24)], steady
    )
    hatch = posterior(
        LINE.hatch_of_fertile.value, strength("hatch_of_fertile"), [(30, 50), (90, 111), (19, 20)], steady
    )
    assert mine.fertility.value == pytest.approx(fertility, rel=1e-12)
    assert mine.hatch_of_fertile.value == pytest.approx(hatch, rel=1e-12)
    assert (mine.fertility.n_records, mine.hatch_of_fertile.n_records) == (204, 181)
    assert mine.fertility.evidence == "records"
    assert mine.fertility.source.startswith(
        "204 eggs candled in the farm's own records, with a start value of 0.9"
    )


def test_fertility_is_near_the_posterior_that_keeps_every_batch_apart() -> None:
    """The whole likelihood: one beta-binomial a batch, integrated over the farm's mean."""
    counts = [(50, 60), (111, 120), (20, 24), (90, 96)]
    steady, k, prior = LINE.hatch_concentration.value, strength("fertility"), LINE.fertility.value

    def log_density(m: float) -> float:
        start = stats.beta(prior * k, (1 - prior) * k).logpdf(m)
        return float(
            start + sum(stats.betabinom(n, m * steady, (1 - m) * steady).logpmf(y) for y, n in counts)
        )

    peak = max(log_density(m) for m in np.linspace(0.8, 0.99, 100))
    whole = integrate.quad(lambda m: np.exp(log_density(m) - peak), 0.5, 1 - 1e-9, limit=200)[0]
    mean = integrate.quad(lambda m: m * np.exp(log_density(m) - peak), 0.5, 1 - 1e-9, limit=200)[0] / whole
    state = hatches(*[(n, y, y // 2) for y, n in counts])
    assert learn(FARM, state).lines["tawny"].fertility.value == pytest.approx(mean, abs=0.004)


def test_eggs_never_candled_still_say_what_hatches() -> None:
    mine = learn(FARM, hatches((100, None, 45))).lines["tawny"]
    assert mine.fertility == LINE.fertility
    expected = posterior(
        LINE.hatch_of_fertile.value,
        strength("hatch_of_fertile"),
        [(45, 100 * LINE.fertility.value)],
        LINE.hatch_concentration.value,
    )
    assert mine.hatch_of_fertile.value == pytest.approx(expected, rel=1e-12)


def test_stored_eggs_are_not_held_against_the_machine() -> None:
    diary = Diary()
    diary.write("2027-01-05 09:00", "set", batch="a", line="tawny", eggs=100, stored_d=14)
    diary.write("2027-01-12 09:00", "candled", batch="a", fertile=90)
    # Eggs of 0 to 14 days: free to the 4th, then 0.005 a day, 0.01 a day past the 7th.
    fresh = 1 - sum(0.005 * min(max(d - 4, 0), 3) + 0.01 * max(d - 7, 0) for d in range(15)) / 15
    diary.write("2027-01-26 09:00", "hatched", batch="a", chicks=round(90 * 0.8 * fresh), place="east")
    mine = learn(FARM, fold(FARM, diary, utc("2027-02-01 00:00"))).lines["tawny"]
    assert LINE.hatch_of_fertile.value == 0.8
    assert mine.hatch_of_fertile.value == pytest.approx(0.8, abs=0.002)


def test_survival_is_a_beta_on_bird_days() -> None:
    diary = Diary()
    diary.write("2027-02-01 09:00", "bought", batch="a", line="tawny", heads=100, place="east")
    diary.write("2027-02-04 09:00", "found dead", place="east", heads=4)
    diary.write("2027-02-10 09:00", "found dead", place="east", heads=6)
    diary.write("2027-02-20 09:00", "sold", place="east", heads=40)
    diary.write("2027-02-27 09:00", "counted", place="east", heads=50)
    # Nobody looked after the 27th, so later days are no proof that the birds live.
    state = fold(FARM, diary, utc("2027-06-28 09:00"))
    mine = learn(FARM, state).lines["tawny"]
    # At risk, by hand: 100 birds on the days 1 to 4 February, 96 from the 5th to the 10th, then 90 and 50.
    week, brooder = 4 * 100 + 3 * 96, 3 * 96 + 9 * 90 + 8 * 50
    for name, lost, at_risk, most, days in (
        ("survival_first_week", 4, week, 100, 7.0),
        ("survival_brooder", 6, brooder, 96, LINE.turnout_d.value - 7.0),
    ):
        prior = getattr(LINE, name).value
        daily = 1 - prior ** (1 / days)
        part = 1 / (1 + (most - 1) / (LINE.loss_concentration.value + 1))
        k = strength("survival") * days
        q = stats.beta(daily * k + part * lost, (1 - daily) * k + part * (at_risk - lost)).mean()
        assert getattr(mine, name).value == pytest.approx((1 - q) ** days, rel=1e-12)
        assert getattr(mine, name).n_records == most
    assert mine.survival_shelter == LINE.survival_shelter


def test_the_share_of_pullets() -> None:
    diary = Diary()
    diary.write("2027-02-01 09:00", "bought", batch="a", line="tawny", heads=300, place="east")
    diary.write("2027-03-29 09:00", "sorted", batch="a", pullets=180, cockerels=120)
    mine = learn(FARM, fold(FARM, diary, utc("2027-03-30 09:00"))).lines["tawny"]
    k, prior = strength("share_pullets"), LINE.share_pullets.value
    assert mine.share_pullets.value == pytest.approx(
        stats.beta(prior * k + 180, (1 - prior) * k + 120).mean()
    )
    assert mine.share_pullets.n_records == 300


def curve(model: str) -> Growth:
    def f(value: float) -> Figure:
        return Figure(value, "1", "made up", "guess")

    rate = {"gompertz": 0.023, "logistic": 0.045, "richards": 0.03}[model]
    shape = f(1.4) if model == "richards" else None
    return Growth(model, f(3.4), f(rate), f(68.0), shape)  # type: ignore[arg-type]


def plain(model: str, mature: float, rate: float, turn: float, age: float) -> float:
    if model == "gompertz":
        return float(gompertz(age, mature_kg=mature, rate_per_d=rate, inflection_d=turn))
    if model == "logistic":
        return float(logistic(age, mature_kg=mature, scale_d=1 / rate, inflection_d=turn))
    return float(richards(age, mature_kg=mature, rate_per_d=rate, inflection_d=turn, shape=1.4))


@pytest.mark.parametrize("model", ["gompertz", "logistic", "richards"])
def test_growth_is_the_peak_of_the_whole_posterior(model: str) -> None:
    """Against scipy.optimize on the density written out with multivariate normals; the inflection that keeps
    the weight at hatch is sought by root finding, not by formula."""
    start = curve(model)
    made = line()
    cockerel = replace(made.cockerel, growth=start)
    made = replace(made, cockerel=cockerel, pullet=replace(made.pullet, growth=start))
    rng = np.random.default_rng(8)
    batches = [
        [
            Taken(35, None, tuple(rng.normal(0.5, 0.06, 12))),
            Taken(70, "cockerel", tuple(rng.normal(1.5, 0.15, 20))),
        ],
        [
            Taken(63, "cockerel", tuple(rng.normal(1.1, 0.1, 20))),
            Taken(98, "pullet", tuple(rng.normal(1.6, 0.2, 8))),
        ],
    ]
    mine = moved_curves(made, batches, 0.1)

    at_hatch = plain(model, 3.4, start.rate_per_d.value, 68.0, 0.0)

    def weights(by: np.ndarray, age: float) -> float:
        mature, rate = 3.4 * np.exp(by[0]), start.rate_per_d.value * np.exp(by[1])
        turn = optimize.brentq(
            lambda t: plain(model, mature, rate, t, 0.0) - at_hatch, -200, 2000, xtol=1e-12
        )
        return plain(model, mature, rate, turn, age)

    cv, luck = made.cockerel.weight_cv.value, made.cockerel.batch_weight_cv.value

    def badness(by: np.ndarray) -> float:
        total = -stats.norm(0, 0.1).logpdf(by).sum()
        for batch in batches:
            seen = [np.log(np.mean(t.weights_kg)) for t in batch]
            expected = []
            for t in batch:
                p, c = weights(by[:2], t.age_d), weights(by[2:], t.age_d)
                expected.append(np.log({"pullet": p, "cockerel": c, None: (p + c) / 2}[t.sex]))
            # Both sexes start from one curve here: unsorted birds spread no wider than sorted ones.
            covariance = np.diag([cv**2 / len(t.weights_kg) for t in batch]) + luck**2
            total -= stats.multivariate_normal(expected, covariance).logpdf(seen)
        return float(total)

    best = optimize.minimize(
        badness,
        np.zeros(4),
        method="L-BFGS-B",
        bounds=[(-0.6, 0.6)] * 4,
        options={"gtol": 1e-8, "ftol": 1e-15},
    ).x
    for i, sex in enumerate(("pullet", "cockerel")):
        found = mine[sex]  # type: ignore[index]
        moved = [
            np.log(found.mature_kg.value / 3.4),
            np.log(found.rate_per_d.value / start.rate_per_d.value),
        ]
        assert moved == pytest.approx(list(best[2 * i : 2 * i + 2]), abs=2e-5)
        assert by_curve(found, 0.0) == pytest.approx(at_hatch, rel=1e-9)


def test_one_weighing_moves_the_curve_most_of_the_way_to_many_birds() -> None:
    age, truth = 84, 1.2 * by_curve(LINE.cockerel.growth, 84)
    gap = []
    for n in (5, 20, 400):
        found = moved_curves(LINE, [[Taken(age, "cockerel", (truth,) * n)]], strength("curve"))
        gap.append(truth - by_curve(found["cockerel"], age))
        assert found["pullet"] == LINE.pullet.growth
    assert truth - by_curve(LINE.cockerel.growth, age) > gap[0] > gap[1] > gap[2] > 0


@pytest.mark.parametrize(
    "weighed",
    [
        [(20, 3.0), (100, 3.1)],
        [(120, 0.05)],
        [(10, 0.5), (40, 0.2), (100, 4.0)],
        [(1, 0.9), (200, 0.1)],
        [(0, 0.04), (400, 18.0)],
    ],
)
@pytest.mark.parametrize("prior_sd", [0.1, 1.0])
def test_absurd_weighings_still_end_in_a_curve(weighed: list[tuple[int, float]], prior_sd: float) -> None:
    """And in a better one than the start: the search never climbs away from what was weighed."""
    certain = {
        "weight_cv": Figure(0.01, "share", "test", "guess"),
        "batch_weight_cv": Figure(0.0, "share", "test", "guess"),
    }
    made = replace(LINE, cockerel=replace(LINE.cockerel, **certain))
    found = moved_curves(made, [[Taken(age, "cockerel", (kg,) * 1000) for age, kg in weighed]], prior_sd)[
        "cockerel"
    ]

    def off(growth: Growth) -> float:
        return float(sum(np.log(by_curve(growth, age) / kg) ** 2 for age, kg in weighed))

    assert off(found) < off(LINE.cockerel.growth)
    ages = np.arange(0, 400)
    assert (np.diff(by_curve(found, ages)) >= 0).all()


def test_the_spread_of_weights() -> None:
    rng = np.random.default_rng(1)
    taken = [Taken(80, "cockerel", tuple(rng.normal(1.8, 1.8 * 0.2, 4000)))]
    assert moved_spread(0.11, 20.0, taken) == pytest.approx(0.2, rel=0.03)
    assert moved_spread(0.11, 20.0, [Taken(80, "cockerel", (1.7,))]) == pytest.approx(0.11, rel=1e-12)


def test_no_records_leave_the_farm_as_it_is() -> None:
    assert learn(FARM, State()) == FARM
    assert learn(FARM, State(day=date(2027, 5, 1))) == FARM
    assert learned(FARM, learn(FARM, State())) == ()


def test_more_records_move_on_towards_what_they_say() -> None:
    values = []
    for batches in (0, 1, 2, 4, 8):
        mine = learn(FARM, hatches(*[(80, 60, 30)] * batches)).lines["tawny"]
        values.append((mine.fertility.value, mine.hatch_of_fertile.value))
    for column, goal in zip(zip(*values, strict=True), (60 / 80, 30 / 60), strict=True):
        assert all(a > b > goal for a, b in pairwise(column))


def test_feed_is_held_against_what_growing_birds_should_eat() -> None:
    """Chicks indoors, where cold costs nothing: maintenance and gain summed by hand over the days."""
    diary = Diary()
    diary.write("2027-02-01 09:00", "bought", batch="a", line="tawny", heads=200, place="east")
    given, gap = 30.0, (2, 2, 3, 2, 2, 2, 9, 2)  # the long gap is more than usual, and left out with its feed
    days = [1 + sum(gap[:i]) for i in range(len(gap) + 1)]
    for age in days:
        diary.write(utc("2027-02-01 12:00") + timedelta(days=age), "fed", place="east", kg=given)
    mine = learn(FARM, fold(FARM, diary, utc("2027-03-20 12:00"))).lines["tawny"]

    due = 0.0
    for sex in ("pullet", "cockerel"):
        traits, g = LINE.of(sex), LINE.of(sex).growth  # type: ignore[arg-type]
        for first, length in zip(days, gap, strict=False):
            for age in range(first, first + length) if length <= 2 else ():
                now, then = (plain("gompertz", g.mature_kg.value, g.rate_per_d.value, g.inflection_d.value, t)
                             for t in (age, age + 1))  # fmt: skip
                eaten = traits.maintenance_kg_per_kg075.value * now**0.75
                eaten += traits.per_gain_kg_per_kg.value * (then - now)
                due += 100 * eaten / (1 - traits.waste_share.value)
    k, seen = strength("feed"), 6 * given
    factor = stats.gamma(k + seen, scale=1 / (k + due)).mean()
    for sex in ("pullet", "cockerel"):
        for name in ("maintenance_kg_per_kg075", "per_gain_kg_per_kg", "cold_share"):
            old, new = (getattr(made.of(sex), name) for made in (LINE, mine))  # type: ignore[arg-type]
            assert new.value == pytest.approx(old.value * factor, rel=1e-9)
            assert new.n_records == 180


def test_eggs_of_hens_that_share_a_house_are_parted_by_what_was_due() -> None:
    house = MobileHouse("coop", 400.0, light_h=16.0)
    made = farm(
        houses={"coop": house}, lines={"tawny": line("tawny"), "pale": line("pale", egg_weight_g=55.0)}
    )
    diary = Diary()
    for name, of, heads in (("old", "tawny", 60), ("new", "pale", 30)):
        hens = {"batch": name, "line": of, "place": "coop", "sex": "pullet", "hatched_on": "2026-06-01"}
        diary.write("2027-03-01 06:00", "present", heads=heads, **hens)
    for day in range(1, 29):
        diary.write(f"2027-03-{day:02} 17:00", "eggs", place="coop", eggs=45)
    after = learn(made, fold(made, diary, utc("2027-04-10 06:00")))
    hen, due = LINE.hen, 0.0
    for day in range(1, 28):  # the first gathering only opens the first span
        week = (date(2027, 3, 1) - date(2026, 6, 1) + timedelta(days=day)).days / 7
        rise = 1 + np.exp(-hen.lay_c_per_wk.value * (week - hen.lay_d_wk.value))
        due += hen.lay_a.value * np.exp(-hen.lay_b_per_wk.value * week) / rise
    for name, share in (("tawny", 2 / 3), ("pale", 1 / 3)):
        k, heads = strength("lay"), 90 * share
        factor = stats.gamma(k + share * 27 * 45, scale=1 / (k + heads * due)).mean()
        found = after.lines[name].hen.lay_a
        assert found.value == pytest.approx(hen.lay_a.value * factor, rel=1e-9)
        assert found.n_records == round(share * 27 * 45)


def test_a_farm_with_a_known_truth_is_found() -> None:
    """Simulated bird by bird, without the season's code; each figure within what chance leaves."""
    house = MobileHouse("coop", 400.0, light_h=16.0)  # light enough that only age rules the lay
    made = farm(houses={"coop": house})
    diary, truth = kept(made.lines["tawny"].hen)
    after = learn(made, fold(made, diary, utc("2030-12-31 00:00")))
    mine = after.lines["tawny"]
    assert mine.fertility.value == pytest.approx(truth["fertility"], abs=0.02)
    assert mine.hatch_of_fertile.value == pytest.approx(truth["hatch"], abs=0.03)
    assert mine.survival_first_week.value == pytest.approx(truth["first_week"], abs=0.02)
    assert mine.cockerel.survival_grower.value == pytest.approx(truth["grower"], abs=0.02)
    for age in (42, 70, 98):
        seen = by_curve(mine.cockerel.growth, age)
        assert seen == pytest.approx(
            gompertz(age, mature_kg=4.2, rate_per_d=0.021, inflection_d=truth["turn"]), rel=0.04
        )
    assert mine.cockerel.weight_cv.value == pytest.approx(0.14, rel=0.05)
    lay = mine.hen.lay_a.value / made.lines["tawny"].hen.lay_a.value
    assert lay == pytest.approx(0.8, abs=0.03)
    rows = {row.name: row for row in learned(made, after)}
    assert rows["fertility"].n == 40 * 100
    assert rows["cockerel.growth.mature_kg"].n == 40 * 3 * 20
