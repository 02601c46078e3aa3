"""The fold: free of order, balanced, and true to when things happened."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm
from leyfold.log import fold
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Group, HeadCount, Spell, State
from logs import Diary, batch_of_fifty, made_up, utc

FARM = farm()
LATE = utc("2028-01-01 12:00")


def heads(state: State) -> dict[tuple[str, str | None, str], int]:
    return {(g.batch, g.sex, g.place): g.heads for g in state.groups}


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.randoms(use_true_random=False))
def test_order_and_repetition_change_nothing(seed: int, rng) -> None:  # type: ignore[no-untyped-def]
    records = list(made_up(seed)[0])
    expected = fold(FARM, records, LATE)
    shuffled = records + [r for r in records if rng.random() < 0.3]
    rng.shuffle(shuffled)
    assert fold(FARM, shuffled, LATE) == expected


@settings(max_examples=100)
@given(st.integers(0, 10**6))
def test_birds_are_conserved(seed: int) -> None:
    diary, sums = made_up(seed)
    state = fold(FARM, diary, LATE)
    batches = state.batches.values()

    def summed(field: str) -> float:
        return sum(count.number for batch in batches for count in getattr(batch, field))

    assert sum(g.heads for g in state.groups) == sums["alive"]
    assert sum(b.chicks or 0 for b in batches) == sums["came"]
    assert (summed("dead"), summed("killed"), summed("gone")) == (
        sums["found dead"],
        sums["killed"],
        sums["gone"],
    )
    assert sums["alive"] + summed("dead") + summed("killed") + summed("gone") == sums["came"]
    assert all(g.heads > 0 for g in state.groups)


@settings(max_examples=60)
@given(st.integers(0, 10**6))
def test_spells_hold_the_birds_of_every_day(seed: int) -> None:
    """Against a slow second way: fold to the end of each day, and add the birds lost on it."""
    diary, _ = made_up(seed, 40)
    state = fold(FARM, diary, LATE)
    first = min(s.first for s in state.spells)
    for offset in range(0, 40, 3):
        day = date.fromordinal(first.toordinal() + offset)
        evening = utc(f"{day} 22:59")  # in the farm's zone an hour before midnight, or half an hour
        then = fold(FARM, [r for r in diary if r.at <= evening], utc(f"{day} 21:59"))
        if any(utc(f"{day} 21:59") < r.at <= utc(f"{day} 22:59") for r in diary):
            continue
        lost = sum(
            c.number
            for b in then.batches.values()
            for c in (*b.dead, *b.gone)
            if c.on == day and c.kind != "sold"
        )
        on_day = sum(s.heads for s in state.spells if s.first <= day < s.until)
        assert on_day == sum(g.heads for g in then.groups) + lost


def test_a_batch_from_egg_to_table() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 07:00", "found dead", place="east", heads=2)
    diary.write("2027-02-23 08:00", "moved", batch="a", from_="east", to="s1", heads=30)
    diary.write("2027-02-23 08:05", "moved", from_="east", to="s2")
    diary.write("2027-03-23 08:00", "sorted", batch="a", place="s1", pullets=14, cockerels=15)
    diary.write("2027-03-23 09:00", "sorted", batch="a", place="s2", pullets=9, cockerels=9, pullets_to="s1")
    diary.write("2027-03-23 09:30", "moved", from_="s1", sex="cockerel", to="s2")
    diary.write("2027-05-04 06:00", "killed", batch="a", sex="cockerel", heads=20)
    diary.write("2027-05-05 06:00", "sold", batch="a", sex="pullet", heads=3)
    diary.write("2027-05-06 06:00", "culled", place="s2", sex="cockerel", reason="leg")
    state = fold(FARM, diary, utc("2027-05-06 20:00"))
    # One bird was doubtful and stayed in the unsorted group.
    assert heads(state) == {("a", None, "s1"): 1, ("a", "pullet", "s1"): 20, ("a", "cockerel", "s2"): 3}
    facts = state.batches["a"]
    assert (facts.set_on, facts.hatched_on) == (date(2027, 1, 5), date(2027, 1, 26))
    assert (facts.eggs, facts.fertile, facts.chicks) == (60, 54, 50)
    assert (facts.pullets_at_sorting, facts.cockerels_at_sorting) == (23, 24)
    assert facts.sorted_on == date(2027, 3, 23)
    assert [(c.kind, c.number) for c in (*facts.dead, *facts.killed, *facts.gone)] == [
        ("found dead", 2),
        ("killed", 20),
        ("sold", 3),
        ("culled", 1),
    ]
    assert state.day == date(2027, 5, 6)


def test_the_spells_of_a_batch() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 07:00", "found dead", place="east", heads=2)
    diary.write("2027-02-23 08:00", "moved", from_="east", to="s1")
    diary.write("2027-02-25 08:00", "killed", place="s1", heads=8)
    state = fold(FARM, diary, utc("2027-02-27 08:00"))
    assert state.spells == (
        Spell("a", None, "east", date(2027, 1, 26), date(2027, 2, 2), 50),
        Spell("a", None, "east", date(2027, 2, 2), date(2027, 2, 23), 48),
        Spell("a", None, "s1", date(2027, 2, 23), date(2027, 2, 25), 48),
        Spell("a", None, "s1", date(2027, 2, 25), date(2027, 2, 27), 40),
    )
    assert sum(s.bird_days for s in state.spells) == 50 * 7 + 48 * 21 + 48 * 2 + 40 * 2


def test_an_event_goes_to_the_group_of_its_true_time() -> None:
    """Entered after the sorting by somebody out of signal, true before it."""
    diary = batch_of_fifty()
    diary.write("2027-03-23 10:00", "sorted", batch="a", pullets=24, cockerels=24)
    diary.write("2027-03-23 09:00", "found dead", entered="2027-03-23 19:00", place="east", heads=2)
    diary.write("2027-03-23 11:00", "found dead", entered="2027-03-23 19:01", place="east", sex="pullet")
    state = fold(FARM, diary, LATE)
    assert heads(state) == {("a", "cockerel", "east"): 24, ("a", "pullet", "east"): 23}
    assert [c.sex for c in state.batches["a"].dead] == [None, "pullet"]


def test_a_late_entry_counts_from_its_true_time() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 07:00", "found dead", entered="2027-02-20 07:00", place="east", heads=5)
    before = fold(FARM, diary, utc("2027-01-31 12:00"))
    after = fold(FARM, diary, utc("2027-02-02 12:00"))
    assert (before.groups[0].heads, after.groups[0].heads) == (50, 45)


def test_corrections() -> None:
    diary = batch_of_fifty()
    dead = diary.write("2027-02-01 07:00", "found dead", place="east", heads=22)
    twice = diary.write("2027-02-01 07:30", "found dead", place="east", heads=2)
    diary.write("2027-02-02 07:00", "correction", of=dead, data={"place": "east", "heads": 2})
    void = diary.write("2027-02-02 07:01", "correction", of=twice, void=True, reason="told twice")
    assert fold(FARM, diary, LATE).groups == (Group("a", None, "east", 48),)
    # A correction tells what always was.
    assert fold(FARM, diary, utc("2027-02-01 12:00")).groups == (Group("a", None, "east", 48),)
    diary.write("2027-02-03 07:00", "correction", of=dead, data={"place": "east", "heads": 3})
    assert fold(FARM, diary, LATE).groups == (Group("a", None, "east", 47),)
    diary.write("2027-02-04 07:00", "correction", of=void, void=True)
    assert fold(FARM, diary, LATE).groups == (Group("a", None, "east", 45),)
    diary.write("2027-02-05 07:00", "correction", of=dead, at_="2027-01-31T07:00:00Z")
    moved = fold(FARM, diary, LATE)
    assert [(c.on, c.number) for c in moved.batches["a"].dead] == [
        (date(2027, 1, 31), 3),
        (date(2027, 2, 1), 2),
    ]


def test_a_correction_taken_back_can_be_put_back_and_a_void_undone() -> None:
    diary = batch_of_fifty()
    dead = diary.write("2027-02-01 07:00", "found dead", place="east", heads=4)
    void = diary.write("2027-02-02 07:00", "correction", of=dead, void=True)
    assert fold(FARM, diary, LATE).groups[0].heads == 50
    undo = diary.write("2027-02-03 07:00", "correction", of=void, void=True)
    assert fold(FARM, diary, LATE).groups[0].heads == 46
    diary.write("2027-02-04 07:00", "correction", of=undo, void=True)
    assert fold(FARM, diary, LATE).groups[0].heads == 50
    diary.write("2027-02-05 07:00", "correction", of=dead, data={"place": "east", "heads": 1})
    assert fold(FARM, diary, LATE).groups[0].heads == 49


def test_a_sex_may_be_said_of_birds_not_sorted_yet() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-20 07:00", "killed", place="east", sex="cockerel", heads=3)
    state = fold(FARM, diary, LATE)
    assert heads(state) == {("a", None, "east"): 47}
    assert state.batches["a"].killed[0].sex == "cockerel"


def test_a_faulty_record_can_be_mended_by_appending() -> None:
    diary = batch_of_fifty()
    bad = diary.write("2027-02-01 07:00", "found dead", place="east", heads="two")
    with pytest.raises(BadInput, match="'two' is not a whole number"):
        fold(FARM, diary, LATE, strict=True)
    worse = diary.write("2027-02-02 07:00", "correction", of=bad, data={"place": "east", "heads": 2.5})
    with pytest.raises(BadInput, match=worse):
        fold(FARM, diary, LATE, strict=True)
    diary.write("2027-02-03 07:00", "correction", of=bad, data={"place": "east", "heads": 2})
    assert fold(FARM, diary, LATE).groups == (Group("a", None, "east", 48),)


def test_correcting_a_hatch_mends_what_follows_from_it() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-01 07:00", "found dead", place="east", heads=50)
    hatch = diary.records[2].id
    assert fold(FARM, diary, LATE).groups == ()
    diary.write(
        "2027-02-02 07:00", "correction", of=hatch, data={"batch": "a", "chicks": 52, "place": "east"}
    )
    assert fold(FARM, diary, LATE).groups == (Group("a", None, "east", 2),)


def test_clocks_going_forward_and_back() -> None:
    """The farm's zone is an hour ahead of UTC in winter, two from 28 March to 31 October 2027."""
    diary = batch_of_fifty()
    diary.write("2027-03-27 22:59", "found dead", place="east")
    diary.write("2027-03-27 23:01", "found dead", place="east")
    diary.write("2027-03-28 22:01", "found dead", place="east")
    diary.write("2027-10-30 22:01", "found dead", place="east")
    diary.write("2027-10-31 22:59", "found dead", place="east")
    diary.write("2027-10-31 23:01", "found dead", place="east")
    state = fold(FARM, diary, LATE)
    days = [(3, 27), (3, 28), (3, 29), (10, 31), (10, 31), (11, 1)]
    assert [(c.on.month, c.on.day) for c in state.batches["a"].dead] == days
    spells = [s for s in state.spells if s.first >= date(2027, 10, 1)]
    assert spells[-2:] == [
        Spell("a", None, "east", date(2027, 11, 1), date(2027, 11, 2), 45),
        Spell("a", None, "east", date(2027, 11, 2), date(2028, 1, 1), 44),
    ]


