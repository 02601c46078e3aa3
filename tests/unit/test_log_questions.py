"""What contradicts the book is asked, not lost and not guessed; counts, glances and the book stand apart."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from farms import farm
from leyfold.log import Folding, fold
from leyfold.log.kinds.said import Answer
from leyfold.nouns.farm import Bin
from leyfold.nouns.question import Question
from leyfold.nouns.record import State
from logs import Diary, batch_of_fifty, utc

FARM = farm(bins={"big": Bin("big", "grower", 2000.0)}, measures={"bucket": "7 kg", "churn": "20 l"})
LATE = utc("2028-01-01 12:00")


def state(diary: Diary) -> State:
    return fold(FARM, diary, LATE)


def heads(diary: Diary) -> dict[tuple[str, str | None, str], int]:
    return {(g.batch, g.sex, g.place): g.heads for g in state(diary).groups}


def choose(diary: Diary, question: Question, **fits: object) -> None:
    (choice,) = [c for c in question.choices if all(c.data.get(k) == v for k, v in fits.items())]
    assert Answer.model_validate(choice.data)
    diary.write("2027-12-01 08:00", "answer", **choice.data)


def test_more_dead_than_alive_is_asked_and_the_rest_goes_on() -> None:
    diary = batch_of_fifty()
    bad = diary.write("2027-02-10 07:00", "found dead", place="east", heads=51)
    diary.write("2027-02-11 07:00", "found dead", place="east", heads=2)
    diary.write("2027-02-11 07:00", "fed", place="east", kg=4.0)
    (question,) = state(diary).questions
    assert (question.id, question.why, question.place) == (bad, "contradiction", "east")
    assert "51 birds of 50" in question.said
    assert question.mend
    assert heads(diary) == {("a", None, "east"): 48}
    assert len(state(diary).fed_kg) == 1


@pytest.mark.parametrize(
    ("keep", "alive", "dead", "over"),
    [("left out", 50, 0, 0), ("all there", 0, 50, 0), ("as it stands", 0, 53, 3)],
)
def test_more_than_the_book_answered(keep: str, alive: int, dead: int, over: int) -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "found dead", place="east", heads=53)
    choose(diary, state(diary).questions[0], keep=keep)
    now = state(diary)
    assert now.questions == ()
    facts = now.batches["a"]
    assert sum(g.heads for g in now.groups) == alive
    assert sum(c.number for c in facts.dead) == dead
    assert [-c.number for c in facts.gone if c.kind == "over"] == ([over] if over else [])


def test_which_birds_is_asked_with_the_groups_that_fit() -> None:
    diary = batch_of_fifty()
    diary.write("2027-03-23 10:00", "sorted", batch="a", pullets=24, cockerels=26)
    diary.write("2027-03-24 07:00", "found dead", place="east")
    (question,) = state(diary).questions
    assert question.why == "which"
    choose(diary, question, keep="these", sex="pullet")
    assert heads(diary) == {("a", "cockerel", "east"): 26, ("a", "pullet", "east"): 23}


def test_what_does_not_count_is_no_double_of_what_comes_after() -> None:
    """Two people say of 51 dead among 50: neither counts, so neither is the other over again."""
    diary = batch_of_fifty()
    for who in ("ada", "ben"):
        diary.write("2027-02-10 07:00", "found dead", place="east", heads=51)
        diary.records[-1] = replace(diary.records[-1], who=who)
    assert [q.why for q in state(diary).questions] == ["contradiction", "contradiction"]


def test_trouble_settled_later_is_told_anew() -> None:
    diary = batch_of_fifty()
    fox = diary.write("2027-03-04 05:00", "trouble", what="fox", place="east", heads=3)
    diary.write("2027-03-05 05:00", "trouble", what="sick", place="east")
    folding = Folding(FARM)
    folding.add(diary)
    assert folding.state(LATE).troubles[0].settled_on is None
    diary.write("2027-03-08 06:00", "settled", of=fox)
    folding.add(diary)
    assert folding.state(LATE).troubles[0].settled_on == date(2027, 3, 8)
    assert folding.state(utc("2027-03-07 06:00")).troubles[0].settled_on is None


def test_a_phone_out_of_signal_still_speaks_of_the_old_place() -> None:
    """Sorted and moved at ten; somebody writes at eleven of the place where they stood."""
    diary = batch_of_fifty()
    diary.write("2027-03-23 10:00", "sorted", batch="a", pullets=24, cockerels=26, pullets_to="s2",
                cockerels_to="s3")  # fmt: skip
    diary.write("2027-03-23 09:00", "found dead", entered="2027-03-23 20:00", place="east")
    late = state(diary)
    # One died before: then the sorting counted one bird more than there was.
    assert [q.why for q in late.questions] == ["contradiction"]
    diary.records.pop()
    diary.write("2027-03-23 11:00", "found dead", entered="2027-03-23 20:00", place="east")
    (question,) = state(diary).questions
    choose(diary, question, keep="these", place="s3")
    assert heads(diary) == {("a", "cockerel", "s3"): 25, ("a", "pullet", "s2"): 24}


def test_an_answer_that_does_not_settle_it_is_asked_on() -> None:
    diary = batch_of_fifty()
    diary.write("2027-03-23 10:00", "sorted", batch="a", pullets=24, cockerels=26)
    diary.write("2027-03-24 07:00", "killed", place="east", heads=25)
    choose(diary, state(diary).questions[0], keep="these", sex="pullet")
    (question,) = state(diary).questions
    assert "25 birds of 24" in question.said
    choose(diary, question, keep="all there")
    assert heads(diary) == {("a", "cockerel", "east"): 26}


def test_a_hatch_far_off_may_stand() -> None:
    diary = Diary()
    diary.write("2027-01-05 09:00", "set", batch="a", line="tawny", eggs=60)
    diary.write("2027-02-05 09:00", "hatched", batch="a", chicks=40, place="east")
    diary.write("2027-02-06 09:00", "found dead", place="east")
    assert [q.kind for q in state(diary).questions] == ["hatched", "found dead"]
    choose(diary, state(diary).questions[0], keep="as it stands")
    assert heads(diary) == {("a", None, "east"): 39}
    assert state(diary).questions == ()


def test_a_correction_settles_a_question() -> None:
    diary = batch_of_fifty()
    bad = diary.write("2027-02-10 07:00", "found dead", place="east", heads=51)
    diary.write("2027-02-11 07:00", "correction", of=bad, data={"place": "east", "heads": 1})
    assert (state(diary).questions, heads(diary)) == ((), {("a", None, "east"): 49})


def test_faulty_data_are_asked_and_can_be_left_out() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "found dead", place="east", heads="two")
    (question,) = state(diary).questions
    assert question.why == "faulty"
    assert "'two' is not a whole number" in question.said
    choose(diary, question, keep="left out")
    assert state(diary).questions == ()


def test_a_clock_years_behind_is_one_question_a_device() -> None:
    diary = batch_of_fifty()
    for day in (1, 2, 3):
        diary.write(f"1970-01-0{day} 07:00", "fed", place="east", kg=2.0)
    (question,) = state(diary).questions
    assert (question.why, len(question.about)) == ("clock", 3)
    assert state(diary).fed_kg == ()
    choose(diary, question, keep="as it stands")
    assert (state(diary).questions, len(state(diary).fed_kg)) == ((), 3)


def test_a_clock_ahead_is_asked_about_by_the_clock_that_shows_now() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 09:30", "found dead", place="east")
    diary.write("2061-02-10 09:30", "found dead", place="east")
    now = utc("2027-02-10 08:00")
    plain = fold(FARM, diary, now)
    assert [(q.why, len(q.about)) for q in plain.questions] == [("clock", 1)]
    known = fold(FARM, diary, now, now=now)
    assert [(q.why, len(q.about)) for q in known.questions] == [("clock", 2)]
    assert plain.groups == known.groups == fold(FARM, batch_of_fifty(), now).groups
    # A clock a little fast is none that was wrong: what was tapped just now counts.
    nearly = utc("2027-02-10 09:27")
    assert fold(FARM, diary, nearly, now=nearly).groups[0].heads == 49
    assert fold(FARM, diary, nearly).groups[0].heads == 50
    # Looking back from later, nothing is ahead but the clock that is years out.
    assert len(fold(FARM, diary, now, now=utc("2027-03-01 08:00")).questions[0].about) == 1


def test_glance_count_and_book_are_three_things() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "glance", place="east", heads=44)
    now = state(diary)
    assert (now.head_counts, now.groups[0].heads) == ((), 50)
    assert [(g.heads, g.book) for g in now.glances] == [(44, 50)]
    diary.write("2027-02-10 08:00", "counted", place="east", heads=47)
    diary.write("2027-02-10 09:00", "glance", place="east", heads=50)
    now = state(diary)
    assert (now.head_counts[0].unaccounted, now.groups[0].heads) == (3, 50)


def test_found_alive_explains_or_brings_back() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 08:00", "counted", place="east", heads=47)
    diary.write("2027-02-10 09:00", "found alive", place="east")
    # It was in the book all along.
    assert (state(diary).head_counts[0].unaccounted, heads(diary)) == (2, {("a", None, "east"): 50})
    diary.write("2027-02-11 08:00", "missing", place="east", heads=2)
    assert (state(diary).head_counts[0].unaccounted, heads(diary)) == (0, {("a", None, "east"): 48})
    diary.write("2027-02-12 08:00", "found alive", place="s1")
    now = state(diary)
    assert heads(diary) == {("a", None, "east"): 48, ("a", None, "s1"): 1}
    assert [(c.kind, c.number) for c in now.batches["a"].gone] == [("missing", 2), ("found alive", -1)]
    diary.write("2027-02-13 08:00", "found alive", place="east", heads=4)
    (question,) = state(diary).questions
    assert "4 birds found alive of 1 missing" in question.said
    choose(diary, question, keep="as it stands")
    assert heads(diary) == {("a", None, "east"): 52, ("a", None, "s1"): 1}


def test_feed_in_the_farms_own_measure() -> None:
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "fed", place="east", measure="bucket", measures=1.5)
    diary.write("2027-02-10 08:00", "fed", place="east", measure="bucket", measures=1.0, kg=6.4)
    diary.write("2027-02-10 09:00", "watered", place="east", measure="churn", measures=2.0, runs=True)
    diary.write("2027-02-10 10:00", "fed", place="east", measure="churn", measures=1.0)
    now = state(diary)
    assert [c.number for c in now.fed_kg] == [10.5, 6.4]
    assert (now.water_l[0].number, now.watered["east"].runs) == (40.0, True)
    assert ["a churn is no measure of kg" in q.said for q in now.questions] == [True]


def test_a_delivery_adds_to_the_last_reading() -> None:
    diary = Diary()
    diary.write("2027-03-01 07:00", "delivered", feed="grower", kg=400.0, bin="big")
    diary.write("2027-03-02 07:00", "feed read", bin="big", kg=650.0)
    diary.write("2027-03-09 07:00", "delivered", feed="grower", kg=1000.0, bin="big", paid=540.0)
    now = state(diary)
    assert now.bins_kg == {"big": (date(2027, 3, 2), 1650.0)}
    assert [c.number for c in now.delivered_kg] == [400.0, 1000.0]
    assert [(e.what, e.paid) for e in now.expenses] == [("grower", 540.0)]


def test_the_office() -> None:
    diary = batch_of_fifty()
    diary.write("2027-03-01 07:00", "ordered", order="o1", customer="c7", number=12, on="2027-06-20")
    diary.write("2027-03-02 07:00", "deposit", order="o1", paid=20.0)
    diary.write("2027-03-03 07:00", "deposit", order="o1", paid=15.0)
    fox = diary.write("2027-03-04 05:00", "trouble", what="fox", place="east", heads=3)
    diary.write("2027-03-04 06:00", "mains off", room_C=4.0)
    diary.write("2027-03-04 06:30", "mains off", place="east")
    diary.write("2027-03-04 09:00", "mains back")
    diary.write("2027-03-08 06:00", "settled", of=fox)
    diary.write("2027-03-09 06:00", "ordered", order="o1", customer="c8", number=3, on="2027-06-20")
    now = state(diary)
    assert (now.orders["o1"].number, now.orders["o1"].deposit) == (12, 35.0)
    assert now.troubles[0].settled_on == date(2027, 3, 8)
    assert [off.back_at for off in now.mains_off] == [utc("2027-03-04 09:00")] * 2
    assert [q.kind for q in now.questions] == ["ordered"]


def test_questions_come_and_go_with_what_is_brought_in() -> None:
    """A death written down on one phone before the hatch has come in from the other."""
    diary = batch_of_fifty()
    diary.write("2027-02-10 07:00", "found dead", place="east")
    hatch = diary.records.pop(2)
    folding = Folding(FARM)
    folding.add(diary)
    assert [q.why for q in folding.state(LATE).questions] == ["contradiction"]
    folding.add([hatch])
    assert folding.state(LATE).questions == ()
    assert folding.state(LATE).groups[0].heads == 49
