"""The round: whole birds that add up, the order of walking, what is asked where, at most three warnings."""

from __future__ import annotations

import shutil
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.log.fold import fold
from leyfold.log.lines import write
from leyfold.nouns.ahead import Caution
from leyfold.nouns.clock import civil
from leyfold.nouns.happened import Trouble, Withdrawal
from leyfold.nouns.record import Record, State, Stop
from leyfold.nouns.round import Call, Round
from leyfold.nouns.season import Season
from leyfold.round.make import NIGHTS_MORE, make_round, make_rounds
from leyfold.round.opening import opening
from leyfold.round.shown import NEAR, Shown
from leyfold.round.standing import birds, standing, whole
from leyfold.round.today import tasks_of
from leyfold.round.told import told
from leyfold.round.warnings import MOST, warnings
from leyfold.round.water import warmer
from leyfold.season.begin import begin
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import wish_chances
from leyfold.services.round import opening as opening_of
from leyfold.services.season import season_of
from leyfold.weather.read import Files, read_weather
from leyfold.weather.typical import normals

DEMO = Path(__file__).parents[2] / "examples" / "demo"
FARM = read_farm(Texts(DEMO))
PLAN = read_plan(Texts(DEMO), FARM)
SEASON = expect(FARM, complete(FARM, PLAN))
ZONE = FARM.holding.zone
NOTHING = State()
KILL_DAY = date(2027, 5, 4)
TURNOUT_DAY = date(2027, 5, 8)
DAYS = st.integers(40, 330).map(SEASON.day)
SUMMER = st.sampled_from(range(60, 250, 6))


def morning_of(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 4, 10, tzinfo=UTC)


def made(day: date, state: State = NOTHING, days: int = 1) -> tuple[Round, ...]:
    at = morning_of(day)
    season = SEASON if state is NOTHING else expect(FARM, complete(FARM, begin(FARM, PLAN, state)))
    files = Files((), normals(FARM), None)
    last = day + timedelta(days=days + NIGHTS_MORE + 2)
    weather = read_weather(FARM, files, date(day.year, 1, 1), last, at)
    return make_rounds(FARM, SEASON, state, season, (), weather, files.normals, at, day, days, n=12)


@cache
def of(day: date) -> tuple[Round, Round]:
    morning, evening = made(day)
    return morning, evening


def opened(day: date) -> tuple[Record, ...]:
    return opening(FARM, SEASON, NOTHING, morning_of(day))


def state_of(day: date, *more: Record) -> State:
    return fold(FARM, [*opened(day), *more], morning_of(day) + timedelta(minutes=1))


def expected(season: Season, day: date, part: str) -> dict[str, int]:
    """By batch, straight from the arrays: alive at the day's start, those to be killed with them in the
    morning, those that come today not yet."""
    i = season.index(day)
    found = {}
    for batch in season.plan.batches:
        rows = [r for r, lot in enumerate(season.lots) if lot.batch == batch.id]
        heads = float(season.heads[rows, i].sum())
        if part == "morning":
            if batch.arrives_on == day and batch.origin != "present":
                continue
            heads += float(season.killed[rows, i].sum())
        if heads >= 0.5:
            found[batch.id] = int(np.floor(heads + 0.5))
    return found


# Heads


@given(st.lists(st.floats(0, 500, allow_nan=False), max_size=12))
def test_whole_numbers_add_up_and_stay_next_to_their_shares(shares: list[float]) -> None:
    found = whole(shares)
    assert sum(found) == int(np.floor(sum(shares) + 0.5))
    assert all(abs(n - share) <= 1 + 1e-6 for n, share in zip(found, shares, strict=True))
    assert all(n >= 0 for n in found)


@given(DAYS, st.sampled_from(["morning", "evening"]))
def test_heads_of_a_batch_add_up_to_its_whole_number(day: date, part: str) -> None:
    i = SEASON.index(day)
    one = birds(SEASON, i, warmer(FARM, SEASON, i, 10.0))
    there = standing(FARM, SEASON, NOTHING, i, part, one)  # type: ignore[arg-type]
    found: Counter[str] = Counter()
    for parties in there.values():
        for p in parties:
            found[p.batch] += p.heads
    assert dict(found) == expected(SEASON, day, part)


@given(SUMMER)
def test_the_opened_book_is_the_plan_and_the_morning_is_the_book(k: int) -> None:
    day = SEASON.day(k)
    state = state_of(day)
    assert not state.questions
    book: Counter[str] = Counter()
    for group in state.groups:
        book[group.batch] += group.heads
    assert dict(book) == expected(SEASON, day, "morning")
    i = SEASON.index(day)
    one = birds(SEASON, i, warmer(FARM, SEASON, i, 10.0))
    there = standing(FARM, SEASON, state, i, "morning", one)
    said = sorted((p.batch, p.sex or "", place, p.heads) for place, own in there.items() for p in own)
    assert said == sorted((g.batch, g.sex or "", g.place, g.heads) for g in state.groups)


