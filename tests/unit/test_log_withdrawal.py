"""Withdrawal follows the birds, takes the longest where they are put together, and has no end while
medicated feed lies about."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from farms import farm
from leyfold.log import fold
from leyfold.nouns.happened import Withdrawal
from logs import Diary, batch_of_fifty, utc

FARM = farm()
DOSED = date(2027, 3, 1)


def held(diary: Diary, day: str) -> dict[tuple[str, str], Withdrawal]:
    state = fold(FARM, diary, utc(f"{day} 20:00"))
    assert state.questions == ()
    stops = {(s.batch, s.place, s.until) for s in state.stops if s.why == "withdrawal"}
    assert stops == {(w.batch, w.place, w.ends()) for w in state.withdrawals}
    return {(w.batch, w.place): w for w in state.withdrawals}


def treated(**data: object) -> Diary:
    diary = batch_of_fifty()
    said = {"medicine": "worm drench", "place": "east", "eggs_d": 0, "meat_d": 7, **data}
    diary.write("2027-03-01 08:00", "treated", **said)
    return diary


def test_whole_days_after_the_last_dose() -> None:
    one = held(treated(), "2027-03-01")[("a", "east")]
    assert (one.meat_until, one.eggs_until, one.ends()) == (date(2027, 3, 9), None, date(2027, 3, 9))
    assert one.holds_meat(date(2027, 3, 8))
    assert not one.holds_meat(date(2027, 3, 9))
    assert not one.holds_eggs(DOSED)
    assert held(treated(), "2027-03-08")
    assert not held(treated(), "2027-03-09")
    assert held(treated(last_on="2027-03-05"), "2027-03-12")[("a", "east")].meat_until == date(2027, 3, 13)


def test_days_not_said_hold_without_end() -> None:
    diary = treated(meat_d=None)
    one = held(diary, "2027-12-01")[("a", "east")]
    assert (one.meat_open, one.eggs_open, one.ends()) == (True, False, None)
    # Once they are said they hold from the dose on.
    said = {"medicine": "worm drench", "place": "east", "eggs_d": 0, "meat_d": 7}
    diary.write("2027-03-02 09:00", "correction", of=diary.records[-1].id, data=said)
    assert held(diary, "2027-03-02")[("a", "east")].meat_until == date(2027, 3, 9)


def test_it_follows_the_birds_and_a_merged_group_takes_the_longest() -> None:
    diary = treated()
    diary.write("2027-03-02 07:00", "bought", batch="b", line="tawny", heads=20, place="s2", age_d=40)
    diary.write("2027-03-02 08:00", "moved", from_="east", to="s1", heads=10)
    diary.write("2027-03-02 09:00", "treated", medicine="sulpha", place="s1", eggs_d=10, meat_d=14)
    # Ten of `a` move in with `b`: nobody can say which of them will be caught.
    diary.write("2027-03-03 08:00", "moved", from_="s1", to="s2")
    now = held(diary, "2027-03-03")
    assert set(now) == {("a", "east"), ("a", "s2"), ("b", "s2")}
    assert now[("a", "east")].meat_until == date(2027, 3, 9)
    for batch in ("a", "b"):
        one = now[(batch, "s2")]
        assert one.medicines == ("sulpha", "worm drench")
        assert (one.eggs_until, one.meat_until) == (date(2027, 3, 13), date(2027, 3, 17))
    # And those of `b` take it along.
    diary.write("2027-03-04 08:00", "moved", batch="b", from_="s2", to="s3")
    assert held(diary, "2027-03-04")[("b", "s3")].meat_until == date(2027, 3, 17)


def test_it_goes_through_the_sorting() -> None:
    diary = treated()
    diary.write("2027-03-03 08:00", "sorted", batch="a", pullets=24, cockerels=26, pullets_to="s1")
    now = held(diary, "2027-03-03")
    assert {key: one.meat_until for key, one in now.items()} == {
        ("a", "s1"): date(2027, 3, 9),
        ("a", "east"): date(2027, 3, 9),
    }


def test_medicated_feed_in_the_trough_counts_until_it_is_cleared() -> None:
    diary = treated(by="feed", feed="starter", last_on="2027-03-03")
    one = held(diary, "2027-03-20")[("a", "east")]
    assert (one.meat_open, one.meat_until, one.ends()) == (True, date(2027, 3, 28), None)
    assert fold(FARM, diary, utc("2027-03-20 20:00")).medicated == {"east": "worm drench"}
    # Those who leave the trough carry seven days from then; those who come to it eat of it.
    diary.write("2027-03-10 08:00", "moved", from_="east", to="s1", heads=10)
    diary.write("2027-03-20 08:00", "bought", batch="b", line="tawny", heads=20, place="east")
    assert held(diary, "2027-03-11")[("a", "s1")].meat_until == date(2027, 3, 18)
    assert held(diary, "2027-03-21")[("b", "east")].meat_open
    diary.write("2027-03-22 08:00", "feed cleared", place="east")
    now = held(diary, "2027-03-23")
    assert {key: (w.meat_until, w.meat_open) for key, w in now.items()} == {
        ("a", "east"): (date(2027, 3, 30), False),
        ("b", "east"): (date(2027, 3, 30), False),
    }


def test_the_medicated_feed_given_elsewhere_counts_there_too() -> None:
    diary = treated(by="feed", feed="starter", last_on="2027-03-05")
    diary.write("2027-03-04 07:00", "bought", batch="b", line="tawny", heads=20, place="s2", age_d=40)
    diary.write("2027-03-05 07:00", "fed", place="s2", kg=4.0, feed="starter")
    assert held(diary, "2027-03-06")[("b", "s2")].meat_open
    # After the course the feed of that name is what it was.
    diary.write("2027-03-07 07:00", "bought", batch="c", line="tawny", heads=20, place="s3", age_d=40)
    diary.write("2027-03-08 07:00", "fed", place="s3", kg=4.0, feed="starter")
    assert ("c", "s3") not in held(diary, "2027-03-08")


def test_what_was_taken_meanwhile_is_withheld() -> None:
    diary = treated(eggs_d=5)
    diary.write("2027-03-02 07:00", "eggs", place="east", eggs=12)
    diary.write("2027-03-08 07:00", "killed", place="east", heads=4)
    diary.write("2027-03-09 07:00", "killed", place="east", heads=4)
    diary.write("2027-03-09 07:00", "eggs", place="east", eggs=9)
    diary.write("2027-03-03 07:00", "found dead", place="east")
    state = fold(FARM, diary, utc("2027-03-10 20:00"))
    assert [(c.kind, c.number) for c in state.withheld] == [("eggs", 12), ("killed", 4)]
    # The birds are gone all the same.
    assert state.groups[0].heads == 41


@given(
    st.lists(
        st.tuples(
            st.integers(0, 30),
            st.sampled_from(("treated", "moved")),
            st.sampled_from(("s1", "s2", "s3")),
            st.sampled_from(("s1", "s2", "s3")),
            st.integers(0, 30),
            st.integers(1, 5),
        ),
        max_size=25,
    )
)
def test_no_bird_is_ever_let_off_early(steps: list[tuple[int, str, str, str, int, int]]) -> None:
    """Against single birds: every group is held at least as long as any bird that may be in it."""
    diary = Diary()
    start = date(2027, 5, 1)
    for n, place in enumerate(("s1", "s2", "s3")):
        diary.write(
            "2027-05-01 05:00", "bought", batch=f"b{n}", line="tawny", heads=10, place=place, age_d=50
        )
    # Which ends may be found in a place for each batch: those of every bird that may have got there.
    may = {(f"b{n}", place): start for n, place in enumerate(("s1", "s2", "s3"))}
    for minute, (offset, kind, place, to, days, heads) in enumerate(sorted(steps)):
        day = start + timedelta(days=offset)
        at = f"{day} 06:{minute:02d}"
        here = [key for key in may if key[1] == place]
        if not here:
            continue
        if kind == "treated":
            diary.write(at, "treated", medicine=f"m{days}", place=place, eggs_d=days, meat_d=days)
            for key in here:
                may[key] = max(may[key], day + timedelta(days=days))
        elif to != place:
            batch = sorted(here)[0][0]
            diary.write(at, "moved", batch=batch, from_=place, to=to, heads=heads)
            state = fold(FARM, diary, utc(f"{day} 23:00"))
            if any(q.id == diary.records[-1].id for q in state.questions):
                continue
            end = may[(batch, place)]
            may[(batch, to)] = max(end, may.get((batch, to), end))
            if not any((g.batch, g.place) == (batch, place) for g in state.groups):
                del may[(batch, place)]
    last = start + timedelta(days=30)
    state = fold(FARM, diary, utc(f"{last} 23:00"))
    ends = {(w.batch, w.place): w.meat_until for w in state.withdrawals}
    for key, end in may.items():
        if end > last:
            assert ends.get(key, start) >= end, key
