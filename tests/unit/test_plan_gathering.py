"""The eggs of a set are gathered over days: none is older than asked, none goes into two sets, and what
waiting costs their hatch is reckoned."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.tables import figure
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import BreedingPen, Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.planned import Planned
from leyfold.plan.checker import check
from leyfold.plan.ways.changes import Change, changes
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from planned_farms import AT, PRICES, SPAN, TABLE, planned, small_farm

PEN = BreedingPen("pen", line="tawny", hens=10, cocks=1, lay_share=0.5, settable_share=0.9)
A_DAY = 10 * 0.5 * 0.9


def with_pen(stored_d: int | None, pen: BreedingPen = PEN, **asked: Any) -> Farm:
    wish = replace(TABLE, number=4)
    asked = {"tray": 6, "stored_d": stored_d, "set_until": date(2027, 4, 5), **asked}
    return small_farm(wish, asked=asked, pens={"pen": pen})


def sets(answer: Planned) -> list[Batch]:
    return sorted((b for b in answer.plan.batches if b.origin == "set"), key=lambda b: str(b.set_on))


@pytest.mark.parametrize("stored_d", [3, 6, 7, 9, None])
def test_every_egg_is_laid_in_its_days_and_set_once(stored_d: int | None) -> None:
    """By a count of our own: the days before the sets, laid side by side, and what the pen gives on them."""
    farm = with_pen(stored_d)
    answer = planned(farm)
    made = sets(answer)
    assert made
    waits = round(figure("stock.storage_late_from_d").value) if stored_d is None else stored_d
    for batch in made:
        assert batch.stored_d == waits
        assert batch.eggs is not None
        assert batch.eggs <= A_DAY * waits + 1e-9
    days = [b.set_on for b in made if b.set_on is not None]
    assert all((later - sooner).days >= waits for sooner, later in pairwise(days))
    assert check(farm, answer.completed) == ()


def test_longer_gathered_is_a_larger_set_of_which_fewer_hatch() -> None:
    week, ten = planned(with_pen(7)), planned(with_pen(10))
    most = [max(b.eggs or 0 for b in sets(a)) for a in (week, ten)]
    assert most == [30, 42]  # of 31.5 and 45, in trays of six
    rates = []
    for answer in (week, ten):
        farm, (first, *_) = with_pen(None), sets(answer)
        season = expect(farm, answer.completed)
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == first.id]
        hatched = float(season.heads[rows, season.index(first.hatched_on)].sum())
        rates.append(hatched / (first.eggs or 1))
    # Nobody loses to 4 days; then half a per cent a day to 7, then one: means over ages 0..7 and 0..10.
    loss_week = (0.005 + 0.010 + 0.015) / 8
    loss_ten = (0.005 + 0.010 + 0.015 + 0.025 + 0.035 + 0.045) / 11
    assert rates[1] / rates[0] == pytest.approx((1 - loss_ten) / (1 - loss_week), rel=1e-9)


def test_a_pen_that_comes_late_has_laid_nothing_before_and_one_that_goes_leaves_eggs_to_buy() -> None:
    for pen in (replace(PEN, since=date(2027, 3, 20)), replace(PEN, until=date(2027, 3, 25))):
        farm = with_pen(7, pen)
        answer = planned(farm)
        assert check(farm, answer.completed) == ()
        for batch in sets(answer):
            assert batch.set_on is not None
            there = sum(pen.owned(batch.set_on - timedelta(days=i)) for i in range(1, 8))
            if pen.owned(batch.set_on):
                assert (batch.eggs or 0) <= A_DAY * there + 1e-9
    # On the third day of a pen there are two days' eggs, and no more, however well they pay.
    day = date(2027, 3, 22)
    new = with_pen(7, replace(PEN, since=date(2027, 3, 20)), set_from=day, set_until=day)
    (only,) = sets(planned(replace(new, wishes=(), prices={**PRICES, "carcass": 90.0, "labour": 0.01})))
    assert only.set_on == day
    assert only.eggs == 6
    # Bought eggs come when they are wanted: two sets within a week, and more than any pen lays.
    bought = [b for b in sets(answer) if b.set_on is not None and not pen.owned(b.set_on)]
    assert bought
    assert max(b.eggs or 0 for b in bought) > A_DAY * 7


@cache
def some_set() -> Batch:
    return sets(planned(with_pen(7)))[0]


def by_hand(stored_d: int, eggs: int, on: date, name: str = "own") -> Batch:
    made = some_set()
    assert made.set_on is not None
    later = on - made.set_on

    def moved(day: date | None) -> date | None:
        return None if day is None else day + later

    return replace(
        made, id=name, eggs=eggs, stored_d=stored_d, set_on=on, hatched_on=made.hatched_on + later,
        arrives_on=made.arrives_on + later, turnout_on=moved(made.turnout_on), sort_on=moved(made.sort_on),
        house_on=moved(made.house_on), drafts=tuple(replace(d, on=d.on + later) for d in made.drafts),
    )  # fmt: skip


def found(farm: Farm, *batches: Batch) -> list[tuple[str, str, float, float]]:
    farm = replace(farm, wishes=())
    plan = complete(farm, replace(SPAN, batches=batches))
    return [(f.what, f.where, f.worst, f.at_most) for f in check(farm, plan) if f.what in ("egg_age", "pen")]


def test_the_checker_knows_how_old_eggs_may_be_and_what_was_laid_in_those_days() -> None:
    on = date(2027, 4, 5)
    assert found(with_pen(7), by_hand(7, 30, on)) == []
    assert found(with_pen(7), by_hand(8, 30, on)) == [("egg_age", "own", 8.0, 7.0)]
    # Less than may be: the eggs must have been laid in that much less.
    assert found(with_pen(7), by_hand(4, 18, on)) == []
    assert found(with_pen(7), by_hand(4, 19, on)) == [("pen", "own", 19.0, pytest.approx(4 * A_DAY))]
    # Nothing said: what the line's eggs bear.
    most = figure("stock.storage_most_d").value
    assert found(with_pen(None), by_hand(10, 45, on)) == []
    assert found(with_pen(None), by_hand(11, 45, on)) == [("egg_age", "own", 11.0, most)]
    # Two sets share what was laid, however each of them says it gathered.
    two = by_hand(7, 25, on), by_hand(3, 12, on + timedelta(days=1), "other")
    assert found(with_pen(7), *two) == [("pen", "other", 37.0, pytest.approx(8 * A_DAY))]
    assert found(with_pen(7), two[0], by_hand(3, 11, on + timedelta(days=1), "other")) == []


def test_eggs_that_are_in_the_machine_already_are_not_set_again() -> None:
    """A set that stands gathered for nine days; the planner's own gather for six."""
    begun = by_hand(9, 24, date(2027, 2, 26), "begun")
    plan = replace(SPAN, first=date(2027, 2, 22), batches=(replace(begun, incubator="box", brooder="shed"),))
    answer = planned(with_pen(6, set_from=AT.date()), plan)
    others = [b.set_on for b in sets(answer) if b.id != "begun"]
    assert others
    assert min(day for day in others if day is not None) >= date(2027, 3, 4)


def test_gathering_for_longer_is_a_way_out_of_a_small_pen() -> None:
    def offered(farm: Farm) -> dict[str, Change]:
        families = changes(farm, SPAN, ["pen"], {}, AT.date(), date(2027, 12, 31))
        return {one.id: one for family in families for one in family}

    ways = offered(with_pen(None))
    assert ways["stored:10"].farm.planning.stored_d == 10
    assert ways["stored:10"].said
    assert "stored:10" not in offered(with_pen(10))


def test_eggs_cannot_wait_less_than_until_they_lose_fast(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_text(
        '[holding]\nname = "A"\nlatitude = 57\nlongitude = 14\nzone = "Europe/Stockholm"\n'
        '[lines.wren]\nstorage_most = "5 days"\n', encoding="utf-8",
    )  # fmt: skip
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    assert any(fault.field == "lines.wren.storage_most" for fault in refused.value.faults)