@given(st.integers(40, 370).map(SEASON.day))
def test_the_opened_book_knows_the_birds_that_the_season_has_killed(k: date) -> None:
    """A wish for table birds counts them."""
    i = SEASON.index(k)
    by_batch: dict[str, float] = {}
    for row, lot in enumerate(SEASON.lots):
        if lot.sex == "cockerel":
            by_batch[lot.batch] = by_batch.get(lot.batch, 0.0) + float(SEASON.killed[row, :i].sum())
    state = state_of(k)
    killed = {b: sum(c.number for c in f.killed if c.sex == "cockerel") for b, f in state.batches.items()}
    for batch, birds_ in by_batch.items():
        # Each killing of a batch is a whole number of birds.
        assert abs(killed.get(batch, 0) - birds_) <= 1.0
    assert {b for b, n in killed.items() if n} <= {b for b, n in by_batch.items() if n}


def test_birds_killed_before_the_books_open_count_towards_a_wish(tmp_path: Path) -> None:
    home = tmp_path / "farm"
    shutil.copytree(DEMO, home)
    at = morning_of(TURNOUT_DAY)
    (home / "records.jsonl").write_text(write(opening_of(home, at)), encoding="utf-8")
    answer = season_of(home, at)
    assert answer.killed == {"rowan": 28}
    wishes = wish_chances(answer.farm, answer.season.plan, killed=answer.killed)
    summer = next(row for row in wishes if row.wish == "summer-table")
    assert not summer.short
    assert summer.mean == pytest.approx(60, abs=1.5)


def test_opening_twice_changes_nothing() -> None:
    first, again = opened(TURNOUT_DAY), opened(TURNOUT_DAY)
    assert [r.id for r in first] == [r.id for r in again]
    assert len({r.id for r in first}) == len(first)
    assert state_of(TURNOUT_DAY) == fold(
        FARM, [*first, *again], morning_of(TURNOUT_DAY) + timedelta(minutes=1)
    )
    state = state_of(TURNOUT_DAY)
    assert opening(FARM, SEASON, state, morning_of(TURNOUT_DAY)) == ()


def test_a_death_written_down_is_one_bird_less_this_morning() -> None:
    day = TURNOUT_DAY
    at = morning_of(day) + timedelta(seconds=30)
    dead = Record(
        "01MMZ94CE10000000000000001", "phone", "runa", at, at, "found dead", {"place": "s3", "heads": 2}
    )
    before, after = made(day, state_of(day))[0], made(day, state_of(day, dead))[0]
    heads = [{c.id: c.heads for c in one.calls} for one in (before, after)]
    assert heads[0]["s3"] - 2 == heads[1]["s3"]
    assert {k: v for k, v in heads[0].items() if k != "s3"} == {
        k: v for k, v in heads[1].items() if k != "s3"
    }


# Places


@given(SUMMER)
def test_no_call_for_an_empty_place_and_one_for_every_other(k: int) -> None:
    for one in of(SEASON.day(k)):
        assert len({c.id for c in one.calls}) == len(one.calls)
        for call in one.calls:
            assert call.eggs if call.kind == "incubator" else call.heads
            assert call.kind in ("incubator", "cattle") or call.heads == sum(p.heads for p in call.parties)
        assert one.heads == sum(c.heads for c in one.calls if c.kind != "cattle")


@given(SUMMER)
def test_youngest_first_then_hens_then_cattle(k: int) -> None:
    group = {"incubator": 0, "brooder": 1, "shelter": 1, "house": 2, "cattle": 3}
    for one in of(SEASON.day(k)):
        assert not any(c.sick for c in one.calls)
        order = [group[c.kind] for c in one.calls]
        assert order == sorted(order)
        ages = [min(p.age_d for p in c.parties) for c in one.calls if group[c.kind] == 1]
        assert ages == sorted(ages)


@pytest.mark.parametrize(
    "state",
    [
        State(stops=(Stop(TURNOUT_DAY, "notifiable signs", place="l1"),)),
        State(troubles=(Trouble("t", morning_of(TURNOUT_DAY), TURNOUT_DAY, "sick", "runa", place="l1"),)),
        State(stops=(Stop(TURNOUT_DAY, "notifiable signs", batch="february"),)),
    ],
    ids=["signs in the place", "trouble of sickness", "signs in the batch"],
)
def test_places_with_sick_birds_are_walked_last_of_all(state: State) -> None:
    morning = made(TURNOUT_DAY, state)[0]
    assert morning.calls[-1].id == "l1"
    assert [c.id for c in morning.calls if c.sick] == ["l1"]


