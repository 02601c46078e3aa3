"""How paddocks are cut: where a piece of given area ends, and that no way worth taking is passed over."""

from __future__ import annotations

from math import degrees, pi

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import Polygon

from leyfold.ground import nets
from leyfold.ground.inset import GRID_M, inset
from leyfold.ground.search import edges_of
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
    field = Field(name, name, FIELDS[name], (POND,))
    ground, net_m = inset(field), 200.0
    every = []
    for angle in nets.directions(field):
        flat = shapely.set_precision(rotate(ground, -degrees(angle), origin=(0, 0)), GRID_M)
        for many in nets.strip_counts(flat.bounds, area_m2, net_m):
            marks = np.linspace(flat.bounds[1], flat.bounds[3], many + 1)
            pieces = nets.cut(flat, marks, area_m2, net_m)
            every.append((round(sum(p.area for p in pieces), 3), angle, pieces))
    most = max(area for area, _, _ in every)
    good = [(angle, pieces) for area, angle, pieces in every if area >= nets.NEAR_BEST * most > 0]
    assert nets.best_ways(field, ground, area_m2, net_m) == good
