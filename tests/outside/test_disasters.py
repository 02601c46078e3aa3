"""What a plan must survive, case by case, on a farm of our own invention with little to spare.

The cases are those a smallholder names: each is answered with who is alive where, the first promise that
breaks and its day, a mend that was walked through and has a price, what to do before dark, and what to learn.
What an answer says of birds is counted here by hand from what happened; chances are held to the exact ones of
the season with the mend in it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from disasters import CASES, MORE_PULLETS
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Incubator
from leyfold.nouns.limits import Limit
from leyfold.nouns.replanned import Replanned
from leyfold.season.chance import number_by
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from logs import Diary
from troubles import HOLLOW_ASH, after, year


def heads(found: Replanned, place: str) -> int:
    return sum(a.heads for a in found.alive if a.place == place)


@pytest.mark.parametrize("name", CASES)
def test_every_disaster_is_answered(name: str) -> None:
    case = CASES[name]
    found = after(case.day, *case.what, farm=case.farm)
    assert {place: heads(found, place) for place in case.alive} == case.alive
    assert found.first is not None
    assert (found.first.id, found.first.first) == case.first
    assert not found.first.before
    whole = [m for m in found.mends if m.verified]
    assert whole, [m.said for m in found.mends]
    assert {m.kind for m in whole} & case.mends
    for mend in whole:
        assert mend.cost is not None
        assert found.first.id in mend.mends
        assert not mend.new
    assert [m.verified for m in found.mends] == sorted((m.verified for m in found.mends), reverse=True)
    new = {b.id for b in found.broken if not b.before}
    ranked = [(len(new & set(m.leaves)), m.cost) for m in whole if m.cost is not None]
    assert ranked == sorted(ranked)
    assert any(case.dark in said for said in found.today)
    assert any(case.learn in said for said in found.learn)
    assert not case.care or any(case.care in said for said in found.cautions)
    # Whoever is alive is alive somewhere; every number is told, and those that the case asks for.
    assert all(a.heads > 0 and a.place for a in found.alive)
    assert {n.name for n in found.numbers} >= set(case.numbers)
    assert all(n.said and "{" not in n.said and ":l" not in n.said for n in found.numbers)


@pytest.mark.parametrize("name", ["poor hatch", "fox night", "mains off", "wrong sex ratio"])
def test_a_mend_brings_back_the_chance_that_it_says(name: str) -> None:
    """The exact chance of the season with the mend in it, reckoned outside of the re-plan."""
    case = CASES[name]
    found = after(case.day, *case.what, farm=case.farm)
    wish = next(w for w in case.farm.wishes if w.id == "flock")
    for mend in (m for m in found.mends if m.verified):
        plan = complete(mend.farm, mend.plan)
        assert not expect(mend.farm, plan).breaches
        chance = number_by(mend.farm, plan, "pullets", wish.on).at_least(wish.number)
        said = next(o for o in mend.odds if o.wish == "flock")
        assert said.now == pytest.approx(chance, abs=1e-9)
        assert chance >= wish.chance > (said.before or 0.0)


@pytest.mark.parametrize("name", ["late spring", "housing order", "shelters blown over"])
def test_a_mend_passes_no_limit(name: str) -> None:
    """Floor by hand: heads over the birds a square metre takes at their age, each day in each room."""
    case = CASES[name]
    found = after(case.day, *case.what, farm=case.farm)
    for mend in (m for m in found.mends if m.verified):
        season = expect(mend.farm, complete(mend.farm, mend.plan))
        assert not [b for b in season.breaches if b.last >= found.day]
        for room, kit in mend.farm.brooders.items():
            need = 0.0
            for day in range(season.index(found.day), season.days):
                need = max(need, sum(
                    float(season.heads[i, day]) / _takes(int(season.age_d[i, day]))
                    for i, lot in enumerate(season.lots) if lot.place == room
                ))  # fmt: skip
            assert need <= kit.floor_m2 * (1 + 1e-9)


def _takes(age_d: int) -> int:
    """Birds to a square metre at an age: the start values of the farm of the tests."""
    return 25 if age_d < 14 else 18 if age_d < 28 else 11 if age_d < 42 else 8


def test_what_kills_within_the_hour_comes_first() -> None:
    """However it is told: chicks without heat, then birds without water, then paper."""
    found = after("2027-05-08", "phone lost", "no water in s1", "power off 3 h")
    said = [
        next(i for i, one in enumerate(found.today) if word in one)
        for word in ("Chicks under lamps first", "Water to them within the hour", "pencil, true hour")
    ]
    assert said == sorted(said)
    both = after("2027-05-20", "housing until 2027-07-20", "no water in s1", farm=CASES["housing order"].farm)
    assert [b.first for b in both.broken if b.promise in ("limit", "water")][:2] == [both.day, both.day]
    assert both.first is not None
    assert both.first.id == "water:s1"


def test_a_raid_that_is_written_down_is_answered() -> None:
    """The dead of that place and day are its number; a week later nothing comes back any more."""
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s1", "sex": "pullet", "hatched_on": "2027-03-01"}
    diary.write("2027-05-20 06:00", "present", heads=28, **there)
    diary.write("2027-05-31 05:00", "found dead", place="s1", heads=1)
    diary.write("2027-06-01 05:00", "found dead", place="s1", heads=9)
    diary.write("2027-06-01 05:05", "trouble", what="fox", place="s1")
    found = after("2027-06-01", records=tuple(diary))
    assert found.facts == ("fox s1",)
    assert heads(found, "s1") == 18
    [dead] = [n for n in found.numbers if n.name == "dead_heads"]
    assert dead.value == 9
    assert any("Find where it got in" in said for said in found.today)
    assert after("2027-06-09", records=tuple(diary)).facts == ()


def test_unsorted_birds_are_moved_together() -> None:
    """59 birds not sorted yet, no more than 50 in a shelter: whatever makes room takes both sexes alike."""
    few = Limit("few", "heads", "shelter", 50.0, "test", verified=False)
    farm = replace(HOLLOW_ASH, limits=(*HOLLOW_ASH.limits, few))
    found = after("2027-05-12", "dead 1 in s3", farm=farm)
    assert {"shelter", "barn"} & {m.kind for m in found.mends}
    for mend in found.mends:
        season = expect(mend.farm, complete(mend.farm, mend.plan))
        day = season.index(date(2027, 5, 20))
        shares: dict[str, list[float]] = {"pullet": [], "cockerel": []}
        for i, lot in enumerate(season.lots):
            if lot.batch == "middle" and season.heads[i, day] > 0:
                shares[lot.sex].append(float(season.heads[i, day]))
        assert sorted(shares["pullet"]) == pytest.approx(sorted(shares["cockerel"]))


def test_nobody_is_set_again_and_nothing_past_is_moved() -> None:
    for name in CASES:
        if name in ("drought", "killing day lost", "poor hatch"):
            case = CASES[name]
            found = after(case.day, *case.what, farm=case.farm)
            eggs = {b.id: b.eggs for b in year().batches if b.set_on and b.set_on <= found.day}
            for mend in found.mends:
                for batch in mend.plan.batches:
                    assert batch.set_on is None or batch.set_on > found.day or batch.eggs == eggs[batch.id]
                    assert all(d.on > found.day for d in batch.drafts if d.share > 0 and batch.id != "old")


def test_what_is_to_be_killed_today_is_killed_today() -> None:
    """Nobody has written it down by the evening, and the order of that day is met all the same; unless the
    day is lost, and then it is found again. What was due the day before has eaten: tomorrow."""
    due = date(2027, 6, 7)
    farm = replace(HOLLOW_ASH, orders=(replace(HOLLOW_ASH.orders[0], on=due),))

    def killed(found: Replanned) -> list[date]:
        return [d.on for b in found.plan.batches if b.id == "early" for d in b.drafts]

    found = after("2027-06-07", farm=farm)
    assert killed(found) == [due]
    assert heads(found, "s2") == 28
    assert [b.id for b in found.broken if b.promise in ("order", "killing")] == []
    lost = after("2027-06-07", "no killing 2027-06-07", farm=farm)
    assert killed(lost) > [due]
    assert {b.id for b in lost.broken} >= {"order:inn"}
    found_again = [m.plan for m in lost.mends if "early" in m.said]
    assert found_again
    assert all(d.on > due for plan in found_again for b in plan.batches for d in b.drafts if d.share > 0)
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s2", "sex": "cockerel", "hatched_on": "2027-03-01"}
    diary.write("2027-06-01 06:00", "present", heads=28, **there)
    assert killed(after("2027-06-07", records=tuple(diary))) == [due]
    assert killed(after("2027-06-08", records=tuple(diary))) == [date(2027, 6, 9)]


def test_a_phone_in_the_lake() -> None:
    """Nothing older than last evening is lost: what the server has is the book, paper takes over."""
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s1", "sex": "pullet", "hatched_on": "2027-03-01"}
    diary.write("2027-05-30 06:00", "present", heads=27, **there)
    diary.write("2027-06-01 05:00", "found dead", place="s1", heads=2)
    found = after("2027-06-01", "phone lost", records=tuple(diary))
    assert heads(found, "s1") == 25
    assert heads(found, "s3") == 58  # nobody wrote of these: they stand as planned
    assert any("pencil, true hour" in said for said in found.today)
    assert any("Count every place by hand" in said for said in found.today)
    assert any("no more than a day" in said for said in found.learn)
    assert any("since it last came home" in said for said in found.unsure)


def test_chicks_of_a_burnt_room_sleep_under_heat() -> None:
    """59 chicks of 26 days out of the loft go to the barn, not to grass; six weeks of its floor are told.
    With no room left they stand in a shelter, and it is said that they want heat."""
    found = after("2027-05-08", "loft lost")
    assert (heads(found, "barn"), heads(found, "s3")) == (59, 0)
    assert {n.of for n in found.numbers if n.name == "barn_m2"} == {"barn"}
    assert any("mains off at the board" in said for said in found.today)
    assert not any("Stake every other" in said for said in found.today)
    assert any("burns barns down" in said for said in found.cautions)
    both = after("2027-05-08", "loft lost", "barn lost")
    assert heads(both, "s3") == 59
    assert any("Chicks in s3 have no heat there" in said for said in both.today)
    assert both.first is not None
    assert "no brooder is left" in both.first.said
    assert both.first.first == date(2027, 6, 7)  # the next hatch
    assert {m.kind for m in both.mends if m.verified} & {"barn_more", "cancel_set"}


def test_eggs_of_a_burnt_machine_want_another() -> None:
    """84 eggs of 22 March in the only machine: a neighbour's; with a second one its places are told."""
    found = after("2027-04-05", "box lost")
    [n] = [n for n in found.numbers if n.name == "eggs_none"]
    assert (n.of, n.value) == ("middle", 84)
    assert any("neighbour's of the same size" in said for said in found.unsure)
    two = replace(HOLLOW_ASH, incubators={**HOLLOW_ASH.incubators, "old": Incubator("old", 100)})
    [n] = [n for n in after("2027-04-05", "box lost", farm=two).numbers if n.name == "eggs_homeless"]
    assert "100 places are free in old" in n.said


