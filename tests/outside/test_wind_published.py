"""Wind on shelters against worked examples of EN 1991-1-4 and statics written out again; pulling by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from leyfold.nature import pull, wind
from leyfold.nature.wind import CASES, TERRAINS


@pytest.mark.parametrize(
    ("terrain", "basic", "height", "pascal", "rel"),
    [
        ("IV", 26, 9, 497, 1e-3),  # worked example: k_r 0.234, c_r 0.54, I_v 0.434, q_p 0.497 kPa
        ("III", 22, 7.02, 449, 1e-3),  # worked example: k_r 0.21539, v_m 14.939, I_v 0.31718, q_p 0.449 kPa
        ("0", 25, 77.36, 1658, 1e-3),  # worked example: v_m 39.624, I_v 0.098, q_p 1.658 kPa
        ("II", 26, 10, 2.35 * 0.5 * 1.25 * 26**2, 2e-3),  # exposure factor 2.35 of figure 4.2
    ],
)
def test_peak_pressure_of_published_examples(terrain, basic, height, pascal, rel):
    """Public calculation sheets to EN 1991-1-4; the printed digits."""
    assert wind.peak_pressure_pa(basic, height, *TERRAINS[terrain]) == pytest.approx(pascal, rel=rel)


def test_factors_of_published_examples():
    assert wind.terrain_factor(1.0) == pytest.approx(0.234, abs=5e-4)
    assert wind.terrain_factor(0.3) == pytest.approx(0.21539, abs=6e-6)
    assert wind.roughness_factor(9, 1.0, 10) == pytest.approx(0.54, abs=5e-4)
    assert 22 * wind.roughness_factor(7.02, 0.3, 5) == pytest.approx(14.939, abs=1e-3)
    assert 25 * wind.roughness_factor(77.36, 0.003, 1) == pytest.approx(39.624, abs=0.01)
    assert wind.turbulence_intensity(7.02, 0.3, 5) == pytest.approx(0.31718, abs=1e-5)


def test_pressure_at_a_shelter():
    """0.6 m is under every least height; by an independent script, terrains I, II, III."""
    printed = {22: (465.9, 430.6, 387.5), 24: (554.4, 512.4, 461.1), 26: (650.7, 601.4, 541.2)}
    for basic, row in printed.items():
        got = [float(wind.peak_pressure_pa(basic, 0.6, *TERRAINS[t])) for t in ("I", "II", "III")]
        np.testing.assert_allclose(got, row, atol=0.06)
    gust = wind.gust_at_shelter_m_per_s(30.0, 0.6, *TERRAINS["II"])
    assert gust == pytest.approx(30 * np.sqrt(430.585 / wind.peak_pressure_pa(22, 10, *TERRAINS["II"])))
    assert wind.gust_at_shelter_m_per_s(30.0, 10.0, *TERRAINS["II"]) == pytest.approx(30)


# A 90 kg shelter, 3.35 m along the wind and 0.6 high, its half of metal (5.109 m2) to windward save in the
# last; gusts of sliding, tipping and lifting [m/s] and anchors (windward, lee) at 25 and 30 m/s [N]: worked
# by an independent script from the statics of both edges.
SHELTER = {"depth_m": 3.35, "height_m": 0.6, "roof_m2": 5.109, "mass_centre_m": 1.675}
WORKED = [
    ("closed", 0.915, 0.75, (15.5, 16.0, 19.9), (1301, 2223), (611, 39, 967, 144)),
    ("open_windward", 0.915, 0.75, (12.6, 11.8, 14.6), (3097, 4809), (1285, 264, 1937, 467)),
    ("open_windward_edge", 0.915, 0.75, (11.1, 10.1, 12.4), (4594, 6964), (1846, 451, 2746, 737)),
    ("open_roof", 0.549, 0.75, (20.5, 19.1, 23.5), (702, 1361), (371, 0, 622, 58)),
    ("open_roof_blocked", 0.549, 0.75, (13.8, 11.9, 14.6), (3097, 4809), (1269, 279, 1915, 489)),
    ("lee", 0.915, 0.25, (13.8, 13.7, 16.6), (2199, 3516), (200, 900, 375, 1383)),
]


def coefficients(case):
    return (1.0, 1.0) if case == "lee" else CASES[case]


@pytest.mark.parametrize(("case", "front", "centre", "gusts", "uplift", "anchors"), WORKED)
def test_worked_shelter(case, front, centre, gusts, uplift, anchors):
    lift, drag = coefficients(case)
    kw = SHELTER | {"front_m2": front, "lift": lift, "drag": drag, "uplift_centre_m": centre * 3.35}
    got = wind.gusts_borne(90, **kw)
    tips = min(float(got.tip_lee), float(got.tip_windward))
    np.testing.assert_allclose([got.slide, tips, got.lift], gusts, atol=0.11)
    for gust, total, (windward, lee) in zip((25, 30), uplift, (anchors[:2], anchors[2:]), strict=True):
        load = wind.anchor_load_n(gust, 90, **kw)
        assert load.total_uplift_n == pytest.approx(total, abs=2)
        np.testing.assert_allclose([load.windward_n, load.lee_n], [windward, lee], atol=8)


@pytest.mark.parametrize(("case", "front", "centre"), [row[:3] for row in WORKED])
def test_statics_written_out_again(case, front, centre):
    """Forces as vectors, moments as cross products about each edge, roots by bisection."""
    lift, drag = coefficients(case)
    x_mass, mass = 1.4, 130.0
    kw = SHELTER | {"front_m2": front, "lift": lift, "drag": drag, "uplift_centre_m": centre * 3.35}
    got = wind.gusts_borne(mass, **kw | {"mass_centre_m": x_mass}, friction=0.35)

    def forces(v):
        q = 0.5 * 1.25 * v * v  # x from the lee edge against the wind, z up; the wind pushes towards the lee
        return [
            (np.array([x_mass, 0.0]), np.array([0.0, -mass * 9.81])),
            (np.array([centre * 3.35, 0.6]), np.array([0.0, q * lift * 5.109])),
            (np.array([3.35, 0.3]), np.array([-q * drag * front, 0.0])),
        ]

    def moment(v, edge):
        return sum((p[0] - edge) * f[1] - p[1] * f[0] for p, f in forces(v))

    assert got.tip_lee == pytest.approx(brentq(lambda v: moment(v, 0.0), 0.1, 90), rel=1e-6)
    assert got.tip_windward == pytest.approx(brentq(lambda v: moment(v, 3.35), 0.1, 90), rel=1e-6)

    def slides(v):
        down = -sum(f[1] for _, f in forces(v))
        return 0.35 * down - abs(sum(f[0] for _, f in forces(v)))

    assert got.slide == pytest.approx(brentq(slides, 0.1, 90), rel=1e-6)
    # At rest on two pairs of anchors, all forces and moments cancel (factors 1, none slack).
    load = wind.anchor_load_n(60, mass, **kw | {"mass_centre_m": x_mass}, wind_factor=1.0, weight_factor=1.0)
    pulls = [(3.35, load.windward_n), (0.0, load.lee_n)]
    if min(load.windward_n, load.lee_n) > 0:
        assert sum(2 * n for _, n in pulls) == pytest.approx(load.total_uplift_n)
        assert sum(-2 * n * x for x, n in pulls) + moment(60, 0.0) == pytest.approx(0, abs=1e-6)


def test_a_light_lee_roof_tips_the_other_way():
    """Metal to leeward: the lee edge lifts at 13.7 m/s about the windward one; a sum about the lee edge alone
    would say 22.8."""
    got = wind.gusts_borne(90, **SHELTER, front_m2=0.915, lift=1.0, drag=1.0, uplift_centre_m=0.25 * 3.35)
    assert got.tip_windward == pytest.approx(13.7, abs=0.05)
    assert got.tip_lee == pytest.approx(22.8, abs=0.05)
    assert got.first == min(got)


def test_canopy_of_table_7_6():
    """EN 1991-1-4 table 7.6, overall coefficients at 0, 5 and 10 degrees; free row as BS 6399-2 table 13."""
    down, free = wind.canopy_coefficients([0, 5, 10], 0.0)
    np.testing.assert_allclose(down, [0.2, 0.4, 0.5])
    np.testing.assert_allclose(free, [-0.5, -0.7, -0.9])
    np.testing.assert_allclose(wind.canopy_coefficients([0, 5, 10], 1.0)[1], [-1.3, -1.4, -1.4])
    assert wind.canopy_coefficients(2.5, 0.5)[1] == pytest.approx(-0.975)


def test_pulling_a_shelter():
    """90 kg on skids, by hand: level, 5 % up, the best rope, half the load on wheels."""
    mu = np.array([0.30, 0.35, 0.45, 0.60])
    np.testing.assert_allclose(pull.pull_n(90, friction=mu), [265, 309, 397, 530], atol=0.5)
    np.testing.assert_allclose(pull.pull_n(90, friction=mu, slope_share=0.05), [309, 353, 441, 573], atol=0.5)
    rope = pull.best_rope_n(90, friction=mu)
    np.testing.assert_allclose(rope.force_n, [254, 292, 362, 454], atol=0.5)
    np.testing.assert_allclose(rope.angle_deg, [16.7, 19.3, 24.2, 31.0], atol=0.05)
    np.testing.assert_allclose(pull.wheeled_pull_n(90, friction=mu), [177, 199, 243, 309], atol=0.5)
    for m, force, angle in zip(mu, *rope, strict=True):
        tried = minimize_scalar(
            lambda a, m=m: m * 90 * 9.81 / (np.cos(a) + m * np.sin(a)), bounds=(0, 1), method="bounded"
        )
        assert force == pytest.approx(tried.fun, rel=1e-6)
        assert angle == pytest.approx(np.degrees(tried.x), abs=0.01)


def test_guidance_of_the_health_and_safety_executive():
    """L23: 200 N men and 150 N women to start, 100 and 70 to keep going. One man starts 45.3 kg, one woman
    34.0 at friction 0.45; 90 kg take two men on dry grass."""
    for who, most_kg in (("men", 45.3), ("women", 34.0)):
        start = pull.GUIDANCE_N[who]["start"]
        assert pull.pull_n(most_kg, friction=0.45) == pytest.approx(start, abs=0.5)
        assert pull.people_needed(pull.pull_n(most_kg - 0.1, friction=0.45), one_n=start) == 1
        assert pull.people_needed(pull.pull_n(most_kg + 0.1, friction=0.45), one_n=start) == 2
    assert pull.people_needed(309, one_n=200) == 2
