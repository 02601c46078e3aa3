"""Allotments against the independent checker: rest over years, no crossing, days left, laid again."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from math import cos, radians, sin

import pytest

from ground_checker import faults_of_ground, faults_of_layout, faults_of_moves
from ground_fields import SHELTER, box, land, own_fields, parcel
from leyfold.ground.again import lay_again
from leyfold.ground.allot import allot, treads
from leyfold.ground.stands import lay_out
from leyfold.ground.told import told
from leyfold.nouns.land import Field, Ground, Layout, Leg, Occupation, Span, Stand

DAY = timedelta(days=1)
FIRST = date(2027, 4, 20)
OWN = {f.id: f for f in own_fields()}


@cache
def layout(name: str) -> Layout:
    return lay_out(land(field(name)), SHELTER)


def field(name: str) -> Field:
    exact = {"hundred": 30.5, "fifty": 15.25}  # stands that fill it, in rows of ten
    if name in exact:
        return box(33.5, exact[name], name, margin_m=0.0)
    return OWN.get(name) or parcel(name)


def uses(n: int, days: int, first: date = FIRST, every: int = 1) -> list[Occupation]:
    return [Occupation(f"s{k}", first, first + days * DAY, every) for k in range(n)]


def stands_of(ground: Ground, shelter: str) -> list[Stand]:
    return [a.stand for a in ground.days if a.shelter == shelter and a.stand is not None]


def test_a_season_on_five_hectares() -> None:
    ground = allot(layout("pond"), uses(6, 164), fields=(OWN["pond"],))
    assert faults_of_ground(ground) == []
    assert faults_of_moves(ground) == []
    assert ground.runs_out is None
    assert ground.transfers == ()
    assert ground.shared == ()
    kinds = Counter(a.leg.kind for a in ground.days if a.leg)
    assert kinds["place"] == 6
    assert kinds["ahead"] + kinds["turn"] == 6 * 164 - 6
    assert kinds["turn"] <= 24
    assert ground.left_days == (len(layout("pond").stands) - 6 * 164) // 6
    begun = [stands_of(ground, f"s{k}")[:2] for k in range(6)]
    headings = {(round(b.x_m - a.x_m, 6), round(b.y_m - a.y_m, 6)) for a, b in begun}
    assert len(headings) == 1  # abreast: all set off the same way
    gate = OWN["pond"].gates[0]
    assert abs(begun[0][0].x_m - gate[0]) + abs(begun[0][0].y_m - gate[1]) < 10


YEARS = (("pond", 900), ("pentagon", 365), ("de_sh-30", 365), ("se-4", 200))


@pytest.mark.parametrize(("name", "rest"), YEARS)
def test_rest_is_kept_over_years(name: str, rest: int) -> None:
    used = ()
    for year in (2027, 2028, 2029, 2030):
        ground = allot(
            layout(name), uses(3, 80, date(year, 5, 1)), rest_days=rest, before=used, fields=(field(name),)
        )
        assert faults_of_ground(ground, used) == []
        assert faults_of_moves(ground) == []
        used += treads(ground)


def test_every_stand_is_used_before_ground_runs_out() -> None:
    ground = allot(layout("hundred"), uses(2, 50))
    assert (ground.runs_out, ground.left_days) == (None, 0)
    assert len({a.stand for a in ground.days}) == 100
    short = allot(layout("hundred"), uses(2, 51))
    assert short.runs_out == FIRST + 50 * DAY
    assert faults_of_ground(short) == []
    thirds = allot(layout("hundred"), uses(3, 33))
    assert thirds.runs_out is None
    assert thirds.shared  # ten stands a strip: thirty-three days do not end with one
    assert faults_of_ground(thirds) == []
    again = allot(layout("hundred"), uses(2, 120), rest_days=50)
    assert again.runs_out is None
    assert faults_of_ground(again) == []


def test_the_same_field_every_year_on_the_same_days() -> None:
    used = ()
    for year in (2027, 2028, 2029):
        ground = allot(layout("hundred"), uses(2, 50, date(year, 5, 1)), rest_days=365, before=used)
        assert ground.runs_out is None
        assert faults_of_ground(ground, used) == []
        used += treads(ground)


def test_ground_is_not_open_a_day_too_soon() -> None:
    last = allot(layout("hundred"), uses(2, 50, date(2026, 5, 1)))
    early = allot(layout("hundred"), uses(2, 50, date(2027, 4, 28)), rest_days=365, before=treads(last))
    assert early.runs_out == date(2027, 4, 28)
    assert min(a.on for a in early.days if a.stand) == date(2027, 5, 1)
    assert faults_of_ground(early, treads(last)) == []


def test_two_days_a_stand() -> None:
    ground = allot(layout("hundred"), uses(2, 99, every=2))
    assert ground.runs_out is None
    assert len({a.stand for a in ground.days}) == 100
    assert Counter(a.leg.kind for a in ground.days if a.leg)["stay"] == 98
    assert faults_of_ground(ground) == []


def test_two_stands_a_day() -> None:
    use = [Occupation("a", FIRST, FIRST + 50 * DAY, moves=2)]
    ground = allot(layout("hundred"), use)
    assert ground.runs_out is None
    assert len({a.stand for a in ground.days}) == 100
    assert Counter(a.nth for a in ground.days) == {0: 50, 1: 50}
    assert faults_of_ground(ground) == []


def test_transfers_are_named_and_avoided_where_ground_is_plenty() -> None:
    a = field("fifty")
    b = replace(field("hundred"), outer=tuple((x + 60, y) for x, y in field("hundred").outer))
    both = lay_out(land(a, b), SHELTER)
    plenty = allot(both, uses(2, 40), fields=(a, b))
    assert plenty.transfers == ()
    assert {stands_of(plenty, f"s{k}")[0].field for k in (0, 1)} == {"fifty", "hundred"}
    tight = allot(both, uses(2, 75), fields=(a, b))
    assert [t.shelter for t in tight.transfers] == ["s0"]
    assert tight.runs_out is None
    assert faults_of_ground(tight) == []


def test_hay_and_flood_shut_ground() -> None:
    f = replace(field("hundred"), hay_shut=(Span(FIRST, FIRST + 30 * DAY),))
    ground = allot(layout("hundred"), uses(1, 40), fields=(f,))
    assert ground.runs_out == FIRST
    assert next(a.on for a in ground.days if a.stand) == FIRST + 30 * DAY
    flood = ((0.0, 0.0), (33.5, 0.0), (33.5, 10.0), (0.0, 10.0))
    wet = allot(layout("hundred"), uses(1, 61), shut=((flood, Span(FIRST, FIRST + 60 * DAY)),))
    assert wet.runs_out is None
    low = [a.on for a in wet.days if a.stand and any(y < 10 - 1e-6 for _, y in a.stand.corners(SHELTER))]
    assert all(on >= FIRST + 60 * DAY for on in low)


def test_laid_again_after_a_skipped_move() -> None:
    plan = allot(layout("pond"), uses(6, 164), fields=(OWN["pond"],))
    on = FIRST + 31 * DAY
    standing = {f"s{k}": stands_of(plan, f"s{k}")[29] for k in range(6)}  # the move of day 30 was left out
    used = treads(plan, FIRST + 30 * DAY)
    again = lay_again(layout("pond"), plan, standing, on, uses(6, 164), before=used, fields=(OWN["pond"],))
    for k in range(6):
        assert stands_of(again, f"s{k}") == stands_of(plan, f"s{k}")[30:163]
    assert faults_of_ground(again, used) == []


def drifted(stand: Stand, ahead_m: float, aside_m: float, turned_deg: float) -> Stand:
    c, s = cos(radians(stand.angle_deg)), sin(radians(stand.angle_deg))
    return replace(
        stand,
        x_m=stand.x_m + c * ahead_m - s * aside_m,
        y_m=stand.y_m + s * ahead_m + c * aside_m,
        angle_deg=stand.angle_deg + turned_deg,
    )


@pytest.mark.parametrize("drift", [(-1.3, 0.0, 0.0), (0.8, 0.1, 4.0), (1.9, -0.2, -7.0)])
def test_laid_again_after_a_drift(drift: tuple[float, float, float]) -> None:
    f, plan = OWN["pond"], allot(layout("pond"), uses(6, 164), fields=(OWN["pond"],))
    on = FIRST + 20 * DAY
    before = [a for a in plan.days if a.on < on]
    really = {a.shelter: drifted(a.stand, *drift) for a in before if a.on == on - DAY and a.stand}
    used = tuple(
        replace(t, ring=really[t.by].corners(SHELTER)) if t.on == on - DAY else t for t in treads(plan, on)
    )
    again = lay_again(layout("pond"), plan, really, on, uses(6, 164), before=used, fields=(f,))
    assert faults_of_ground(again, used) == []
    assert again.runs_out is None
    fresh = [a.stand for a in again.days if a.stand and a.stand.id.endswith("*")]
    assert fresh
    only = replace(layout("pond"), strips=(replace(layout("pond").strips[0], stands=tuple(fresh)),))
    assert faults_of_layout(land(f), only) == []
    first = {a.shelter: a for a in again.days if a.on == on}
    for shelter, was in really.items():
        leg = first[shelter].leg
        assert leg is not None
        assert leg.kind == "ahead"
        assert leg.distance_m < 1.3 * SHELTER.length_m
        assert was.strip == first[shelter].stand.strip


def test_laid_again_round_a_flooded_patch() -> None:
    f, plan = OWN["pond"], allot(layout("pond"), uses(6, 164), fields=(OWN["pond"],))
    on = FIRST + 20 * DAY
    middle = stands_of(plan, "s2")[24]
    flood = tuple((middle.x_m + dx, middle.y_m + dy) for dx, dy in ((-7, -7), (7, -7), (7, 7), (-7, 7)))
    standing = {a.shelter: a.stand for a in plan.days if a.on == on - DAY and a.stand}
    used = treads(plan, on)
    shut = ((flood, Span(on, on + 400 * DAY)),)
    again = lay_again(layout("pond"), plan, standing, on, uses(6, 164), before=used, fields=(f,), shut=shut)
    assert faults_of_ground(again, used) == []
    assert again.runs_out is None
    assert "skip" in {a.leg.kind for a in again.days if a.leg}
    for a in again.days:
        assert a.stand is not None
        assert abs(a.stand.x_m - middle.x_m) > 7 or abs(a.stand.y_m - middle.y_m) > 7


def test_the_ground_checker_bites() -> None:
    ground = allot(layout("hundred"), uses(2, 50))
    a, b = ground.days[0], ground.days[20]
    twice = (*ground.days[:20], replace(b, stand=a.stand), *ground.days[21:])
    assert faults_of_ground(replace(ground, days=twice))
    assert faults_of_ground(ground, treads(ground, FIRST + DAY))
    over = [s for s in stands_of(ground, "s0") if s.index in (0, 2)][:2]
    between = next(s for s in stands_of(ground, "s0") if s.index == 1 and s.strip == over[0].strip)
    days = (
        replace(a, shelter="p", stand=over[0], leg=Leg("place", 0.0)),
        replace(a, shelter="q", stand=between, leg=Leg("place", 0.0)),
        replace(a, shelter="p", stand=over[1], on=a.on + DAY, leg=Leg("skip", 6.7)),
    )
    assert faults_of_moves(replace(ground, days=days))


def test_told_in_pegs_and_paces() -> None:
    ground = allot(layout("hundred"), uses(1, 12))
    days = ground.days
    assert told(days[0], None) == "s0: begins on peg 1 of strip 1 in hundred."
    assert told(days[1], days[0].stand) == "s0: straight ahead, 3.4 m (4 paces) east, to peg 2 of strip 1."
    assert told(days[10], days[9].stand) == (
        "s0: end of the strip; turn about into the next, 3.0 m (4 paces) north, to peg 10 of strip 2."
    )
    assert told(replace(days[0], stand=None, leg=None), None) == "s0: no rested ground is left for it today."
