"""A net's record goes on meaning the ground it was put round, when paddocks are cut anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache

import numpy as np
import pytest
from shapely.geometry import Polygon

from ground_fields import box, land
from leyfold.ground.flat import to_degrees, to_metres
from leyfold.ground.nets import fence as fenced
from leyfold.ground.netted import corners_deg, net_ahead
from leyfold.log.kinds import payload
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Net
from leyfold.nouns.happened import Move
from leyfold.nouns.land import NetAhead, Paddock
from leyfold.nouns.record import Record

AT = datetime(2027, 5, 8, 4, 10, tzinfo=UTC)
NET = Net("round-the-caravan", rolls=4, roll_m=50.0, shift_d=4, house="caravan")
LAND = land(box(160.0, 100.0, margin_m=0.0))
FIRST = date(2027, 5, 3)
LAST = FIRST + timedelta(days=200)
DAY = timedelta(days=1)


@cache
def paddocks() -> tuple[Paddock, ...]:
    return fenced(LAND, 1600.0, 200.0)


def shifted(on: date, to: str | None = None) -> Move:
    return Move(on, datetime(on.year, on.month, on.day, 6, tzinfo=UTC), NET.id, to, 1, "runa")


HERE, REDRAWN = (14.40, 57.80), (14.4004, 57.7997)
"""The origin of the land as it was drawn, and with a field added."""


def anew(area_m2: float = 1250.0) -> tuple[Paddock, ...]:
    """The field cut for fewer hens, on the map as it is drawn now."""
    return tuple(
        replace(p, ring=tuple(map(tuple, to_metres(to_degrees(np.asarray(p.ring), HERE), REDRAWN))))
        for p in fenced(LAND, area_m2, 200.0)
    )


def now_in(shape: Paddock) -> Polygon:
    """Ground of the old map, on the new."""
    return Polygon(to_metres(to_degrees(np.asarray(shape.ring), HERE), REDRAWN))


def recut(today: date, shift: Move, ground: tuple[Paddock, ...]) -> NetAhead:
    return net_ahead(
        NET, ground, (), (FIRST, LAST), (shift,), today, today + 17 * DAY, shift_days=4, rest_days=28,
        fields=LAND.fields, grazed=(), moving=lambda _: True, origin=REDRAWN,
    )  # fmt: skip


@pytest.mark.parametrize("k", range(10))
def test_a_record_goes_on_meaning_the_same_ground(k: int) -> None:
    """Fewer hens, a field added: other paddocks bear the names. The net stands where it was put, and all that
    it lies on rests from when it goes."""
    was, on = paddocks()[k], FIRST + 5 * DAY
    shift = replace(shifted(on, was.id), corners_deg=corners_deg(was, HERE))
    found = recut(on + DAY, shift, anew())
    assert found.now is not None
    ground = Polygon(found.now.paddock.ring)
    assert ground.symmetric_difference(now_in(was)).area < 0.01 * was.area_m2
    assert found.coming
    for stay in found.coming:
        used = Polygon(stay.paddock.ring).intersection(ground).area / stay.paddock.area_m2
        assert used < 0.03 or stay.span.first >= on + (4 + 28) * DAY, stay.paddock.id
    # By its name alone it would stand elsewhere.
    named = recut(on + DAY, shifted(on, was.id), anew()).now
    assert named is not None
    assert k == 0 or Polygon(named.paddock.ring).symmetric_difference(ground).area > 0.1 * was.area_m2


def test_the_same_cut_on_another_map_is_the_same_paddock() -> None:
    on = FIRST + 5 * DAY
    for was, now in zip(paddocks(), anew(1600.0), strict=True):
        found = recut(on + DAY, replace(shifted(on), corners_deg=corners_deg(was, HERE)), anew(1600.0))
        assert found.now is not None
        assert found.now.paddock.id == now.id


def test_corners_that_bound_no_ground_leave_the_name() -> None:
    on, third = FIRST + 5 * DAY, anew()[2].id
    for corners in ((14.4,) * 6, (14.4, 57.8, 14.401, 57.801, 14.401, 57.8, 14.4, 57.801)):
        found = recut(on + DAY, replace(shifted(on, third), corners_deg=corners), anew())
        assert found.now is not None
        assert found.now.paddock.id == third


@pytest.mark.parametrize(
    "corners", [[14.4, 57.8, 14.5, 57.8], [14.4, 57.8] * 3 + [1.0], [14.4, 97.8] * 3, [float("nan"), 1.0] * 3]
)
def test_corners_that_are_none_are_refused(corners: list[float]) -> None:
    data = {"net": NET.id, "corners_deg": corners}
    with pytest.raises(BadInput):
        payload(Record("01MQZ94CE10000000000000001", "phone", "runa", AT, AT, "fence shifted", data))