def test_sickness_that_is_settled_is_not_sick() -> None:
    over = Trouble(
        "t", morning_of(TURNOUT_DAY), TURNOUT_DAY, "sick", "runa", place="l1", settled_on=TURNOUT_DAY
    )
    assert not any(c.sick for c in made(TURNOUT_DAY, State(troubles=(over,)))[0].calls)


def call(one: Round, name: str) -> Call:
    return next(c for c in one.calls if c.id == name)


def test_birds_to_be_turned_out_are_in_the_brooder_in_the_morning_and_at_grass_in_the_evening() -> None:
    morning, evening = of(TURNOUT_DAY)
    assert {p.batch for p in call(morning, "barn").parties} == {"march"}
    assert any("turn out march" in said for said in call(morning, "barn").today)
    assert "barn" not in {c.id for c in evening.calls}
    assert call(evening, "s2").heads == call(morning, "barn").heads
    assert not any(c.today for c in evening.calls)


@pytest.mark.parametrize("book", [False, True])
def test_birds_to_be_killed_today_have_water_and_no_feed_and_stay_where_they_are(book: bool) -> None:
    state = state_of(KILL_DAY) if book else NOTHING
    morning, evening = made(KILL_DAY, state)
    doomed = call(morning, "s2")
    assert doomed.heads == sum(p.heads for p in doomed.parties) == 28
    assert doomed.feeds == ()
    assert doomed.water is not None
    assert doomed.water.litres > 3
    assert doomed.move is not None
    assert doomed.move.times == 0
    assert any(said.startswith("kill") for said in doomed.today)
    assert [d.what for d in morning.due if d.day == KILL_DAY] == ["kill"]
    assert "s2" not in {c.id for c in evening.calls}
    others = [c for c in morning.calls if c.parties and c.id != "s2"]
    assert all(c.feeds for c in others)


def test_the_book_waits_for_a_turnout_that_nobody_wrote_down() -> None:
    late = TURNOUT_DAY + timedelta(days=2)
    morning = made(late, fold(FARM, opened(TURNOUT_DAY), morning_of(late)))[0]
    assert call(morning, "barn").heads == 79
    assert any(d.what == "turn_out" and d.batch == "march" and d.day == late for d in morning.due)


def test_birds_that_stand_elsewhere_tonight_are_to_be_moved_so_many_from_there() -> None:
    day = KILL_DAY
    state = state_of(day)
    group = next(g for g in state.groups if g.sex == "pullet" and g.place in FARM.shelters)
    free = next(name for name in FARM.shelters if name not in {g.place for g in state.groups})
    moved = [replace(g, place=free) if g is group else g for g in state.groups]
    away = replace(state, groups=tuple(moved))
    tasks = [t for t in tasks_of(FARM, SEASON, SEASON, away) if t.kind == "shift" and t.day == day]
    assert [told(t, Shown(FARM)) for t in tasks] == [
        f"move {group.heads} pullets of {group.batch} from {free} to {group.place}"
    ]
    assert not [t for t in tasks_of(FARM, SEASON, SEASON, state) if t.kind == "shift" and t.day == day]


def test_eggs_in_the_machine_have_a_call_from_the_day_after_setting_to_the_day_of_hatch() -> None:
    april = next(b for b in SEASON.plan.batches if b.id == "april")
    assert april.set_on is not None
    for day, there in (
        (april.set_on, False),
        (april.set_on + timedelta(days=1), True),
        (april.hatched_on, True),
    ):
        assert ("box" in {c.id for c in of(day)[0].calls}) is there
    assert "box" in {c.id for c in of(april.set_on)[1].calls}
    assert "box" not in {c.id for c in of(april.hatched_on)[1].calls}
    keys = [c.key for c in call(of(april.set_on + timedelta(days=3))[0], "box").checks]
    assert "turned" in keys
    assert "turned" not in [c.key for c in call(of(april.hatched_on - timedelta(days=2))[0], "box").checks]


def test_the_shut_in_asks_what_the_record_of_it_holds() -> None:
    from leyfold.log.kinds.daily import ShutIn

    for one in made(TURNOUT_DAY)[1].calls:
        if one.kind == "incubator":
            continue
        keys = {c.key for c in one.checks} - {"warmth"}
        assert "heads" in keys
        assert keys <= set(ShutIn.model_fields)


# Warnings


@given(SUMMER)
def test_at_most_three_warnings_by_birds_at_risk(k: int) -> None:
    for one in of(SEASON.day(k)):
        heads = [w.heads for w in one.warnings]
        assert len(heads) <= MOST
        assert heads == sorted(heads, reverse=True)
        assert (one.more == 0) or len(heads) == MOST


