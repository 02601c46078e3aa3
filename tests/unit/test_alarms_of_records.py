"""Alarms that the records sound, day by day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from scipy.stats import binom, poisson

from farms import farm
from leyfold.log import Folding, fold
from leyfold.nouns.alarm import Alarm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.season.alarms import alarms
from leyfold.season.begin import begin
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from logs import Diary, batch_of_fifty, utc
from long_log import long_log

FARM = farm()


def season_of(state: State) -> Season:
    return expect(FARM, complete(FARM, begin(FARM, Plan(()), state)))


def sounded(diary: Diary, day: str) -> list[Alarm]:
    state = fold(FARM, diary, utc(f"{day} 20:00"))
    assert state.questions == ()
    return list(alarms(FARM, season_of(state), state, date.fromisoformat(day)))


def of(found: list[Alarm], kind: str) -> list[Alarm]:
    return [alarm for alarm in found if alarm.kind == kind]


def growers(heads: int = 108) -> Diary:
    diary = Diary()
    diary.write("2027-05-01 05:00", "bought", batch="g", line="tawny", heads=heads, place="s1", age_d=40)
    return diary


def test_first_week_deaths_against_the_binomial() -> None:
    """50 chicks, the cited survival of the first week; the chance is scipy's own binomial tail."""
    share = 1 - FARM.lines["tawny"].survival_first_week.value ** (1 / 7)
    for dead in (1, 2, 3):
        diary = batch_of_fifty()
        diary.write("2027-01-28 07:00", "found dead", place="east", heads=dead)
        chance = float(binom.sf(dead - 1, 50, share))
        found = of(sounded(diary, "2027-01-28"), "deaths")
        assert bool(found) == (chance < 0.05), dead
        if found:
            assert found[0].grade == 3
            assert found[0].chance <= chance + 1e-12
            assert f"{dead} dead" in found[0].said


def test_three_in_a_week_among_108_growers_call_for_the_vet() -> None:
    """The worked example of the cited table: P(X >= 3) of a Poisson of 0.756 is 4.2 %."""
    diary = growers()
    for day in (20, 23, 25):
        diary.write(f"2027-05-{day} 07:00", "found dead", place="s1")
    (alarm,) = of(sounded(diary, "2027-05-25"), "deaths")
    assert alarm.chance == pytest.approx(poisson.sf(2, 0.001 * 108 * 7), abs=1e-9)
    assert alarm.batches == ("g",)
    assert not of(sounded(diary, "2027-05-24"), "deaths")
    # A week on it has passed.
    assert not of(sounded(diary, "2027-06-02"), "deaths")


def test_each_place_by_itself() -> None:
    diary = growers()
    diary.write("2027-05-02 07:00", "moved", from_="s1", to="s2", heads=54)
    for place, day in (("s1", 20), ("s2", 21), ("s2", 22)):
        diary.write(f"2027-05-{day} 07:00", "found dead", place=place)
    assert [alarm.place for alarm in of(sounded(diary, "2027-05-22"), "deaths")] == ["s2"]


@pytest.mark.parametrize(
    ("what", "where", "sounds"),
    [("fox", "s1", False), ("blown over", "s1", False), ("other", "s1", True), ("sick", "s1", True),
     ("fox", "s2", True)],
)  # fmt: skip
def test_the_dead_of_a_fox_night_are_no_sickness(what: str, where: str, *, sounds: bool) -> None:
    """Written down in that place on that day; whoever dies there on another is counted all the same."""
    diary = growers()
    diary.write("2027-05-20 07:00", "trouble", what=what, place=where)
    diary.write("2027-05-20 07:00", "found dead", place="s1", heads=12)
    assert bool(of(sounded(diary, "2027-05-20"), "deaths")) == sounds
    diary.write("2027-05-22 07:00", "found dead", place="s1", heads=3)
    (alarm,) = of(sounded(diary, "2027-05-22"), "deaths")
    assert alarm.seen == (15 if sounds else 3)


def test_signs_of_a_notifiable_disease_stand_above_every_number() -> None:
    diary = growers()
    diary.write("2027-05-20 07:00", "stop order", why="notifiable signs", place="s1")
    diary.write("2027-05-20 08:00", "found dead", place="s1", heads=4)
    diary.write("2027-05-20 09:00", "counted", place="s1", heads=90)
    found = sounded(diary, "2027-05-20")
    assert [alarm.kind for alarm in found] == ["signs", "deaths", "unaccounted"]
    assert found[0].chance is None
    # Not a bird has died, and it stands all the same.
    quiet = growers()
    quiet.write("2027-05-20 07:00", "stop order", why="notifiable signs")
    assert [alarm.kind for alarm in sounded(quiet, "2027-06-20")] == ["signs"]


def daily(kind: str, field: str, numbers: dict[int, float], place: str, **said: object) -> Diary:
    diary = growers()
    diary.write("2027-05-01 05:00", "present", batch="hens", line="tawny", heads=150, place="coop",
                sex="pullet", hatched_on="2026-08-10")  # fmt: skip
    start = utc("2027-05-10 11:00")
    for offset, number in numbers.items():
        diary.write(start + timedelta(days=offset), kind, place=place, **{field: number}, **said)
    return diary


