"""The lane kernel against shapely, and layouts of random fields against the independent checker."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from ground_checker import faults_of_layout
from ground_fields import SHELTER, land
from ground_peer import lane_stands, peer_ground, peer_stands
from leyfold.ground.free import Cut, free_runs, shortened
from leyfold.ground.lanes import whole
from leyfold.ground.search import edges_of
from leyfold.ground.stands import lay_out
from leyfold.nouns.land import Exclusion, Field, Footprint


@st.composite
def stars(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """Star-shaped rings of 4 to 12 corners, 6 to 40 m from their middle."""
    n = draw(st.integers(4, 12))
    out = draw(st.lists(st.floats(6, 40), min_size=n, max_size=n))
    return tuple((r * cos(2 * pi * k / n), r * sin(2 * pi * k / n)) for k, r in enumerate(out))


@settings(deadline=None)
@given(stars(), st.floats(0, 1))
def test_a_lane_holds_what_clipping_says(ring: tuple[tuple[float, float], ...], where: float) -> None:
    ground = Polygon(ring).difference(box(-2, -2, 1, 3))
    low = ground.bounds[1] + where * (ground.bounds[3] - ground.bounds[1] - SHELTER.width_m)
    runs = free_runs(edges_of(ground), np.array([low]), SHELTER.width_m)
    assert whole(runs, SHELTER.length_m).sum() == lane_stands(ground, low, SHELTER)
    for first, last in zip(runs.first_m, runs.last_m, strict=True):
        shrunk = box(first, low, last, low + SHELTER.width_m).buffer(-1e-5)
        assert shrunk.is_empty or shrunk.within(ground)


@settings(deadline=None)
@given(stars(), st.lists(st.floats(-50, 50), min_size=1, max_size=5))
def test_area_below_a_level(ring: tuple[tuple[float, float], ...], levels: list[float]) -> None:
    ground = Polygon(ring).difference(box(-2, -2, 1, 3))
    below = edges_of(ground).below_m2(np.array(levels))
    for level, got in zip(levels, below, strict=True):
        assert got == pytest.approx(ground.intersection(box(-60, -60, 60, level)).area, abs=1e-6)


@settings(deadline=None)
@given(stars(), st.floats(0, 2 * pi), st.floats(-20, 20))
def test_a_cut_leaves_runs_on_its_left(
    ring: tuple[tuple[float, float], ...], angle: float, level: float
) -> None:
    v = np.arange(-30.0, 30.0, 1.7)
    runs = shortened(free_runs(edges_of(Polygon(ring)), v, 3.0), v, 3.0, Cut(angle, level))
    for i, first, last in zip(runs.at, runs.first_m, runs.last_m, strict=True):
        for x in (first, last):
            for y in (v[i], v[i] + 3.0):
                assert -sin(angle) * x + cos(angle) * y >= level - 1e-5


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(stars(), st.floats(0, 1.5), st.floats(1.2, 4), st.floats(1.2, 4), st.booleans())
def test_any_field_is_laid_out_soundly(
    ring: tuple[tuple[float, float], ...], margin: float, length: float, width: float, well: bool
) -> None:
    keep = (Exclusion("well", "well", "point", ((1.0, 1.0),), 5.0, "test"),) if well else ()
    f = Field("f", "f", ring, exclusions=keep, margin_m=margin)
    footprint = Footprint("p", length, width)
    found = lay_out(land(f), footprint)
    area = found.areas[0]
    assert faults_of_layout(land(f), found) == []
    assert area.stands == len(found.stands) <= area.bound
    assert area.stands >= peer_stands(peer_ground(f), footprint, range(0, 180, 15)) - 1


def test_no_room_is_no_stand_and_no_error() -> None:
    narrow = Field("n", "n", ((0, 0), (40, 0), (40, 4.9), (0, 4.9)))
    gone = Field("g", "g", ((0, 0), (1, 0), (1, 1), (0, 1)))
    found = lay_out(land(narrow, gone), SHELTER)
    assert found.stands == ()
    assert (found.bound, found.gap, found.share) == (0, 0.0, 0.0)
    with pytest.raises(ValueError, match="no area"):
        lay_out(land(narrow), Footprint("p", 3.0, 0.0))


def test_directions_given_are_kept() -> None:
    f = Field("f", "f", ((0, 0), (62, 0), (50, 38), (4, 36)))
    found = lay_out(land(f), SHELTER, directions={"f": (30.0,)})
    assert len(found.strips) > 5
    for strip in found.strips:
        assert strip.angle_deg % 180 == pytest.approx(30.0)