@given(
    st.lists(
        st.tuples(st.sampled_from(["cold", "wind", "heat", "feed", "heavy"]), st.integers(0, 400)), max_size=9
    )
)
def test_warnings_are_ranked_and_the_rest_is_counted(found: list[tuple[str, int]]) -> None:
    cautions = [Caution(kind, 2, float(n), (f"s{n}",), "said", "act") for kind, n in found]
    shown, more = warnings(cautions)
    assert len(shown) == min(len(found), MOST)
    assert len(shown) + more == len(found)
    assert sorted((n for _, n in found), reverse=True)[: len(shown)] == [w.heads for w in shown]


def test_stop_orders_stand_above_and_do_not_push_warnings_out() -> None:
    held = Withdrawal("february", None, "l1", ("coccidiostat",), None, date(2027, 5, 20))
    state = State(stops=(Stop(TURNOUT_DAY, "wrong feed", place="s3"),), withdrawals=(held,))
    morning, plain = made(TURNOUT_DAY, state)[0], of(TURNOUT_DAY)[0]
    assert {s.why for s in morning.stops} == {"wrong feed", "withdrawal"}
    assert [w.kind for w in morning.warnings] == [w.kind for w in plain.warnings]
    assert call(morning, "l1").withdrawal_until == date(2027, 5, 20)
    assert call(morning, "s4").withdrawal_until is None
    assert not made(date(2027, 5, 21), replace(state, stops=()))[0].stops


def test_birds_turned_out_into_a_night_too_cold_for_them_are_warned_of() -> None:
    morning, evening = of(TURNOUT_DAY)
    cold = next(w for w in morning.warnings if w.kind == "cold")
    assert "s2" in cold.where
    assert cold.grade == 3
    assert evening.evening is not None
    worst = max(evening.evening.cold, key=lambda c: c.grade)
    assert (worst.place, worst.batch, worst.grade) == ("s2", "march", 3)


# Feed and water


@given(st.floats(0.01, 120))
def test_measures_come_back_to_what_was_wanted(kg: float) -> None:
    """bucket 8 kg, scoop 1.6 kg: within `NEAR`, or half a quarter of the smallest."""
    measure, times = Shown(FARM).measured(kg)
    if measure is None or times is None:
        assert kg < 0.4
        return
    size = {"bucket": 8.0, "scoop": 1.6}[measure]
    assert (4 * times).is_integer()
    assert size == 1.6 or kg >= size
    assert abs(times * size - kg) <= max(NEAR * kg, 1.6 / 8) + 1e-9


@given(SUMMER)
def test_feed_and_water_of_the_day_are_those_of_the_season(k: int) -> None:
    """By the heads rounded to whole birds; a day without moves, sorting or killing."""
    day = SEASON.day(k)
    if any(t for t in of(day)[0].due if t.day == day):
        return
    i = SEASON.index(day)
    fed = sum(feed.kg for c in of(day)[0].calls for feed in c.feeds)
    assert fed == pytest.approx(float(SEASON.feed_kg[:, i].sum()), rel=0.02)
    litres = sum(c.water.litres for c in of(day)[0].calls if c.water is not None and c.kind != "cattle")
    assert litres == pytest.approx(float(SEASON.water_l[:, i].sum()), rel=0.35)


# Days


def test_the_evening_names_the_cattles_water_while_they_are_at_grass() -> None:
    """The tank is reckoned for the birds; 9 cattle of 65 l would empty it."""
    for day, grazing in ((date(2027, 5, 31), True), (date(2027, 2, 16), False)):
        evening = of(day)[1].evening
        assert evening is not None
        assert evening.tank is not None
        assert ("Cattle at grass drink 585 l besides" in evening.tank.said) is grazing


def test_a_week_is_its_days_one_by_one() -> None:
    week = made(TURNOUT_DAY, days=3)
    assert [(r.day, r.part) for r in week] == [
        (TURNOUT_DAY + timedelta(days=k), part) for k in range(3) for part in ("morning", "evening")
    ]
    assert week[0] == of(TURNOUT_DAY)[0] or week[0].calls == of(TURNOUT_DAY)[0].calls
    for one in week:
        assert (one.evening is not None) == (one.part == "evening")
        assert civil(one.sunset or morning_of(one.day), ZONE) == one.day
        assert all(one.day <= d.day < one.day + timedelta(days=7) for d in one.due)


def test_a_day_outside_the_season_has_no_round() -> None:
    day = SEASON.day(SEASON.days - 1)
    assert [r.day for r in made(day, days=2)] == [day, day]
    at = morning_of(day)
    files = Files((), normals(FARM), None)
    weather = read_weather(FARM, files, date(day.year, 1, 1), day + timedelta(days=9), at)
    with pytest.raises(ValueError, match="outside"):
        make_round(
            FARM,
            SEASON,
            NOTHING,
            SEASON,
            (),
            weather,
            files.normals,
            at,
            day + timedelta(days=2),
            "morning",
            n=5,
        )
