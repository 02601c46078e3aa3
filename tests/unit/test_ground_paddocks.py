"""How paddocks are cut: where a piece of given area ends, and that no way worth taking is passed over."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from ground_fields import land
from leyfold.ground import nets
from leyfold.ground.search import edges_of
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Field

CORNERS = st.lists(
    st.tuples(st.integers(-60, 60), st.integers(-60, 60)).map(lambda p: (p[0] / 1.0, p[1] / 1.0)),
    min_size=4,
    max_size=9,
    unique=True,
)


@given(CORNERS, st.lists(st.floats(0.001, 1.0), min_size=1, max_size=6))
def test_a_level_has_its_area_below_it(corners: list[tuple[float, float]], shares: list[float]) -> None:
    hull = shapely.MultiPoint(corners).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 1.0:
        return
    # A notch makes the ground more than one run along x.
    x0, y0, x1, y1 = hull.bounds
    notch = shapely.box(x0, (y0 + y1) / 2, (x0 + x1) / 2, (y0 + y1) / 2 + 1.0)
    part = max(nets.polygons(hull.difference(notch)), key=lambda p: p.area)
    wanted = part.area * np.sort(np.array(shares))
    levels = np.array(nets.levels(part, wanted))
    below = edges_of(part).turned(-pi / 2).below_m2(levels)
    assert np.allclose(below, wanted, rtol=0, atol=1e-6 * part.area)
    assert (np.diff(levels) >= -1e-9).all()
    assert part.bounds[0] - 1e-9 <= levels.min()
    assert levels.max() <= part.bounds[2] + 1e-9


FIELDS = {
    "square": ((0.0, 0.0), (120.0, 0.0), (120.0, 120.0), (0.0, 120.0)),
    "wedge": ((0.0, 0.0), (150.0, 10.0), (140.0, 60.0), (10.0, 90.0)),
    "ell": ((0.0, 0.0), (140.0, 0.0), (140.0, 50.0), (60.0, 50.0), (60.0, 130.0), (0.0, 130.0)),
}
POND = ((40.0, 20.0), (52.0, 20.0), (52.0, 30.0), (40.0, 30.0))


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("area_m2", [400.0, 900.0, 1700.0])
def test_the_ways_left_out_fence_less(name: str, area_m2: float) -> None:
    grounds, net_m = nets.turned(Field(name, name, FIELDS[name], (POND,)), ()), 200.0
    every = []
    for ground in grounds:
        for many in nets.strip_counts(ground.flat.bounds, area_m2, net_m):
            pieces = nets.cut(ground.in_strips(many), area_m2, net_m)
            every.append((round(sum(p.area for p in pieces), 3), ground.angle_rad, pieces))
    most = max(area for area, _, _ in every)
    good = [(angle, pieces) for area, angle, pieces in every if area >= nets.NEAR_BEST * most > 0]
    assert nets.best_ways(grounds, area_m2, net_m) == good


@pytest.mark.parametrize("name", FIELDS)
def test_strips_kept_for_one_size_are_those_of_another(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    ground = land(Field(name, name, FIELDS[name], (POND,)))
    one_after_the_other = [nets.fence(ground, area, 200.0) for area in (900.0, 890.0, 1700.0)]
    monkeypatch.setattr(Kept, "get", lambda _, __, make: make())
    assert one_after_the_other == [nets.fence(ground, area, 200.0) for area in (900.0, 890.0, 1700.0)]
