"""The gap under a rigid skirt against closed forms and against a general solver of linear programmes.

On a surface k r² about the middle, a frame of length L stands open by k (L/2)² at the middle of its long
side in a hollow (k > 0), and at its ends on a hump (k < 0): the sagitta of a chord, L²/8R with R = 1/2|k|.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from leyfold.ground.gap import boards_to_bring, rest, skirt, skirt_gaps
from leyfold.ground.terrain import height_at
from leyfold.nouns.land import Footprint, SkirtGap, Stand, Terrain

LENGTH, WIDTH = 3.35, 3.05
FINE = skirt(LENGTH, WIDTH, 0.005)
X, Y = FINE.points.T
R2 = X * X + Y * Y


def worst(heights: NDArray[np.float64]) -> float:
    return float(rest(FINE, heights).gaps_m.max())


def test_a_plane_leaves_no_gap() -> None:
    lies = rest(FINE, 0.08 * X + 0.03 * Y + 17.0)
    assert lies.gaps_m.max() < 1e-9
    assert lies.planes[0] == pytest.approx([17.0, 0.08, 0.03], abs=1e-9)
    assert not lies.rocks[0]


@pytest.mark.parametrize("k", [0.01, -0.01])
def test_hollow_and_hump_by_the_sagitta(k: float) -> None:
    radius = 1 / (2 * abs(k))
    assert worst(k * R2) == pytest.approx(LENGTH**2 / (8 * radius), abs=1e-6)
    assert worst(k * R2) == pytest.approx(0.02806, abs=1e-5)


def test_ruts_by_twice_their_amplitude() -> None:
    lies = rest(FINE, 0.03 * np.sin(np.pi * X))
    assert lies.gaps_m.max() == pytest.approx(0.06, abs=2e-5)
    assert (lies.gaps_m > 0.05).mean() == pytest.approx(0.396, abs=0.005)


def test_a_twist_rocks_about_a_diagonal() -> None:
    # z = kxy: the frame lies on two corners; level it stands k L W / 2 open at the others, tipped twice that.
    lies = rest(FINE, 0.02 * X * Y)
    assert lies.rocks[0]
    assert lies.gaps_m.max() == pytest.approx(0.02 * LENGTH * WIDTH / 2, abs=1e-6)
    assert lies.tipped_m[0] == pytest.approx(0.02 * LENGTH * WIDTH, abs=1e-6)


@pytest.mark.parametrize("side", [1, -1])
def test_a_stone_stops_one_way_of_rocking_not_the_other(side: int) -> None:
    stone = 0.06 * ((np.abs(X) < 0.01) & (np.sign(Y) == side))
    lies = rest(FINE, 0.02 * X * Y + stone)
    assert lies.rocks[0]
    assert lies.tipped_m[0] == pytest.approx(0.02 * LENGTH * WIDTH, abs=1e-6)


def test_many_profiles_as_a_general_solver_has_them() -> None:
    around = skirt(LENGTH, WIDTH, 0.1)
    rng = np.random.default_rng(6)
    rough = rng.normal(size=(60, len(around.points))).cumsum(axis=1) * 0.01
    waves = [np.sin(k * around.points @ rng.normal(size=2)) for k in range(1, 5)]
    heights = np.vstack((rough, rng.normal(0, 0.02, (60, 4)) @ waves))
    lies = rest(around, heights)
    rows = np.column_stack((np.ones(len(around.points)), around.points))
    for k, z in enumerate(heights):
        solved = linprog([1, 0, 0], A_ub=-rows, b_ub=-z, bounds=[(None, None)] * 3)
        assert lies.planes[k, 0] == pytest.approx(solved.x[0], abs=1e-6)
        # Among all lowest planes the one with the smallest worst gap: a second programme, the height held.
        none, one = np.zeros((len(rows), 1)), np.ones((len(rows), 1))
        least = linprog(
            [0, 0, 0, 1],
            A_ub=np.block([[-rows, none], [rows, -one]]),
            b_ub=np.concatenate((-z, z)),
            A_eq=[[1, 0, 0, 0]],
            b_eq=[solved.x[0] + 1e-9],
            bounds=[(None, None)] * 4,
        )
        assert lies.gaps_m[k].max() == pytest.approx(least.x[3], abs=1e-5)


def test_heights_far_above_the_sea_and_turned_stands() -> None:
    # A cylinder along the north: across it the frame bridges, along it nothing shows. L²/8R again.
    cell, size = 0.05, 200
    x = -5 + (np.arange(size) + 0.5) * cell
    terrain = Terrain(-5.0, 5.0, cell, np.tile(812.0 + 0.02 * x**2, (size, 1)))
    stands = [Stand(str(a), "f", "s", 0, 0.0, 0.0, a) for a in (0.0, 90.0)]
    across, along = skirt_gaps(stands, Footprint("p", 4.0, 2.0), terrain)
    assert across is not None
    assert along is not None
    assert across.worst_m == pytest.approx(0.02 * 4, abs=1e-4)
    assert along.worst_m == pytest.approx(0.02 * 1, abs=1e-4)
    # Open by more than 25 mm where x² < 4 - 0.025/0.02: 3.317 m on both long sides, a step either end.
    assert across.boards_m == pytest.approx((3.317, 3.317), abs=0.1)
    assert along.boards_m == ()


@pytest.mark.parametrize("angle", [30.0, 120.0, 205.0])
def test_a_hollow_way_at_any_angle(angle: float) -> None:
    cell, size = 0.05, 200
    x = -5 + (np.arange(size) + 0.5) * cell
    across = np.cos(np.radians(angle)) * x[None, :] + np.sin(np.radians(angle)) * -x[:, None]
    terrain = Terrain(-5.0, 5.0, cell, 0.02 * across**2)
    (gap,) = skirt_gaps([Stand("a", "f", "s", 0, 0.3, -0.2, angle)], Footprint("p", 4.0, 2.0), terrain)
    assert gap is not None
    assert gap.worst_m == pytest.approx(0.02 * 4, abs=2e-4)


def test_ground_unknown_is_not_ground_level() -> None:
    heights = np.zeros((10, 10))
    heights[4, 4] = np.nan
    terrain = Terrain(0.0, 10.0, 1.0, heights)
    stand = Stand("a", "f", "s", 0, 5.0, 5.0, 0.0)
    assert skirt_gaps([stand], Footprint("p", 2.0, 2.0), terrain) == (None,)
    assert np.isnan(height_at(terrain, np.array([-3.0]), np.array([5.0]))).all()
    with pytest.raises(ValueError, match="known"):
        rest(FINE, np.full(len(X), np.nan))


def test_the_boards_carried_close_every_stand() -> None:
    def gap(*boards: float) -> SkirtGap:
        return SkirtGap("s", 0.1, (0.0, 0.0), boards, False, 0.1)

    assert boards_to_bring([gap(2.0, 0.5), None, gap(1.0, 0.9, 0.2), gap()]) == (2.0, 0.9, 0.2)