def test_a_farm_may_begin_with_what_is_alive() -> None:
    diary = Diary()
    old = {"batch": "old", "line": "tawny", "place": "coop", "sex": "pullet", "hatched_on": "2026-03-02"}
    diary.write("2027-06-01 06:00", "present", heads=90, **old)
    diary.write("2027-06-01 06:00", "present", batch="may", line="tawny", heads=40, place="s1", age_d=30)
    diary.write("2027-06-01 06:00", "present", batch="may", line="tawny", heads=35, place="s2", age_d=30)
    diary.write("2027-06-01 06:10", "bought", batch="chicks", line="tawny", heads=100, place="east")
    state = fold(farm(), diary, utc("2027-06-03 06:00"))
    assert state.batches["old"].chicks == 90
    assert state.batches["may"].hatched_on == date(2027, 5, 2)
    assert state.batches["may"].chicks == 75
    assert state.batches["chicks"].hatched_on == date(2027, 6, 1)
    assert heads(state)[("old", "pullet", "coop")] == 90


def test_a_count_stands_beside_the_book_until_explained() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "counted", place="east", heads=47)
    assert fold(FARM, diary, LATE).head_counts == (
        HeadCount(date(2027, 2, 10), "east", None, None, counted=47, book=50, unaccounted=3),
    )
    diary.write("2027-02-11 07:00", "missing", place="east", heads=2)
    state = fold(FARM, diary, LATE)
    assert state.head_counts[0].unaccounted == 1
    assert state.groups[0].heads == 48
    # A death before the count, written down late, explains the rest: the book was lower all along.
    diary.write("2027-02-09 07:00", "found dead", entered="2027-02-12 07:00", place="east")
    state = fold(FARM, diary, LATE)
    assert (state.head_counts[0].book, state.head_counts[0].unaccounted) == (49, 0)


