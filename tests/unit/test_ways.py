"""Ways out of a clash: each is a farm on which a plan was found, priced, the best first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any, cast

import pytest

from leyfold.nouns.farm import Wish
from leyfold.nouns.planned import Clash, WayOut
from leyfold.nouns.record import State
from leyfold.plan.linear import Linear
from leyfold.plan.make import solved
from leyfold.plan.model import Model
from leyfold.plan.solver import solve_cpsat
from leyfold.plan.ways.kit import shelter_cost, shelter_more
from leyfold.plan.ways.near import nearest
from leyfold.plan.ways.needed import SHARES, loosened, needed
from leyfold.plan.ways.out import ways_out
from leyfold.season.chance import number_by
from leyfold.season.expect import expect
from planned_farms import AT, PRICES, SPAN, asked_too_much


@pytest.fixture(scope="module")
def ways() -> tuple[WayOut, ...]:
    farm = asked_too_much()
    answer = solved(farm, State(), SPAN, AT, seconds=60)
    assert isinstance(answer.outcome, Clash)
    return ways_out(farm, State(), SPAN, AT, answer, seconds=60)


def test_the_best_way_comes_first_and_each_is_a_plan(ways: tuple[WayOut, ...]) -> None:
    open_ = [way for way in ways if way.verified]
    assert open_
    assert [w.verified for w in ways] == sorted((w.verified for w in ways), reverse=True)
    for way in open_:
        assert way.planned is not None
        assert expect(way.farm, way.planned.completed).breaches == ()
        for wish in way.farm.wishes:
            assert wish.what != "eggs a day"
            birds = number_by(way.farm, way.planned.completed, wish.what, wish.on)
            assert birds.at_least(wish.number) >= wish.chance
    priced = [w for w in open_ if w.costs is not None and w.planned is not None]
    net = [w.planned.objective - (w.costs or 0.0) for w in priced if w.planned is not None]
    assert net == sorted(net, reverse=True)


def test_fewer_birds_open_a_plan(ways: tuple[WayOut, ...]) -> None:
    fewer = next(w for w in ways if w.id.startswith("fewer:table"))  # the verified ones stand first
    assert fewer.verified
    assert 0 < fewer.farm.wishes[0].number < 12


def test_what_is_said_to_open_none_opens_none(ways: tuple[WayOut, ...]) -> None:
    for way in ways:
        assert not (way.shut and way.verified)
        if way.shut and not way.id.startswith("any:"):
            assert isinstance(solved(way.farm, State(), SPAN, AT, seconds=60).outcome, Clash)


@pytest.fixture(scope="module")
def of_two() -> tuple[WayOut, ...]:
    """Two wishes, each for more than a box of eggs three times brings."""
    farm = asked_too_much()
    more = Wish("flock", "pullets", 60, date(2027, 8, 20), 0.8)
    farm = replace(farm, wishes=(replace(farm.wishes[0], number=50), more))
    answer = solved(farm, State(), SPAN, AT, seconds=60)
    assert isinstance(answer.outcome, Clash)
    return ways_out(farm, State(), SPAN, AT, answer, seconds=60)


def test_where_less_of_one_opens_nothing_less_of_both_does(of_two: tuple[WayOut, ...]) -> None:
    both = next(w for w in of_two if w.id.startswith("fewer:"))
    assert both.verified
    assert both.id.count(":") == 4
    table, flock = both.farm.wishes
    assert 0 < table.number < 50
    assert 0 < flock.number < 60
    assert both.said.count("instead of") == 2
    assert any(way.shut for way in of_two)


def test_how_far_a_group_must_be_loosened() -> None:
    """Three of a thing that has room for two: half as much room again, or a third less wished, by hand."""
    linear = Linear()
    x = linear.number(10)
    linear.row({x: 1}, most=2, group="room")
    linear.row({x: 1}, least=3, group="wish:three")
    relaxed, (by,) = loosened(linear, ("room",))
    answer = solve_cpsat(relaxed, effort=1.0, seconds=10.0)
    assert answer.values is not None
    assert answer.values[by] == SHARES / 2
    room, wish = (needed(linear, group, seconds=10.0) for group in ("room", "wish:three"))
    assert room is not None
    assert wish is not None
    assert room.share == pytest.approx(0.5)
    assert wish.share == pytest.approx(1 / 3)
    most = nearest(Model(cast(Any, None), linear), ("wish:three",), left=lambda: 10.0)
    assert most is not None
    assert most[0] == (2,)
    assert most[1] == pytest.approx((1 / 3,), abs=1 / SHARES)
    linear.row({x: 1}, most=1, group="other")
    none = needed(linear, "room", seconds=10.0)
    assert none is not None
    assert none.share is None  # the other stands in the way all the same: proven


def test_a_shelter_more_and_its_price() -> None:
    farm = asked_too_much()
    more, name = shelter_more(farm, date(2027, 4, 1))
    assert set(more.shelters) == {*farm.shelters, name}
    assert not more.shelters[name].owned(date(2027, 3, 31))
    (guessed,) = shelter_cost(farm)
    assert guessed.guess
    (bought,) = shelter_cost(replace(farm, prices={**PRICES, "shelter": 400.0}), 2)
    assert not bought.guess
    assert bought.money == pytest.approx(2 * 400.0 / 8.0)  # spread over eight years of 365 days
    (unknown,) = shelter_cost(replace(farm, prices={}))
    assert unknown.money is None
