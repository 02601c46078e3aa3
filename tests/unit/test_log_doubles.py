"""Two people who write down the same are asked about it, once; what they answer holds everywhere."""

from __future__ import annotations

from dataclasses import replace

import pytest

from farms import farm
from leyfold.log import fold
from leyfold.log.kinds import KINDS
from leyfold.log.kinds.said import Answer
from leyfold.nouns.farm import Cattle, Net
from leyfold.nouns.question import Question
from leyfold.nouns.record import Record, State
from logs import Diary, batch_of_fifty, utc

FARM = farm(cattle={"herd": Cattle("herd", 9)}, nets={"mesh": Net("mesh", 4, 50.0)})
LATE = utc("2028-01-01 12:00")


def by(diary: Diary, who: str, device: str, at: str, kind: str, **data: object) -> str:
    id = diary.write(at, kind, **data)
    diary.records[-1] = replace(diary.records[-1], who=who, device=device)
    return id


def state(diary: Diary) -> State:
    return fold(FARM, diary, LATE)


def heads(diary: Diary) -> int:
    return sum(group.heads for group in state(diary).groups)


def asked(diary: Diary) -> tuple[Question, ...]:
    return state(diary).questions


def answer(diary: Diary, question: Question, keep: str) -> str:
    """Written down as the face does: the choice's own data."""
    (data,) = [choice.data for choice in question.choices if choice.data["keep"] == keep]
    assert Answer.model_validate(data)
    return diary.write("2027-06-01 08:00", "answer", **data)


@pytest.mark.parametrize(
    ("who", "device", "minutes", "number", "asks"),
    [
        ("ben", "tablet", 110, 3, True),
        ("ada", "kitchen", 30, 3, True),  # the same person, once more from the chalk board
        ("ben", "phone", 30, 3, True),
        ("ada", "phone", 30, 3, False),  # one tap a bird is believed
        ("ben", "tablet", 121, 3, False),
        ("ben", "tablet", 30, 2, False),
    ],
)
def test_the_same_deaths_twice(who: str, device: str, minutes: int, number: int, *, asks: bool) -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-10 07:00", "found dead", place="east", heads=3)
    at = f"2027-02-10 {7 + minutes // 60:02d}:{minutes % 60:02d}"
    second = by(diary, who, device, at, "found dead", place="east", heads=number)
    assert [(q.why, q.id) for q in asked(diary)] == ([("double", second)] if asks else [])
    assert heads(diary) == 47 - (0 if asks else number)


@pytest.mark.parametrize(
    ("keep", "alive", "day"), [("first", 47, 10), ("both", 44, 10), ("second", 47, 11), ("neither", 50, None)]
)
def test_each_answer(keep: str, alive: int, day: int | None) -> None:
    """The first is of the 10th in the farm's zone, the second of the 11th."""
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-10 22:30", "found dead", place="east", heads=3)
    by(diary, "ben", "tablet", "2027-02-10 23:30", "found dead", place="east", heads=3)
    (question,) = asked(diary)
    assert "ada" in question.said
    assert "ben" in question.said
    said = answer(diary, question, keep)
    assert asked(diary) == ()
    assert heads(diary) == alive
    dead = state(diary).batches["a"].dead
    assert [c.on.day for c in dead][:1] == ([day] if day else [])
    diary.write("2027-06-02 08:00", "correction", of=said, void=True)
    assert asked(diary) == (question,)
    assert heads(diary) == 47


def test_bird_by_bird_by_two_people_is_one_question() -> None:
    diary = batch_of_fifty()
    for minute in (0, 1, 2):
        by(diary, "ada", "phone", f"2027-02-10 07:0{minute}", "found dead", place="east")
    for minute in (20, 21, 22, 23):
        by(diary, "ben", "tablet", f"2027-02-10 07:{minute}", "found dead", place="east")
    (question,) = asked(diary)
    assert len(question.about) == 6
    # The fourth of the second person has nothing to be a double of.
    assert heads(diary) == 46
    answer(diary, question, "first")
    assert (asked(diary), heads(diary)) == ((), 46)
    diary.records.pop()
    answer(diary, question, "both")
    assert (asked(diary), heads(diary)) == ((), 43)


def test_birds_told_apart_are_no_doubles() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-09 07:00", "bought", batch="b", line="tawny", heads=20, place="east")
    by(diary, "ada", "phone", "2027-02-10 07:00", "found dead", place="east", batch="a")
    by(diary, "ben", "tablet", "2027-02-10 07:10", "found dead", place="east", batch="b")
    assert (asked(diary), heads(diary)) == ((), 68)