@pytest.mark.parametrize(("share", "sounds"), [(0.79, True), (0.83, False), (1.3, False)])
@pytest.mark.parametrize("usual", [12.0, 40.0])
def test_water_that_falls_by_a_fifth_in_two_days(share: float, usual: float, *, sounds: bool) -> None:
    """Whatever the place's own level: it is filled, not drunk dry. Hens drink alike from day to day."""
    diary = daily(
        "watered", "litres", {**dict.fromkeys(range(7), usual), 7: usual * share, 8: usual * share}, "coop"
    )
    found = of(sounded(diary, "2027-05-19"), "water")
    assert bool(found) == sounds
    # One day of it is none yet.
    one = daily("watered", "litres", {**dict.fromkeys(range(8), usual), 8: usual * share}, "coop")
    assert not of(sounded(one, "2027-05-19"), "water") or share < 0.7


@pytest.mark.parametrize(("share", "sounds"), [(0.84, True), (0.88, False)])
def test_feed_that_falls_by_15_percent(share: float, *, sounds: bool) -> None:
    diary = daily("fed", "kg", {**dict.fromkeys(range(7), 18.0), 7: 18.0 * share, 8: 18.0 * share}, "coop")
    assert bool(of(sounded(diary, "2027-05-19"), "feed")) == sounds


def test_growers_must_eat_more_every_day() -> None:
    """Level feed for growing birds is a fall against what they are due; the forecast tells, not the week."""
    from leyfold.season.drops import drops

    level = daily("fed", "kg", dict.fromkeys(range(9), 10.0), "s1")
    state = fold(FARM, level, utc("2027-05-19 20:00"))
    (drop,) = [d for d in drops(FARM, state, date(2027, 5, 19)) if d.what == "feed"]
    assert 0.02 < drop.share < 0.25


@pytest.mark.parametrize(("eggs", "sounds"), [(100, True), (116, False), (130, False)])
def test_eggs_five_points_down(eggs: int, *, sounds: bool) -> None:
    """150 hens at 80 in a hundred: 116 are three points less, 100 thirteen."""
    diary = daily("eggs", "eggs", {**dict.fromkeys(range(7), 120), 7: eggs, 8: eggs}, "coop")
    found = of(sounded(diary, "2027-05-19"), "eggs")
    assert bool(found) == sounds


def test_few_hens_vary_by_luck() -> None:
    diary = Diary()
    diary.write("2027-05-01 05:00", "present", batch="hens", line="tawny", heads=6, place="coop",
                sex="pullet", hatched_on="2026-08-10")  # fmt: skip
    for offset in range(9):
        eggs = 5 if offset < 7 else 4
        diary.write(utc("2027-05-10 11:00") + timedelta(days=offset), "eggs", place="coop", eggs=eggs)
    assert not of(sounded(diary, "2027-05-19"), "eggs")


@pytest.mark.parametrize("kind", ["watered", "eggs", "fed"])
def test_a_day_nobody_wrote_is_no_drop(kind: str) -> None:
    field = {"watered": "litres", "eggs": "eggs", "fed": "kg"}[kind]
    numbers: dict[int, float] = dict.fromkeys((0, 1, 2, 3, 4, 5, 6, 7), 90)
    found = sounded(daily(kind, field, numbers, "coop"), "2027-05-19")
    assert found == []
    # And three days of records have no usual.
    few = {5: 90, 6: 90, 7: 20, 8: 20}
    assert sounded(daily(kind, field, few, "coop"), "2027-05-19") == []


def test_unaccounted_until_explained() -> None:
    diary = growers()
    diary.write("2027-05-20 09:00", "counted", place="s1", heads=105)
    (alarm,) = sounded(diary, "2027-05-21")
    assert (alarm.kind, alarm.seen, alarm.expected) == ("unaccounted", 105, 108)
    assert "cattle" in alarm.act
    diary.write("2027-05-21 09:00", "missing", place="s1", heads=3)
    assert sounded(diary, "2027-05-21") == []
    diary.write("2027-05-22 09:00", "counted", place="s1", heads=107)
    (alarm,) = sounded(diary, "2027-05-22")
    assert "more than the book" in alarm.said


def test_a_healthy_farm_is_mostly_quiet() -> None:
    """Losses of the made-up farm are those of the tables. Three spans of days are looked at, so that luck
    alone rings more often than its one chance in twenty, but not every day."""
    records = long_log(4, 4000, first="2027-01-05", on=FARM)
    last = max(r.at for r in records)
    folding = Folding(FARM)
    folding.add(records)
    season = season_of(folding.state(last))
    loud = groups = 0
    for back in range(0, 60, 2):
        state = folding.state(last - timedelta(days=back))
        assert state.day is not None
        found = of(list(alarms(FARM, season, state, state.day)), "deaths")
        loud += len(found)
        groups += len({(g.batch, g.place) for g in state.groups})
    assert groups > 100
    assert loud < 0.15 * groups


def test_hens_that_come_into_lay_within_the_days() -> None:
    diary, age_d = Diary(), round(FARM.lines["tawny"].point_of_lay_d.value) - 12
    diary.write("2027-05-01 05:00", "present", batch="hens", line="tawny", heads=40, place="coop",
                sex="pullet", age_d=age_d)  # fmt: skip
    for offset in range(9):
        diary.write(utc("2027-05-10 11:00") + timedelta(days=offset), "eggs", place="coop", eggs=offset)
    assert not of(sounded(diary, "2027-05-19"), "eggs")
