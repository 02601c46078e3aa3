"""Layouts against an independent checker, a plain second search, known optima and published parcels."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from ground_checker import faults_of_layout, segments, segments_apart
from ground_fields import SHELTER, box, features, land, own_fields, parcel, turned
from ground_peer import peer_ground, peer_stands
from leyfold.ground.inset import grown, inset, outline, polygons
from leyfold.ground.stands import lay_out
from leyfold.nouns.land import Exclusion, Field, Footprint, Layout

SOME = ("se-3", "se-7", "se-4", "de_sh-30", "dk-70", "nl-16", "at-32", "fi-97")
OWN = {f.id: f for f in own_fields()}


def field(name: str) -> Field:
    return OWN[name] if name in OWN else parcel(name)


@cache
def layout(name: str) -> Layout:
    return lay_out(land(field(name)), SHELTER)


@pytest.mark.parametrize("name", [*SOME, "trapezoid", "ell", "pentagon", "bean"])
def test_sound_and_more_than_lanes_every_five_degrees(name: str) -> None:
    found = layout(name)
    assert faults_of_layout(land(field(name)), found) == []
    plain, area = peer_stands(peer_ground(field(name)), SHELTER), found.areas[0]
    assert area.stands <= area.bound
    assert area.stands >= plain
    assert area.stands > plain or area.bound == plain


def test_the_checker_bites() -> None:
    f = OWN["trapezoid"]
    good = layout("trapezoid")
    strip = max(good.strips, key=lambda s: len(s.stands))

    def with_first(**moved: float) -> list[str]:
        stand = replace(strip.stands[0], **moved)
        strips = [replace(s, stands=(stand, *s.stands[1:])) if s is strip else s for s in good.strips]
        return faults_of_layout(land(f), replace(good, strips=tuple(strips)))

    assert with_first(x_m=-100.0)
    assert with_first(x_m=strip.stands[1].x_m, y_m=strip.stands[1].y_m)
    assert with_first(angle_deg=strip.angle_deg + 20)
    middle = strip.stands[2]
    for shape, points in (
        ("point", ((middle.x_m, middle.y_m),)),
        ("line", ((middle.x_m - 1, middle.y_m), (middle.x_m + 60, middle.y_m))),
        ("ring", ((middle.x_m, middle.y_m), (middle.x_m + 0.1, middle.y_m), (middle.x_m, middle.y_m + 0.1))),
    ):
        taken = replace(f, exclusions=(Exclusion("x", "well", shape, points, 0.5, "test"),))
        assert faults_of_layout(land(taken), good)
    assert faults_of_layout(land(replace(f, margin_m=1.2)), good)


@pytest.mark.parametrize("angle", [0.0, 17.3, 45.0, 90.0, 121.7])
def test_rectangles_and_an_ell_that_fit_exactly_are_filled(angle: float) -> None:
    ten = ((0.0, 0.0), (33.5, 0.0), (33.5, 30.5), (0.0, 30.5))
    ell = ((0.0, 0.0), (33.5, 0.0), (33.5, 15.25), (16.75, 15.25), (16.75, 30.5), (0.0, 30.5))
    for ring, best in ((ten, 100), (ell, 75)):
        f = Field("f", "f", turned(ring, angle, (40.0, -7.0)), margin_m=0.0)
        area = lay_out(land(f), SHELTER).areas[0]
        assert (area.stands, area.bound, area.gap) == (best, best, 0.0)


def test_a_rectangle_that_wants_two_directions() -> None:
    # 3 x 2 m stands on 11 x 5 m, 9.17 by area: lying along the long side 3 in each of 2 rows, upright 5 in
    # one; 3 lying in the lower 2 m and 5 upright in the 3 m above make 8.
    f = box(11.0, 5.0, margin_m=0.0)
    assert lay_out(land(f), Footprint("f", 3.0, 2.0)).areas[0].stands == 8


@pytest.mark.parametrize("name", ["trapezoid", "pentagon", "se-4"])
def test_turning_and_shifting_a_field_changes_only_coordinates(name: str) -> None:
    f, plain = field(name), layout(name)
    for angle, by in ((0.0, (812.5, -90.25)), (33.1, (0.0, 0.0)), (207.9, (-14.0, 2000.0))):

        def move(ring: tuple[tuple[float, float], ...], angle: float = angle, by: tuple[float, float] = by):
            return turned(ring, angle, by)

        there = replace(
            f,
            outer=move(f.outer),
            holes=tuple(map(move, f.holes)),
            exclusions=tuple(replace(e, points=move(e.points)) for e in f.exclusions),
        )
        moved = lay_out(land(there), SHELTER)
        assert [s.id for s in moved.stands] == [s.id for s in plain.stands]
        want = move(tuple((s.x_m, s.y_m) for s in plain.stands))
        for s, (x, y), was in zip(moved.stands, want, plain.stands, strict=True):
            assert (s.x_m, s.y_m) == pytest.approx((x, y), abs=1e-5)
            assert (s.angle_deg - was.angle_deg - angle + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("name", sorted(features()))
def test_parcels_have_their_registers_area_and_perimeter(name: str) -> None:
    # Areas and perimeters as measured in the register's own projection, carried in the file.
    said, shape = features()[name]["properties"], outline(parcel(name))
    assert shape.area == pytest.approx(said["planar_area_m2"], rel=1e-3)
    assert shape.length == pytest.approx(said["perimeter_m"], rel=1e-3)


# Inward buffers with round joins of 2, 5 and 10 m, m2 and parts, made once from the registers' files.
INSETS = {
    "se-3": ((2889, 1), (2250, 1), (1344, 1)),
    "se-7": ((3795, 1), (3044, 1), (1959, 1)),
    "se-5": ((20516, 1), (18455, 1), (15180, 1)),
    "de_sh-51": ((25548, 1), (19516, 1), (9761, 1)),
    "de_sh-30": ((3972, 2), (2077, 3), (623, 1)),
    "de_sh-55": ((6292, 1), (3286, 8), (920, 4)),
    "dk-70": ((8736, 1), (7343, 1), (5301, 1)),
    "nl-16": ((2966, 1), (1210, 1), (0, 0)),
    "at-91": ((5319, 2), (4031, 1), (2166, 1)),
    "fi-97": ((2915, 3), (1269, 3), (309, 1)),
}


@pytest.mark.parametrize("name", sorted(INSETS))
def test_no_inset_comes_nearer_than_its_margin(name: str) -> None:
    for margin in (0.5, 2.0, 10.0):
        f = parcel(name, margin)
        for part in inset(f).geoms:
            for ring in (part.exterior, *part.interiors):
                apart = segments_apart(*segments([tuple(ring.coords)]), *segments([f.outer, *f.holes]))
                assert apart.min() >= margin - 1e-6


@pytest.mark.parametrize("name", sorted(INSETS))
def test_insets(name: str) -> None:
    # Our inset errs inward by up to 5 mm along curved edges: beside 0.1 % that strip is allowed.
    shape = outline(parcel(name))
    for margin, (m2, parts) in zip((2.0, 5.0, 10.0), INSETS[name], strict=True):
        got = grown(shape, -margin)
        assert got.area == pytest.approx(m2, rel=1e-3, abs=0.5 + 0.005 * got.length)
        assert len([p for p in polygons(got) if p.area > 1e-3]) == parts
