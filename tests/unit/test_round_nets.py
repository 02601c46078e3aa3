"""The net round the hens' house on the round: when it is shifted, where to, who must not have been there."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import pairwise
from math import cos, hypot, pi, sin
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from ground_fields import box, land
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.ground.nets import fence as fenced
from leyfold.ground.nets import stays
from leyfold.ground.netted import grazed, net_ahead
from leyfold.log.fold import fold
from leyfold.nouns.farm import Net
from leyfold.nouns.happened import Move
from leyfold.nouns.land import Grazed, NetAhead, Paddock
from leyfold.nouns.record import Record
from leyfold.nouns.round import Call, Round
from leyfold.round.entry import entered
from leyfold.round.fences import fence, house_move, net_dues, net_left, no_ground, sides
from leyfold.services.opened import open_farm
from leyfold.services.round import rounds_of
from web import copy_of_demo

DEMO = Path(__file__).parents[2] / "examples" / "demo"
FARM = read_farm(Texts(DEMO))
NET = Net("round-the-caravan", rolls=4, roll_m=50.0, shift_d=4, house="caravan")
LAND = land(box(160.0, 100.0, margin_m=0.0))
FIRST = date(2027, 5, 3)
LAST = FIRST + timedelta(days=200)
DAY = timedelta(days=1)
HENS = 58


@cache
def paddocks() -> tuple[Paddock, ...]:
    found = fenced(LAND, 1600.0, 200.0)
    assert len(found) == 10
    return found


def planned(shift: int = 4) -> Any:
    return stays(paddocks(), FIRST, LAST, shift_days=shift, house_days=1, rest_days=28)


def shifted(on: date, to: str | None = None) -> Move:
    return Move(on, datetime(on.year, on.month, on.day, 6, tzinfo=UTC), NET.id, to, 1, "runa")


def ahead(
    today: date, shifts: tuple[Move, ...] = (), *, cows: tuple[Grazed, ...] = (), rest: int = 28,
    ground: tuple[Paddock, ...] | None = None, moving: Any = lambda _: True,
) -> NetAhead:  # fmt: skip
    own = paddocks() if ground is None else ground
    return net_ahead(
        NET, own, planned() if own else (), (FIRST, LAST), shifts, today, today + 17 * DAY,
        shift_days=4, rest_days=rest, fields=LAND.fields, grazed=cows, moving=moving, there=True,
    )  # fmt: skip


def days(found: NetAhead, first: date, many: int = 14) -> list[date]:
    return [d for k in range(many) if fence(FARM, found, d := first + k * DAY, HENS) is not None]


# When


def test_without_a_record_it_follows_the_plan_from_its_first_day() -> None:
    found = ahead(FIRST + 2 * DAY)
    assert days(found, FIRST + 2 * DAY) == [FIRST + k * DAY for k in (4, 8, 12)]
    assert [s.paddock.id for s in found.coming[:3]] == [p.id for p in paddocks()[1:4]]
    assert fence(FARM, ahead(FIRST), FIRST, HENS) is None, "they stand there already"


def test_it_is_due_a_shift_after_the_last_record() -> None:
    on = FIRST + 5 * DAY
    third = paddocks()[2].id
    found = ahead(on + DAY, (shifted(on, third),))
    assert days(found, on + DAY) == [on + 4 * DAY, on + 8 * DAY, on + 12 * DAY]
    said = fence(FARM, found, on + 4 * DAY, HENS)
    assert said is not None
    assert said.paddock == paddocks()[3].id, "the one after the third"


def test_a_shift_that_was_missed_is_due_today_and_says_since_when() -> None:
    on, today = FIRST + 5 * DAY, FIRST + 12 * DAY
    found = fence(FARM, ahead(today, (shifted(on),)), today, HENS)
    assert found is not None
    assert found.due_on == on + 4 * DAY
    assert "Due since 12 May." in found.said
    assert days(ahead(today, (shifted(on),)), today)[:2] == [today, today + 4 * DAY]


def test_what_was_done_today_stays_and_says_the_same() -> None:
    today = FIRST + 4 * DAY
    before = fence(FARM, ahead(today), today, HENS)
    assert before is not None
    done = ahead(today, (shifted(today, before.paddock),))
    after = fence(FARM, done, today, HENS)
    assert after is not None
    assert (after.paddock, after.said, after.corners_m) == (before.paddock, before.said, before.corners_m)
    assert days(done, today) == [today + k * DAY for k in (0, 4, 8, 12)]
    assert [d.day for d in net_dues([done], today, "morning")] == [today + 4 * DAY], "no more due today"
    assert [d.day for d in net_dues([ahead(today)], today, "morning")] == [today, today + 4 * DAY]
    assert [d.day for d in net_dues([ahead(today)], today, "evening")] == [today + 4 * DAY]


def test_while_no_grass_grows_net_and_house_stand_still() -> None:
    spring = FIRST + 30 * DAY
    found = net_ahead(
        NET, paddocks(),
        stays(paddocks(), FIRST, LAST, shift_days=4, house_days=1, rest_days=28,
              moving=lambda d: d >= spring),
        (FIRST, LAST), (), FIRST + 20 * DAY, FIRST + 37 * DAY, shift_days=4, rest_days=28,
        fields=LAND.fields, grazed=(), moving=lambda d: d >= spring, there=True,
    )  # fmt: skip
    assert days(found, FIRST + 20 * DAY) == [spring]
    assert [house_move(found, FIRST + k * DAY) for k in range(21, 30)] == [None] * 9
    assert house_move(found, spring + DAY) is not None
    assert net_left(FARM, found, FIRST + 21 * DAY).said == "caravan: its net stays where it is."


def test_without_land_the_day_is_told_and_no_ground() -> None:
    today = FIRST + 4 * DAY
    found = ahead(today, ground=())
    made = fence(FARM, found, today, HENS)
    assert made is not None
    assert (made.kind, made.paddock, made.corners_m, made.said) == (
        "by_eye", None, (), "Net and caravan onto fresh ground."
    )  # fmt: skip
    assert made.cautions
    again = ahead(today, (shifted(today),), ground=())
    assert fence(FARM, again, today, HENS) is not None, "ticked, it stays to be taken back"
    assert fence(FARM, ahead(today + DAY, (shifted(today),), ground=()), today + DAY, HENS) is None
    assert days(ahead(today, ground=()), today) == [today + k * DAY for k in (0, 4, 8, 12)]
    missed = ahead(today + 6 * DAY, (shifted(today),), ground=())
    late = fence(FARM, missed, today + 6 * DAY, HENS)
    assert late is not None
    assert late.due_on == today + 4 * DAY


# Where to


def test_it_tells_the_way_the_net_and_the_room() -> None:
    """A field of 160 x 100 m in ten paddocks of 80 x 20 m: 200 m round, 4 of 4 rolls of 50 m, 1,600 m2."""
    today = FIRST + 4 * DAY
    found = fence(FARM, ahead(today), today, HENS)
    assert found is not None
    assert found.kind == "next"
    assert found.round_m == pytest.approx(200.0)
    assert (found.rolls, len(found.corners_m)) == (4, 4)
    assert found.area_m2 == pytest.approx(1600.0)
    assert found.m2_per_hen == pytest.approx(1600.0 / 58)
    assert found.size == (
        "200\xa0m of net: 4 of 4 rolls, a post and stay at each of 4 corners. 1,600\xa0m² of grass, "
        "27.6\xa0m² a hen."
    )
    ring = (*found.corners_m, found.corners_m[0])
    assert found.walk is not None
    for a, b in pairwise(ring):
        assert f"{round(hypot(b[0] - a[0], b[1] - a[1]) / 0.75)} paces" in found.walk
    one, other = (Polygon(p.ring) for p in paddocks()[:2])
    shared = one.exterior.intersection(other.exterior.buffer(0.01)).length
    assert f"shares {round(shared)}\xa0m of net" in found.said


def test_short_sides_one_after_the_other_are_one_bend() -> None:
    """A square of 40 m with a corner rounded off by eight chords on a circle of 8 m, and a nick of 1 m."""
    arc = [(32 + 8 * cos(pi / 16 * k), 32 + 8 * sin(pi / 16 * k)) for k in range(9)]
    ring = ((0.0, 0.0), (20.0, 0.0), (20.6, 0.8), (40.0, 0.0), *arc, (0.0, 40.0))
    found = sides(ring)
    assert [bend for *_, bend in found] == [False, False, False, True, False, False]
    assert [b for _, b, *_ in found] == [a for a, *_ in (*found[1:], found[0])]
    assert sum(metres for _, _, metres, _ in found) == pytest.approx(Polygon(ring).length)
    assert found[3][2] == pytest.approx(16 * 8 * sin(pi / 32)), "eight chords of 11.25 degrees"
    round_ = tuple((cos(pi / 30 * k) * 20, sin(pi / 30 * k) * 20) for k in range(60))
    assert sum(metres for _, _, metres, _ in sides(round_)) == pytest.approx(Polygon(round_).length)


def test_the_house_goes_through_its_net_day_by_day() -> None:
    today = FIRST + 4 * DAY
    found = ahead(today)
    moves = [house_move(found, today + k * DAY) for k in range(8)]
    assert [m is None for m in moves] == [True, False, False, False, True, False, False, False]
    inside = Polygon(found.coming[0].paddock.ring)
    assert all(
        inside.contains(Polygon([(x, y), (x + 0.1, y), (x, y + 0.1)])) for _, (x, y) in found.coming[0].house
    )
    assert moves[1] is not None
    assert moves[1].said.startswith("House ")
    assert moves[1].distance_m is not None
    assert moves[1].distance_m > 1


# Behind the cattle, and off what has not rested


def cows(where: str, first: date, until: date | None) -> Grazed:
    return Grazed(where, first, until, 9.0, 16.0)


def test_hens_do_not_go_where_the_cattle_stand() -> None:
    today = FIRST + 4 * DAY
    there = paddocks()[1].id
    made = fence(
        FARM,
        ahead(today, (shifted(FIRST, paddocks()[0].id),), cows=(cows(there, today - DAY, None),)),
        today,
        HENS,
    )
    assert made is not None
    assert made.paddock == paddocks()[2].id
    # In the very field, the paddock not named: better there than nowhere, since they stand somewhere in it.
    somewhere = ahead(today, (shifted(FIRST, paddocks()[0].id),), cows=(cows("field", today - DAY, None),))
    assert fence(FARM, somewhere, today, HENS) is not None


def test_hens_follow_the_cattle_by_the_days_their_dung_wants() -> None:
    today = FIRST + 4 * DAY
    at = (shifted(FIRST, paddocks()[0].id),)
    for gone, follows in ((5, False), (9, True), (12, True), (16, True), (17, False)):
        spell = cows(paddocks()[6].id, today - 30 * DAY, today - gone * DAY)
        made = fence(FARM, ahead(today, at, cows=(spell,)), today, HENS)
        assert made is not None
        assert (made.paddock == paddocks()[6].id) is follows, gone
    fresh = cows(paddocks()[1].id, today - 3 * DAY, today - 2 * DAY)
    made = fence(FARM, ahead(today, at, cows=(fresh,)), today, HENS)
    assert made is not None
    assert made.paddock == paddocks()[2].id, "too soon behind them"


def test_breaks_written_down_say_where_the_cattle_went() -> None:
    def opened(day: int, to: str | None, herd: str = "herd") -> Move:
        return Move(date(2027, 6, day), datetime(2027, 6, day, 7, tzinfo=UTC), herd, to, 1, "runa")

    got = grazed(
        [opened(1, "a"), opened(2, None), opened(3, "a"), opened(4, "b"), opened(5, "c", "heifers"),
         opened(7, "c")],
        lambda day: (9.0, 16.0) if day.day < 7 else (60.0, 110.0),
    )  # fmt: skip
    assert sorted(got, key=lambda g: (g.where, g.first)) == [
        Grazed("a", date(2027, 6, 1), date(2027, 6, 4), 9.0, 16.0),
        Grazed("b", date(2027, 6, 4), date(2027, 6, 7), 0.0, -1.0),  # too cold to be worth following
        Grazed("c", date(2027, 6, 5), None, 9.0, 16.0),
        Grazed("c", date(2027, 6, 7), None, 0.0, -1.0),
    ]


SHIFTS = st.lists(st.tuples(st.integers(1, 9), st.sampled_from([None, 0, 3, 5, 9, -1])), max_size=12)


@given(SHIFTS, st.integers(0, 5))
@settings(max_examples=60, deadline=None)
def test_whatever_was_done_it_never_goes_onto_ground_that_has_not_rested(
    made: list[tuple[int, int | None]], late: int
) -> None:
    on, shifts = FIRST, []
    for gap, to in made:
        on += gap * DAY
        name = None if to is None else "elsewhere" if to < 0 else paddocks()[to].id
        shifts.append(shifted(on, name))
    today = on + late * DAY
    found = ahead(today, tuple(shifts))
    coming = [s for s in found.coming if not (found.done and s is found.coming[0])]
    # As known as can be: where the last records name the ground, hens left it that day at the earliest.
    left = {}
    for k, move in enumerate(shifts[:-1]):
        if move.to is not None and move.to != "elsewhere":
            left[move.to] = shifts[k + 1].on
    for stay in coming:
        gone = left.get(stay.paddock.id)
        assert gone is None or (stay.span.first - gone).days >= 28
        left[stay.paddock.id] = stay.span.until
    firsts = [s.span.first for s in coming]
    assert firsts == sorted(set(firsts))
    if coming and shifts:
        assert coming[0].span.first == max(today, shifts[-1].on + 4 * DAY)
    for before, after in pairwise(coming):
        assert (after.span.first - before.span.first).days == 4
        assert before.paddock.id != after.paddock.id


def test_where_nothing_has_rested_that_is_said_and_nothing_else() -> None:
    today = FIRST + 20 * DAY
    at = tuple(shifted(FIRST + 4 * k * DAY, paddocks()[k].id) for k in range(5))
    short = tuple(paddocks()[:5])
    found = ahead(today, at, ground=short)
    made = fence(FARM, found, today, HENS)
    assert made is not None
    assert (made.kind, made.paddock) == ("none", None)
    assert "has not rested" in made.said
    assert no_ground(FARM, found, today) == "caravan: no rested paddock is left for its net on Sunday 23 May."
    assert net_left(FARM, found, today).days == 0
    assert no_ground(FARM, ahead(today), today) is None


# On the farm's own round

AT = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))
SHIFT_DAY = date(2027, 5, 11)


def house(one: Round) -> Call:
    return next(c for c in one.calls if c.id == "caravan")


@cache
def week() -> dict[date, Round]:
    return {r.day: r for r in rounds_of(DEMO, AT, days=8).rounds if r.part == "morning"}


def test_the_round_of_the_demo_farm_has_the_net_where_the_ground_has_it() -> None:
    from leyfold.services.ground import ground_of

    rounds = week()
    told = {day: house(one).fence for day, one in rounds.items() if house(one).fence is not None}
    assert list(told) == [SHIFT_DAY, SHIFT_DAY + 4 * DAY]
    stays_ = [s for hens in ground_of(DEMO, AT).ground.hens for s in hens.stays]
    by_first = {s.span.first: s.paddock.id for s in stays_}
    assert {day: f.paddock for day, f in told.items() if f} == {day: by_first[day] for day in told}
    assert all(house(one).move is None for day, one in rounds.items() if day in told)
    assert all((m := house(one).move) and m.kind == "house" for day, one in rounds.items() if day not in told)
    due = [d for d in rounds[AT.date()].due if d.what == "net"]
    assert [(d.day, d.place) for d in due] == [(SHIFT_DAY, "caravan")]
    evening = rounds_of(DEMO, AT).rounds[1].evening
    assert evening is not None
    assert evening.ground[-1].said.startswith("caravan: in its net until Tuesday 11 May, then to paddock")


def test_one_record_and_the_round_knows(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    at = AT + timedelta(days=3)
    first = house(rounds_of(folder, at, days=1).rounds[0])
    assert first.fence is not None
    lines = '{"id":"01MQZ94CE10000000000000001","device":"phone","who":"runa","at":"%s","entered":"%s",' % (  # noqa: UP031
        "2027-05-11T04:05:00Z", "2027-05-11T04:05:00Z")  # fmt: skip
    lines += '"kind":"fence shifted","data":{"net":"round-the-caravan","to":"%s"}}\n' % first.fence.paddock  # noqa: UP031
    (folder / "records.jsonl").write_text(lines, encoding="utf-8")
    assert open_farm(folder, at).state.fence_moves
    again = rounds_of(folder, at, days=8)
    done = house(again.rounds[0])
    assert done.fence == first.fence, "to be taken back with one tap, it stays as it was"
    assert not [d for d in again.rounds[0].due if d.what == "net" and d.day == at.date()]
    nexts = [r.day for r in again.rounds[1:] if r.part == "morning" and house(r).fence]
    assert nexts == [SHIFT_DAY + 4 * DAY]
    lines += ('{"id":"01MQZ94CE10000000000000002","device":"phone","who":"runa","at":"2027-05-11T04:06:00Z",'
              '"entered":"2027-05-11T04:06:00Z","kind":"correction","data":{"of":"01MQZ94CE10000000000000001",'
              '"void":true}}\n')  # fmt: skip
    (folder / "records.jsonl").write_text(lines, encoding="utf-8")
    undone = rounds_of(folder, at, days=1).rounds[0]
    assert house(undone).fence == first.fence
    assert [d for d in undone.due if d.what == "net" and d.day == at.date()]


def test_a_farm_without_land_is_told_the_day(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    (folder / "land.geojson").unlink()
    made = [r for r in rounds_of(folder, AT, days=8).rounds if r.part == "morning"]
    told = [r.day for r in made if house(r).fence is not None]
    assert told, "no shift in eight days"
    assert all(house(r).fence.kind == "by_eye" for r in made if house(r).fence)  # type: ignore[union-attr]


def test_the_pencilled_sheet_has_the_net() -> None:
    call = house(week()[SHIFT_DAY])
    assert call.fence is not None
    made: dict[str, dict[str, Any]] = {kind: dict(data) for kind, data in entered(call, ".")}
    corners = made["fence shifted"].pop("corners_deg")
    assert made["fence shifted"] == {"net": "round-the-caravan", "to": call.fence.paddock}
    made["fence shifted"]["corners_deg"] = [float(x) for x in corners.split(",")]
    assert dict(entered(house(week()[AT.date()]), "."))["shelter moved"] == {"place": "caravan"}
    records = [
        Record(f"01MQZ94CE1000000000000001{k}", "kitchen", "runa", AT, AT, kind, data)
        for k, (kind, data) in enumerate(made.items())
        if kind in ("fence shifted", "shelter moved")
    ]
    state = fold(FARM, records, AT + timedelta(minutes=1))
    assert not state.questions
    assert [m.to for m in state.fence_moves] == [call.fence.paddock]
    assert [m.corners_deg for m in state.fence_moves] == [call.fence.corners_deg]


# Where they graze


@pytest.mark.parametrize("day", [date(2027, 1, 20), date(2027, 3, 15), date(2027, 11, 20)])
def test_in_the_dead_months_nobody_is_sent_to_the_cattle_nor_shifts_the_net(day: date) -> None:
    at = datetime(day.year, day.month, day.day, 7, tzinfo=ZoneInfo("Europe/Stockholm"))
    for one in rounds_of(DEMO, at, days=2).rounds:
        assert not [c for c in one.calls if c.kind == "cattle"]
        assert house(one).fence is None
        assert house(one).move is None
        assert not [d for d in one.due if d.what == "net"]


def test_the_field_they_are_let_into_turns_the_hens_elsewhere(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    at = AT + timedelta(days=3)
    told = {}
    for k, field in enumerate(("long-ley", "alder-piece")):
        net = {"net": "round-the-caravan", "to": "long-ley/n3"}
        lines = (
            ("fence shifted", "2027-05-07T05:00:00Z", "10", net),
            ("break opened", "2027-05-10T05:00:00Z", f"2{k}", {"cattle": "herd", "to": field}),
        )
        log = [
            {"id": f"01MQZ94CE100000000000000{end}", "device": "phone", "who": "runa", "at": on,
             "entered": on, "kind": kind, "data": data}
            for kind, on, end, data in lines
        ]  # fmt: skip
        text = "".join(json.dumps(line) + "\n" for line in log)
        (folder / "records.jsonl").write_text(text, encoding="utf-8")
        made = house(rounds_of(folder, at).rounds[0]).fence
        assert made is not None
        told[field] = made.field
    assert told == {"long-ley": "alder-piece", "alder-piece": "long-ley"}


def test_at_grass_they_are_called_at() -> None:
    (herd,) = [c for c in week()[AT.date()].calls if c.kind == "cattle"]
    assert herd.grounds == (("long-ley", "Long ley"), ("alder-piece", "Alder piece"))
    assert [c.id for c in week()[AT.date()].calls if c.kind == "cattle"] == ["herd"]