def test_a_late_first_turns_the_second_into_the_double() -> None:
    """What came in first does not matter, only what happened first."""
    diary = batch_of_fifty()
    by(diary, "ben", "tablet", "2027-02-10 08:00", "found dead", place="east")
    assert asked(diary) == ()
    by(diary, "ada", "phone", "2027-02-10 07:00", "found dead", place="east")
    (question,) = asked(diary)
    assert question.id == diary.records[-2].id
    assert heads(diary) == 49


@pytest.mark.parametrize(
    ("kind", "field", "data"),
    [
        ("shelter moved", "moves", {"place": "s1"}),
        ("shut in", "looks", {"place": "s1", "doors": True}),
        ("fence shifted", "fence_moves", {"net": "mesh"}),
        ("break opened", "breaks", {"cattle": "herd"}),
    ],
)
def test_once_a_date_unless_declared(kind: str, field: str, data: dict[str, object]) -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-05-10 05:00", kind, **data)
    by(diary, "ben", "tablet", "2027-05-10 13:00", kind, **data)
    by(diary, "ben", "tablet", "2027-05-11 05:00", kind, **data)
    assert len(getattr(state(diary), field)) == 2
    (question,) = asked(diary)
    by(diary, "ben", "tablet", "2027-05-11 13:00", kind, **data, again=True)
    assert [one.nth for one in getattr(state(diary), field)] == [1, 1, 2]
    assert asked(diary) == (question,)
    answer(diary, question, "both")
    assert [one.nth for one in getattr(state(diary), field)] == [1, 2, 1, 2]


def test_a_shelter_that_goes_twice_a_day_by_the_farm_file_is_not_asked_about() -> None:
    twice = farm(shelters={"s1": replace(FARM.shelters["s1"], moves_per_day=2.0)})
    diary = Diary()
    by(diary, "ada", "phone", "2027-05-10 05:00", "shelter moved", place="s1")
    by(diary, "ben", "tablet", "2027-05-10 13:00", "shelter moved", place="s1")
    assert fold(twice, diary, LATE).questions == ()
    by(diary, "ben", "tablet", "2027-05-10 17:00", "shelter moved", place="s1")
    assert len(fold(twice, diary, LATE).questions) == 1
    # Two people within two hours of each other have more likely marked one move.
    diary.records[1] = replace(diary.records[1], at=utc("2027-05-10 05:40"))
    assert len(fold(twice, diary.records[:2], LATE).questions) == 1


def test_feed_adds_up_unless_person_amount_and_minute_are_one() -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-10 07:00:05", "fed", place="east", kg=8.0)
    by(diary, "ben", "tablet", "2027-02-10 07:00:20", "fed", place="east", kg=8.0)
    by(diary, "ada", "phone", "2027-02-10 07:01:00", "fed", place="east", kg=8.0)
    by(diary, "ada", "phone", "2027-02-10 07:01:30", "fed", place="east", kg=7.0)
    assert (len(state(diary).fed_kg), asked(diary)) == (4, ())
    by(diary, "ada", "kitchen", "2027-02-10 07:01:50", "fed", place="east", kg=7.0)
    assert (len(state(diary).fed_kg), len(asked(diary))) == (4, 1)


def test_a_batch_moved_by_both_is_moved_once() -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-23 08:00", "moved", from_="east", to="s1", heads=20)
    by(diary, "ben", "tablet", "2027-02-23 08:30", "moved", from_="east", to="s1", heads=20)
    assert {(g.place, g.heads) for g in state(diary).groups} == {("east", 30), ("s1", 20)}
    (question,) = asked(diary)
    answer(diary, question, "both")
    assert {(g.place, g.heads) for g in state(diary).groups} == {("east", 10), ("s1", 40)}


def test_the_last_answer_holds_wherever_it_comes_in() -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-10 07:00", "found dead", place="east", heads=3)
    by(diary, "ben", "tablet", "2027-02-10 07:30", "found dead", place="east", heads=3)
    (question,) = asked(diary)
    answer(diary, question, "both")
    answer(diary, question, "first")
    records: list[Record] = list(diary)
    assert fold(FARM, records, LATE) == fold(FARM, records[::-1], LATE)
    assert heads(diary) == 47


def test_strict_asks_nothing() -> None:
    diary = batch_of_fifty()
    by(diary, "ada", "phone", "2027-02-10 07:00", "found dead", place="east", heads=3)
    by(diary, "ben", "tablet", "2027-02-10 07:30", "found dead", place="east", heads=3)
    strict = fold(FARM, diary, LATE, strict=True)
    assert (strict.questions, strict.groups[0].heads) == ((), 44)


def test_every_kind_is_heard() -> None:
    from leyfold.log.hearing import HEAR

    assert set(HEAR) == set(KINDS) - {"correction", "answer"}