def test_a_mixed_group_is_said_to_be_one() -> None:
    found = after("2027-06-12", "loose s1 s3")
    assert found.mixed == (("s1", "s3"),)
    assert any("s1 + s3: 57 birds together" in said for said in found.unsure)


def test_birds_of_lost_places_stay_mixed_where_they_fled() -> None:
    """Loose together, and one of the two shelters is gone: what holds for some holds for all where they stand
    tonight."""
    found = after("2027-06-12", "s2 lost", "loose s2 s1")
    assert found.mixed == (("loft", "s1"),)
    there = heads(found, "loft") + heads(found, "s1")
    assert any(f"loft + s1: {there} birds together" in said for said in found.unsure)


@pytest.mark.parametrize("day", ["2027-06-07", "2027-06-08"])
def test_sorted_birds_stand_where_the_plan_parts_them(day: str) -> None:
    """The plan sorts them on 7 June. Told that evening or on the next, three in four are cockerels, and they
    stand apart from the pullets, in the two places of the plan: no alarm reckons them together."""
    planned = {(a.place, a.sex) for a in after("2027-06-08").alive if a.batch == "middle"}
    found = after(day, "cockerels 75 % of middle")
    own = {(a.place, a.sex): a.heads for a in found.alive if a.batch == "middle"}
    assert own.keys() == planned
    cocks = sum(n for (_, sex), n in own.items() if sex == "cockerel")
    assert cocks == round(0.75 * sum(own.values()))
    # By hand: cockerels alone stand in s2, from the evening on.
    seen = expect(found.farm, complete(found.farm, found.plan))
    there = seen.places["s2"].heads[seen.index(date(2027, 6, 9))]
    assert cocks - 1 < there <= cocks


