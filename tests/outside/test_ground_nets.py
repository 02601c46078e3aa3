"""Paddocks and stays against the independent checker, hand sums and the two published readings of room."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest
from shapely.geometry import Polygon

from ground_checker import inside, segments, segments_apart
from ground_fields import box, land, own_fields, parcel
from leyfold.ground.nets import fence, house_places, room, stays
from leyfold.nouns.land import Field, Paddock, Ring, Span

DAY = timedelta(days=1)
FIRST = date(2027, 5, 1)
OWN = {f.id: f for f in own_fields()}


@cache
def paddocks(name: str, area: float = 1250.0, net: float = 200.0) -> tuple[Paddock, ...]:
    return fence(land(OWN.get(name) or parcel(name)), area, net)


def shoelace(ring: Ring) -> float:
    x, y = np.array(ring).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def faults(field: Field, found: tuple[Paddock, ...], area: float, net: float) -> list[str]:
    """By sums over corners, distances between segments, and the even-odd rule."""
    wrong = []
    for p in found:
        a, b = segments([p.ring])
        round_it = float(np.hypot(*(b - a).T).sum())
        if abs(shoelace(p.ring)) < area * (1 - 1e-6) or abs(abs(shoelace(p.ring)) - p.area_m2) > 1e-3:
            wrong.append(f"{p.id}: {shoelace(p.ring):.1f} m2")
        if round_it > net + 1e-3 or abs(round_it - p.perimeter_m) > 1e-3:
            wrong.append(f"{p.id}: {round_it:.1f} m round")
        if segments_apart(a, b, *segments([field.outer, *field.holes])).min() < field.margin_m - 1e-3:
            wrong.append(f"{p.id}: over the margin")
        if not inside(np.array([Polygon(p.ring).representative_point().coords[0]]), [field.outer]).all():
            wrong.append(f"{p.id}: outside")
        for e in field.exclusions:
            keep = (
                segments([e.points], closed=e.shape == "ring")
                if e.shape != "point"
                else (np.array(e.points), np.array(e.points))
            )
            near = segments_apart(a, b, *keep).min() < e.buffer_m - 1e-3
            if near or inside(np.array(e.points), [p.ring]).any():
                wrong.append(f"{p.id}: in the buffer of {e.id}")
    for i, p in enumerate(found):
        for q in found[:i]:
            both = Polygon(p.ring).intersection(Polygon(q.ring)).area
            if both > 1e-3:
                wrong.append(f"{p.id} and {q.id} overlap by {both:.3f} m2")
    return wrong


@pytest.mark.parametrize("name", ["ell", "pentagon", "bean", "pond", "se-5"])
def test_paddocks_are_sound(name: str) -> None:
    field = OWN.get(name) or parcel(name)
    found = paddocks(name)
    assert found
    assert faults(field, found, 1250.0, 200.0) == []
    if name in ("pond", "bean", "se-5"):  # no ground left over, every paddock beside the one before
        assert all(p.shared_m > 2 for p in found[1:])
        usable = Polygon(field.outer).buffer(-field.margin_m)
        for e in field.exclusions:
            kind = Polygon(e.points) if e.shape == "ring" else Polygon(e.points * 3)
            usable = usable.difference((kind if e.shape == "ring" else kind.centroid).buffer(e.buffer_m))
        assert sum(p.area_m2 for p in found) == pytest.approx(usable.area, rel=0.005)


def test_the_net_checker_bites() -> None:
    found = paddocks("bean")
    assert faults(OWN["bean"], found, 1500.0, 200.0)
    assert faults(OWN["bean"], found, 1250.0, 150.0)
    assert faults(OWN["bean"], (*found, found[0]), 1250.0, 200.0)
    assert faults(OWN["trapezoid"], found, 1250.0, 200.0)


def test_a_rectangle_cut_by_hand() -> None:
    # 100 x 50 m, no margin: four paddocks of 25 x 50 or 50 x 25, each 1,250 m2 and 150 m round.
    found = fence(land(box(100.0, 50.0, margin_m=0.0)), 1250.0, 160.0)
    assert [p.area_m2 for p in found] == pytest.approx([1250.0] * 4)
    assert [p.perimeter_m for p in found] == pytest.approx([150.0] * 4)
    assert all(p.shared_m >= 25 - 1e-6 for p in found[1:])


def test_one_roll_holds_a_square_of_156_m2() -> None:
    # (50 / 4)^2 = 156.25 m2; n rolls (12.5 n)^2.
    square = box(12.5, 12.5, margin_m=0.0)
    assert [p.area_m2 for p in fence(land(square), 156.25, 50.0)] == pytest.approx([156.25])
    with pytest.raises(ValueError, match="156 m2"):
        fence(land(square), 157.0, 50.0)


def test_house_places_are_inside_and_apart() -> None:
    for p in paddocks("pond"):
        places = np.array(house_places(p.ring, 3))
        assert inside(places, [p.ring]).all()
        assert min(np.hypot(*(places[i] - places[j])) for i in range(3) for j in range(i)) > 8


def test_stays_keep_the_rest_and_the_hay() -> None:
    found = paddocks("bean")
    got = stays(found, FIRST, FIRST + 90 * DAY, shift_days=3, house_days=1, rest_days=24)
    assert [s.span.first for s in got] == [FIRST + 3 * k * DAY for k in range(30)]
    assert [s.paddock.id for s in got[:9]] == [p.id for p in found]
    left: dict[str, date] = {}
    for s in got:
        assert s.span.first - left.get(s.paddock.id, date.min) >= 24 * DAY
        left[s.paddock.id] = s.span.until
        assert [day for day, _ in s.house] == [s.span.first + k * DAY for k in range(3)]
    short = stays(found, FIRST, FIRST + 90 * DAY, shift_days=3, house_days=1, rest_days=40)
    assert short[-1].span.until == FIRST + 27 * DAY
    hay = Field(
        **{f: getattr(OWN["bean"], f) for f in ("id", "name", "outer")},
        hay_shut=(Span(FIRST + 10 * DAY, FIRST + 60 * DAY),),
    )
    assert all(
        s.span.until <= FIRST + 10 * DAY
        for s in stays(found, FIRST, FIRST + 30 * DAY, shift_days=3, house_days=3, rest_days=9, fields=(hay,))
    )


def test_both_readings_of_room() -> None:
    # Regulation 589/2008 Annex II 1(c): 10 m2 a hen over the flock's life, 2.5 m2 in the paddock in use.
    # 300 hens on nine paddocks of the bean: 4.5 to 4.8 m2 at a time, over 40 for life.
    got = stays(paddocks("bean"), FIRST, FIRST + 90 * DAY, shift_days=3, house_days=1, rest_days=24)
    now, life = room(got, 300)
    assert now == pytest.approx(min(p.area_m2 for p in paddocks("bean")) / 300)
    assert life == pytest.approx(sum(p.area_m2 for p in paddocks("bean")) / 300)
    assert 2.5 < now < 10 < life
    with pytest.raises(ValueError, match="hens"):
        room(got, 0)
