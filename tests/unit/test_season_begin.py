"""A plan with the facts in place of its past."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, line
from leyfold.log import fold
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.record import State
from leyfold.season.begin import begin
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.sums import sums
from leyfold.season.weeks import weeks
from leyfold.season.why import why as asked
from logs import Diary, batch_of_fifty, made_up, utc

FARM = farm()


def a_set(name: str = "a", on: date = date(2027, 1, 6), eggs: int = 64, **more: object) -> Batch:
    hatch = on + timedelta(days=21)
    return Batch(name, "tawny", "set", hatch, hatch, set_on=on, eggs=eggs, **more)  # type: ignore[arg-type]


def begun(diary: Diary, at: str, *batches: Batch, **more: object) -> tuple[Plan, State]:
    state = fold(FARM, diary, utc(at))
    return begin(FARM, Plan(batches, **more), state), state  # type: ignore[arg-type]


def places(plan: Plan, name: str, day: date) -> Mapping[tuple[str | None, str], float | None]:
    return {(s.sex, s.place): s.heads for s in plan.stays if s.batch == name and s.first <= day < s.until}


def test_without_records_the_plan_is_the_plan() -> None:
    plan = Plan((a_set(),))
    assert begin(FARM, plan, State()) is plan
    assert begin(FARM, plan, State(day=date(2027, 5, 1))) is plan


def test_a_batch_of_which_nothing_is_written_stands_as_planned() -> None:
    later = a_set("b", date(2027, 3, 1))
    plan, _ = begun(batch_of_fifty(), "2027-02-01 12:00", a_set(), later)
    assert plan.batches[1] == later


def test_eggs_set_keep_what_was_written_down() -> None:
    diary = batch_of_fifty()
    plan, _ = begun(diary, "2027-01-10 12:00", a_set(brooder="west"))
    (batch,) = plan.batches
    assert (batch.set_on, batch.eggs, batch.fertile) == (date(2027, 1, 5), 60, None)
    assert (batch.hatched_on, batch.stored_d, batch.incubator) == (date(2027, 1, 26), 3, "small")
    assert batch.brooder == "west"
    plan, _ = begun(diary, "2027-01-20 12:00", a_set())
    assert plan.batches[0].fertile == 54


def test_a_hatch_overdue_is_due_today() -> None:
    diary = Diary(batch_of_fifty().records[:2])
    plan, _ = begun(diary, "2027-01-29 12:00", a_set())
    assert plan.batches[0].hatched_on == plan.batches[0].arrives_on == date(2027, 1, 29)


def test_chicks_in_the_brooder() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 12:00", "found dead", place="east", heads=2)
    plan, _ = begun(diary, "2027-02-03 12:00", a_set(turnout_on=date(2027, 3, 2)))
    (batch,) = plan.batches
    assert (batch.origin, batch.arrives_on, batch.hatched_on) == (
        "present",
        date(2027, 2, 3),
        date(2027, 1, 26),
    )
    assert batch.heads == {"pullet": 24.0, "cockerel": 24.0}
    assert batch.turnout_on == date(2027, 3, 2)
    assert batch.brooder == "east"
    assert places(plan, "a", date(2027, 3, 1)) == {("pullet", "east"): 24.0, ("cockerel", "east"): 24.0}
    assert places(plan, "a", date(2027, 3, 2)) == {}
    assert plan.first == date(2027, 2, 3)


def test_birds_not_sorted_are_split_by_the_share_of_the_line() -> None:
    more = farm(lines={"tawny": line(share_pullets=0.6)})
    state = fold(more, batch_of_fifty(), utc("2027-02-03 12:00"))
    (batch,) = begin(more, Plan((a_set(),)), state).batches
    assert batch.heads == pytest.approx({"pullet": 30.0, "cockerel": 20.0})


def test_what_is_overdue_falls_on_the_day() -> None:
    plan, _ = begun(batch_of_fifty(), "2027-03-10 12:00", a_set(turnout_on=date(2027, 2, 23)))
    (batch,) = plan.batches
    assert batch.turnout_on == date(2027, 3, 10)
    assert plan.stays == ()
    done = complete(FARM, plan)
    assert {s.place for s in done.stays if s.first == date(2027, 3, 10)} <= set(FARM.shelters)


def stay(name: str, sex: str | None, place: str, first: date, until: date, share: float = 1.0) -> Stay:
    return Stay(name, "a", sex, place, first, until, share=share)  # type: ignore[arg-type]


OUT, SORT, KILL = date(2027, 2, 23), date(2027, 3, 23), date(2027, 5, 4)
PLANNED = (
    stay("young", None, "s1", OUT, SORT),
    stay("hers", "pullet", "s3", SORT, date(2027, 6, 1)),
    stay("his", "cockerel", "s2", SORT, KILL),
)


@pytest.mark.parametrize("late_d", [0, 3])
def test_chicks_go_out_where_the_plan_says_on_the_day_and_when_that_was_missed(late_d: int) -> None:
    on = OUT + timedelta(days=late_d)
    plan, _ = begun(batch_of_fifty(), f"{on} 06:00", a_set(turnout_on=OUT, sort_on=SORT), stays=PLANNED)
    assert places(plan, "a", on) == {("pullet", "s1"): None, ("cockerel", "s1"): None}
    assert places(plan, "a", SORT) == {("pullet", "s3"): None, ("cockerel", "s2"): None}
    assert not [s for s in expect(FARM, complete(FARM, plan)).breaches if s.place == "east"]


def turned_out() -> Diary:
    diary = batch_of_fifty()
    diary.write(f"{OUT} 08:00", "moved", from_="east", to="s1")
    return diary


@pytest.mark.parametrize("late_d", [0, 3])
def test_birds_are_parted_as_the_plan_says_on_the_day_and_when_that_was_missed(late_d: int) -> None:
    on = SORT + timedelta(days=late_d)
    plan, _ = begun(turned_out(), f"{on} 06:00", a_set(turnout_on=OUT, sort_on=SORT), stays=PLANNED)
    assert places(plan, "a", on) == {("pullet", "s3"): None, ("cockerel", "s2"): None}
    diary = turned_out()
    diary.write(
        f"{SORT} 08:00", "sorted", batch="a", place="s1", pullets=29, cockerels=21, pullets_to="s3",
        cockerels_to="s4",
    )  # fmt: skip
    plan, _ = begun(diary, f"{on} 12:00", a_set(turnout_on=OUT, sort_on=SORT), stays=PLANNED)
    # Done; and the cockerels went where somebody put them, so there they stay.
    assert places(plan, "a", on) == {("pullet", "s3"): 29.0, ("cockerel", "s4"): 21.0}


def test_birds_go_from_shelter_to_shelter_on_the_day_that_the_plan_says() -> None:
    later = SORT + timedelta(days=7)
    moves = (
        PLANNED[0],
        stay("hers", "pullet", "s3", SORT, later),
        stay("hers-next", "pullet", "s1", later, date(2027, 6, 1), 0.5),
        stay("hers-too", "pullet", "s3", later, date(2027, 6, 1), 0.5),
        PLANNED[2],
    )
    diary = grown()
    plan, _ = begun(diary, f"{later} 06:00", a_set(turnout_on=OUT, sort_on=SORT), stays=moves)
    now = places(plan, "a", later)
    assert {place for sex, place in now if sex == "pullet"} == {"s1", "s3"}
    # The cockerels stand in two shelters where the plan has one of them: that was somebody's choice.
    assert now["cockerel", "s1"] == 12.0
    diary.write(f"{later} 07:00", "moved", from_="s3", to="s1", batch="a", sex="pullet", heads=10)
    plan, _ = begun(diary, f"{later} 12:00", a_set(turnout_on=OUT, sort_on=SORT), stays=moves)
    now = places(plan, "a", later)
    assert (now["pullet", "s1"], now["pullet", "s3"]) == (10.0, 19.0)


def grown() -> Diary:
    diary = batch_of_fifty()
    diary.write("2027-02-23 08:00", "moved", from_="east", to="s1", heads=30)
    diary.write("2027-02-23 08:00", "moved", from_="east", to="s2")
    diary.write(
        "2027-03-23 08:00", "sorted", batch="a", place="s1", pullets=18, cockerels=12, pullets_to="s3"
    )
    diary.write("2027-03-23 08:30", "sorted", batch="a", place="s2", pullets=11, cockerels=9, pullets_to="s3")
    return diary


def test_sorted_birds_at_grass() -> None:
    drafts = (Draft(date(2027, 4, 27), 0.5), Draft(date(2027, 5, 4), 1.0))
    plan, _ = begun(grown(), "2027-04-01 12:00", a_set(drafts=drafts, house_on=date(2027, 6, 1)))
    (batch,) = plan.batches
    assert batch.heads == {"pullet": 29.0, "cockerel": 21.0}
    assert (batch.turnout_on, batch.sort_on) == (date(2027, 2, 23), date(2027, 3, 23))
    assert batch.drafts == drafts
    now = {("pullet", "s3"): 29.0, ("cockerel", "s1"): 12.0, ("cockerel", "s2"): 9.0}
    assert places(plan, "a", date(2027, 4, 1)) == now
    assert ("pullet", "s3") not in places(plan, "a", date(2027, 6, 1))


def test_pullets_counted_into_the_house_are_those_not_in_it() -> None:
    """Birds that stand at grass when the books are looked at go to the house all the same; hens are in it."""
    diary = grown()
    old = {"batch": "old", "line": "tawny", "place": "coop", "hatched_on": "2026-03-01", "sex": "pullet"}
    diary.write("2027-03-24 06:00", "present", heads=20, **old)
    plan, _ = begun(diary, "2027-04-01 12:00", a_set(house_on=date(2027, 6, 1)))
    season = expect(FARM, complete(FARM, plan))
    housed = sums(FARM, season).pullets_to_house
    assert 25 < housed < 29
    assert asked(FARM, season, "pullets").step.value == pytest.approx(housed)


def test_the_week_in_which_the_books_are_looked_at_has_its_birds() -> None:
    """The first of April 2027 is a Thursday: of the Monday before, the season knows nothing."""
    plan, _ = begun(grown(), "2027-04-01 12:00", a_set(house_on=date(2027, 6, 1)))
    season = expect(FARM, complete(FARM, plan))
    first, second, *_ = weeks(season)
    assert (first.monday, first.heads) == (date(2027, 3, 29), 50.0)
    assert 49.0 < second.heads < 50.0
    figure = asked(FARM, season, "heads/week", date(2027, 4, 2))
    assert (figure.first, figure.step.value) == (date(2027, 4, 1), 50.0)


def test_a_draft_done_is_done_and_one_missed_is_due() -> None:
    drafts = (Draft(date(2027, 4, 27), 0.5), Draft(date(2027, 5, 4), 1.0))
    diary = grown()
    missed, _ = begun(diary, "2027-04-29 12:00", a_set(drafts=drafts))
    assert missed.batches[0].drafts == (Draft(date(2027, 4, 30), 0.5), drafts[1])
    diary.write("2027-04-26 06:00", "killed", batch="a", sex="cockerel", place="s1", heads=1)  # for the pot
    pot, _ = begun(diary, "2027-04-29 12:00", a_set(drafts=drafts))
    assert pot.batches[0].drafts == (Draft(date(2027, 4, 30), 0.5), drafts[1])
    diary.write("2027-04-28 06:00", "killed", batch="a", sex="cockerel", place="s1", heads=10)
    done, _ = begun(diary, "2027-04-29 12:00", a_set(drafts=drafts))
    assert done.batches[0].drafts == (drafts[1],)
    diary.write("2027-05-04 06:00", "killed", batch="a", sex="cockerel", place="s2", heads=8)
    rest, _ = begun(diary, "2027-05-06 12:00", a_set(drafts=drafts))
    assert rest.batches[0].drafts == (Draft(date(2027, 5, 7), 1.0),)
    kept = (drafts[0], Draft(date(2027, 5, 4), 0.8))
    breeding, _ = begun(diary, "2027-05-06 12:00", a_set(drafts=kept))
    assert breeding.batches[0].drafts == (Draft(date(2027, 5, 7), 0.0),)


def test_what_is_due_today_leaves_today_where_asked() -> None:
    today, other = Draft(date(2027, 4, 27), 0.5), Draft(date(2027, 5, 4), 1.0)
    for at, on in (("2027-04-27 12:00", today.on), ("2027-04-28 12:00", date(2027, 4, 29))):
        state = fold(FARM, grown(), utc(at))
        plan = begin(FARM, Plan((a_set(drafts=(today, other)),)), state, leave_today=True)
        assert plan.batches[0].drafts == (Draft(on, 0.5), other)
        season = expect(FARM, complete(FARM, plan))
        assert season.killed[:, season.index(on)].sum() == pytest.approx(10.5, rel=0.01)


def test_hens_stay_in_their_house_and_old_ones_leave_when_planned() -> None:
    diary = Diary()
    old = {"batch": "old", "line": "tawny", "place": "coop", "sex": "pullet", "hatched_on": "2026-03-02"}
    diary.write("2027-06-01 06:00", "present", heads=90, **old)
    out = Out("old", date(2027, 9, 1))
    plan, _ = begun(diary, "2027-07-01 06:00", outs=(out, Out("gone", date(2027, 9, 1))))
    (batch,) = plan.batches
    assert (batch.house, batch.heads["pullet"]) == ("coop", 90.0)
    assert batch.house_on == date(2026, 7, 6)  # 126 days of age: long before the books opened
    assert places(plan, "old", date(2027, 12, 1)) == {("pullet", "coop"): 90.0}
    diary.write("2027-08-30 06:00", "sold", place="coop", heads=60)
    plan, _ = begun(diary, "2027-08-31 06:00", outs=(out,))
    assert plan.outs == ()


def test_a_batch_gone_vanishes_with_its_stays() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 12:00", "missing", place="east", heads=50)
    stay = Stay("x", "a", None, "west", date(2027, 1, 27), date(2027, 3, 1))
    plan, _ = begun(diary, "2027-02-03 12:00", a_set(), stays=(stay,), outs=(Out("a", date(2028, 1, 1)),))
    assert (plan.batches, plan.stays, plan.outs) == ((), (), ())


def test_the_place_now_is_a_fact_and_stays_to_come_are_kept() -> None:
    stays = (
        Stay("now", "a", None, "west", date(2027, 1, 27), date(2027, 2, 15)),
        Stay("next", "a", None, "s4", date(2027, 2, 20), date(2027, 3, 20)),
    )
    plan, _ = begun(batch_of_fifty(), "2027-02-03 12:00", a_set(), stays=stays)
    assert set(places(plan, "a", date(2027, 2, 19))) == {("pullet", "east"), ("cockerel", "east")}
    assert places(plan, "a", date(2027, 2, 20)) == {(None, "s4"): None}


def test_a_completed_plan_is_not_begun_again() -> None:
    with pytest.raises(ValueError, match="not completed"):
        begin(FARM, Plan((), completed=True), State())


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 130))
def test_the_season_opens_with_the_birds_of_the_book(seed: int, days: int) -> None:
    """Whatever the records say, completing and expecting the plan places every bird once, on that day."""
    diary, _ = made_up(seed)
    state = fold(FARM, diary, utc("2027-02-20 12:00") + timedelta(days=days))
    plan = begin(FARM, Plan((a_set(on=date(2027, 1, 30)),)), state)
    if not plan.batches:
        return
    season = expect(FARM, complete(FARM, plan))
    assert state.day is not None
    today = season.index(state.day)
    assert season.heads[:, today].sum() == pytest.approx(sum(g.heads for g in state.groups), abs=1e-9)
    for batch in plan.batches:
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
        book: dict[str, float] = {}
        for group in state.groups:
            if group.batch == batch.id:
                book[group.place] = book.get(group.place, 0.0) + group.heads
        there: dict[str, float] = {}
        for i in rows:
            if season.heads[i, today]:
                there[season.lots[i].place] = there.get(season.lots[i].place, 0.0) + season.heads[i, today]
        due_today = state.day in (batch.turnout_on, batch.sort_on, batch.house_on)
        if not due_today:
            assert there == pytest.approx(book, abs=1e-9)
    assert np.isfinite(season.feed_kg).all()