def test_a_swap_puts_the_sexes_even() -> None:
    """43 cockerels and 14 pullets: 14 given for as many leave 29 and 28, as due; they stand where those stood
    whom they replace, and that a neighbour has them is a guess."""
    farm, (day, what) = MORE_PULLETS, ("2027-06-06", "cockerels 75 % of middle")
    found = after(day, what, farm=farm)
    [mend] = [m for m in found.mends if m.kind == "swap"]
    batch = next(b for b in mend.plan.batches if b.id == "middle")
    assert (batch.heads["cockerel"], batch.heads["pullet"]) == (29, 28)
    assert mend.verified
    assert all(t.guess for t in mend.terms)
    places = {(x.sex, x.place) for x in expect(mend.farm, complete(mend.farm, mend.plan)).lots}
    assert places == {(x.sex, x.place) for x in expect(found.farm, complete(found.farm, found.plan)).lots}
    assert any("Birds from elsewhere bring what they carry" in said for said in found.today)


def test_a_sorting_written_down_is_parted_as_the_plan_has_it() -> None:
    """The record says no place for either sex: they were parted all the same, and it is said that so it is
    taken."""
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s2", "hatched_on": "2027-03-01"}
    diary.write("2027-04-12 06:00", "present", heads=56, **there)
    diary.write("2027-04-26 10:00", "sorted", batch="early", pullets=20, cockerels=36, place="s2")
    found = after("2027-04-26", records=tuple(diary))
    own = {a.sex: (a.place, a.heads) for a in found.alive if a.batch == "early"}
    assert own["pullet"][0] != own["cockerel"][0]
    assert (own["pullet"][1], own["cockerel"][1]) == (20, 36)
    assert any("early: sorted today" in said for said in found.unsure)