def test_eggs_feed_and_bins() -> None:
    from leyfold.nouns.farm import Bin

    diary = Diary()
    diary.write("2027-06-01 06:00", "feed read", bin="big", kg=900.0)
    diary.write("2027-06-09 06:00", "feed read", bin="big", kg=410.5)
    diary.write("2027-06-09 06:01", "feed read", bin="starter", kg=60.0)  # in bags
    diary.write("2027-06-01 18:00", "eggs", place="coop", eggs=61)
    diary.write("2027-06-01 18:01", "fed", place="coop", kg=11, feed="layers")
    diary.write("2027-06-01 18:02", "note", text="north wind")
    state = fold(farm(bins={"big": Bin("big", "layers", 2000.0)}), diary, LATE)
    assert state.bins_kg == {"big": (date(2027, 6, 9), 410.5), "starter": (date(2027, 6, 9), 60.0)}
    assert [(c.on, c.number, c.place) for c in state.eggs] == [(date(2027, 6, 1), 61, "coop")]
    assert [(c.number, c.place) for c in state.fed_kg] == [(11, "coop")]


def test_a_kind_not_known_yet_changes_nothing() -> None:
    diary = batch_of_fifty()
    expected = fold(FARM, diary, LATE)
    ringed = diary.write("2027-02-10 07:00", "ringed", batch="a", colour=["blue"])
    assert fold(FARM, diary, LATE) == replace(expected, unknown=(ringed,))


def test_nothing_after_the_instant_counts() -> None:
    diary = batch_of_fifty()
    assert fold(FARM, diary, utc("2027-01-26 09:59")).groups == ()
    assert fold(FARM, diary, utc("2027-01-26 10:00")).groups == (Group("a", None, "east", 50),)
    assert fold(FARM, [], LATE) == State(day=date(2028, 1, 1))


def test_a_record_that_cannot_be_is_named() -> None:
    diary = batch_of_fifty()
    bad = diary.write("2027-02-10 07:00", "found dead", place="east", heads=51)
    with pytest.raises(BadInput) as error:
        fold(FARM, diary, LATE, strict=True)
    assert bad in str(error.value)
    assert "51 birds of 50" in str(error.value)
