"""What must hold of a rigid frame on any ground."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.ground.gap import rest, skirt

around = skirt(3.35, 3.05, 0.25)
X, Y = around.points.T
seeds = st.integers(0, 2**32 - 1)
tilts = st.tuples(st.floats(-50, 50), st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))


def ground(seed: int, rough_m: float = 0.03) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, rough_m, len(X))


@given(seeds, tilts)
@settings(max_examples=80, deadline=None)
def test_tilting_the_ground_changes_no_gap(seed: int, tilt: tuple[float, float, float]) -> None:
    a, b, c = tilt
    z = ground(seed)
    plain, tilted = rest(around, z), rest(around, z + a + b * X + c * Y)
    assert tilted.gaps_m.max() == pytest.approx(plain.gaps_m.max(), abs=1e-6)
    assert tilted.planes[0] == pytest.approx(plain.planes[0] + tilt, abs=1e-5)


@given(seeds, st.floats(0.01, 100))
@settings(max_examples=40, deadline=None)
def test_ground_twice_as_rough_gaps_twice(seed: int, times: float) -> None:
    z = ground(seed)
    plain = rest(around, z).gaps_m.max()
    assert rest(around, times * z).gaps_m.max() == pytest.approx(times * plain, rel=1e-5)


@given(seeds)
@settings(max_examples=80, deadline=None)
def test_it_rests_on_the_ground_about_its_middle(seed: int) -> None:
    lies = rest(around, ground(seed))
    gaps = lies.gaps_m[0]
    assert gaps.min() >= 0
    bearing = around.points[gaps < 1e-6]
    assert len(bearing) >= 2
    # No line through the middle has all bearing points strictly on one side: else it would tip.
    for angle in np.linspace(0, np.pi, 90):
        beside = bearing @ (np.cos(angle), np.sin(angle))
        assert beside.min() <= 1e-6
        assert beside.max() >= -1e-6


@given(seeds, st.integers(0, len(X) - 1), st.floats(0, 0.2))
@settings(max_examples=60, deadline=None)
def test_raising_the_ground_never_lowers_the_middle(seed: int, at: int, by_m: float) -> None:
    z = ground(seed)
    raised = z.copy()
    raised[at] += by_m
    assert rest(around, raised).planes[0, 0] >= rest(around, z).planes[0, 0] - 1e-9


@given(st.lists(seeds, min_size=2, max_size=20))
@settings(max_examples=20, deadline=None)
def test_stands_do_not_disturb_one_another(many: list[int]) -> None:
    together = rest(around, np.array([ground(seed) for seed in many]))
    for k, seed in enumerate(many):
        assert together.planes[k] == pytest.approx(rest(around, ground(seed)).planes[0], abs=1e-12)


@pytest.mark.parametrize("size", [(0.0, 1.0, 0.1), (1.0, -1.0, 0.1), (1.0, 1.0, 0.0)])
def test_no_frame_without_sides(size: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="above 0"):
        skirt(*size)