@pytest.mark.parametrize(("what", "wrong"), [
    ("cockerels 60 % of early", "sorted already"), ("cockerels 60 % of late", "no bird of late"),
])  # fmt: skip
def test_a_sex_ratio_that_cannot_be_told_is_refused(what: str, wrong: str) -> None:
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s1", "sex": "pullet", "hatched_on": "2027-03-01"}
    diary.write("2027-05-01 06:00", "present", heads=27, **there)
    with pytest.raises(BadInput, match=wrong):
        after("2027-05-10", what, records=tuple(diary))


def test_a_withdrawal_goes_with_birds_that_are_mixed() -> None:
    """A withdrawal of one group holds for all that were loose with it, and for no other."""

    def killed(*what: str) -> set[date]:
        plan = after("2027-07-10", *what, "withdrawal in s1 until 2027-09-30").plan
        return {d.on for b in plan.batches if b.id == "middle" for d in b.drafts}

    assert killed("loose s1 s2") == {date(2027, 9, 30)}
    assert killed("loose s2 s3") == {date(2027, 7, 19), date(2027, 8, 2)}


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("the sky falls", "nothing is known by these words"),
        ("dead in s1", "how many is not said"),
        ("dead 3 in barn-of-nowhere", "nothing this can be about"),
        ("drought", "without the day on which it is over"),
        ("housing from 2027-07-01 until 2027-06-01", "before it begins"),
        ("dead 400 in s1", "more than the 28 there"),
        ("dead 3 in s1 on 2027-13-40", "is no day"),
        ("dead 3 in s1 on 2027-06-20", "has not come"),
    ],
)
def test_what_is_not_understood_is_refused(text: str, wrong: str) -> None:
    with pytest.raises(BadInput, match=wrong):
        after("2027-06-01", text)
