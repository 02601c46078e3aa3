"""The look-ahead: ranking, bands, buckets, wind, lamps, stop-orders, odd places and days."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, mine
from leyfold.cli import main
from leyfold.farm.tables import figure, table
from leyfold.log.fold import fold
from leyfold.nature.night import bird_height_C
from leyfold.nouns.ahead import Ahead, Caution, Flock
from leyfold.nouns.farm import Bin, Brooder, Cattle, Farm, HeaderBucket, Holding, Lamp, Shelter, Tank
from leyfold.nouns.plan import Batch, Plan, Stay
from leyfold.nouns.record import BatchFacts, Count, Group, State, Stop
from leyfold.nouns.weather import Source, Variable, Weather, hour_of
from leyfold.paper.ahead_page import MOST_CAUTIONS, page
from leyfold.paper.ahead_picture import group_picture
from leyfold.round.ahead import NIGHTS, look_ahead
from leyfold.round.cautions import ranked, stop_orders
from leyfold.round.indoors import brooders, hours_borne
from leyfold.round.nights import deepest
from leyfold.round.water import buckets, surface
from leyfold.round.winds import borne
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.ahead import ahead_of
from leyfold.services.ahead_records import records
from leyfold.weather.read import Files, read_weather
from leyfold.weather.series import of_hours
from leyfold.weather.typical import normals
from logs import Diary

DEMO = Path(__file__).parents[2] / "examples" / "demo"
CLIMATE = {name: figure(f"climate.{name}") for name in table("climate")}
FARM = replace(
    farm(),
    weather=Source(climate=CLIMATE),
    buckets={"b": HeaderBucket("b", 12.0, "black", 0.26, 0.226)},
    shelters={f"s{i}": Shelter(f"s{i}", 3.35, 3.05, 0.6, 90.0, header_bucket="b") for i in range(1, 5)},
)
AT = datetime(2027, 5, 12, 16, tzinfo=UTC)
NOTHING = State()
HATCHED = date(2027, 4, 12)  # 30 days old on the day of AT


def plan(hatched: date = HATCHED) -> Plan:
    batch = Batch(
        "a", "tawny", "bought", hatched, hatched, heads={"pullet": 30, "cockerel": 30},
        turnout_on=hatched + timedelta(days=25), sort_on=hatched + timedelta(days=70),
    )  # fmt: skip
    until = hatched + timedelta(days=25)
    stays = (
        Stay("in", "a", None, "east", hatched, until),
        Stay("out", "a", None, "s1", until, until + timedelta(days=45)),
    )
    return Plan((batch,), stays, first=date(2027, 3, 29), last=date(2027, 10, 3))


SEASON = expect(FARM, complete(FARM, plan()))


def forecast(**values: float) -> Weather:
    first = hour_of(AT) - 24
    return of_hours(first, {name: np.full(24 * 16, v) for name, v in values.items()}, "forecast", 24 * 16)  # type: ignore[misc]


def seen(
    made: Farm = FARM, told: Weather | None = None, at: datetime = AT, state: State = NOTHING, n: int = 60,
    plan_: Plan | None = None,
) -> Ahead:  # fmt: skip
    season = SEASON if made is FARM and plan_ is None else expect(made, complete(made, plan_ or plan()))
    files = Files((), normals(made), told)
    weather = read_weather(made, files, date(at.year, 1, 1), at.date() + timedelta(days=NIGHTS + 3), at)
    return look_ahead(made, state, season, weather, files.normals, at, n=n)


CALM: dict[str, float] = {
    "temperature_C": 6.0, "dew_point_C": 2.0, "wind_m_per_s": 1.0, "gust_m_per_s": 3.0, "cloud_share": 0.2,
    "rain_mm": 0.0, "global_w": 200.0,
}  # fmt: skip


# --- ranking and stop-orders ----------------------------------------------------------------------------

some = st.lists(
    st.builds(
        Caution, st.sampled_from(["cold", "wind", "heat", "dry", "sick"]), st.integers(2, 3),
        st.integers(1, 200).map(float), st.just(("s1",)), st.just("said"), st.just("act"),
    ),
    max_size=8,
    unique_by=lambda c: (c.kind, c.heads),
)  # fmt: skip


@given(some, st.randoms())
def test_ranking_is_by_birds_at_risk_and_the_same_in_any_order(found: list[Caution], luck) -> None:  # type: ignore[no-untyped-def]
    once = ranked(found)
    luck.shuffle(found)
    assert ranked(found) == once
    assert [c.heads for c in once] == sorted((c.heads for c in once), reverse=True)
    assert all(a.grade >= b.grade for a, b in pairwise(once) if a.heads == b.heads)


def test_stop_orders_stand_above_and_hold_as_long_as_they_say() -> None:
    day = date(2027, 5, 12)
    stops = (
        Stop(day, "withdrawal", batch="a", until=day + timedelta(days=3)),
        Stop(day - timedelta(days=9), "notifiable signs", place="s1"),
        Stop(day - timedelta(days=9), "wrong feed", until=day),
    )
    assert [o.why for o in stop_orders(State(day=day, stops=stops), day)] == [
        "notifiable signs",
        "withdrawal",
    ]
    answer = seen(state=State(day=day, stops=stops), told=forecast(**{**CALM, "temperature_C": -6.0}))
    sheets = page(FARM, answer)
    assert "vet" in sheets[0].lines[0]
    assert answer.cautions
    assert sheets[1].lines[0].startswith("1. (58 birds) s1")


def test_a_stop_order_and_a_thermometer_are_records() -> None:
    diary = Diary()
    diary.write("2027-05-01 06:00", "present", batch="a", line="tawny", heads=60, place="s1", age_d=20)
    diary.write("2027-05-11 20:00", "stop order", why="withdrawal", batch="a", until="2027-05-20")
    diary.write("2027-05-12 05:00", "temperature read", lowest_C=-1.5, place="s1")
    state = fold(FARM, diary, AT)
    assert state.lows_C == (Count(date(2027, 5, 12), -1.5, place="s1", kind="temperature read"),)
    assert stop_orders(state, date(2027, 5, 19))
    assert not stop_orders(state, date(2027, 5, 20))


# --- nights ---------------------------------------------------------------------------------------------


def test_the_band_of_a_forecast_night_is_that_of_the_closed_form() -> None:
    """Every hour alike: the night's least is one hour's, whose 10 to 90 % are `bird_height_C`'s."""
    night = seen(told=forecast(**CALM), n=200).night
    asked = bird_height_C(
        6.0, 1.0, 0.2, deepest_K=figure("tonight.bird_height_deepest").value,
        station_sd_K=figure("tonight.forecast_sd").value,
        depth_sd_share=figure("tonight.bird_height_depth_sd").value,
    )  # fmt: skip
    assert night.origin == "forecast"
    assert night.lowest_C.middle == pytest.approx(float(asked.middle_C), abs=0.15)
    assert night.lowest_C.low == pytest.approx(float(asked.low_C), abs=0.4)
    assert night.lowest_C.high == pytest.approx(float(asked.high_C), abs=0.4)


def test_the_floor_of_a_group_by_the_one_table() -> None:
    """30 d: 8 - 2/7 x 6 = 6.29; bare ground 6; 1 m/s at 10 m is 0.327 at 20 cm, twice that in K: 12.9 °C."""
    (cold,) = seen(told=forecast(**CALM)).cold
    wind = 2.0 * np.log(0.2 / 0.03) / np.log(10 / 0.03)
    assert cold.floor_C == pytest.approx(8 - 6 * 2 / 7 + 6 + wind, abs=0.01)
    assert cold.grade == 3
    assert cold.chance == 1.0
    assert cold.hours_under.middle == len(seen(told=forecast(**CALM)).night.hours)


def test_air_just_over_the_floor_is_watched_and_no_hour_counts() -> None:
    quiet = replace(FARM, tonight={"forecast_sd": mine(0.0, "K")})
    (cold,) = seen(quiet, told=forecast(**{**CALM, "temperature_C": 15.0, "cloud_share": 1.0})).cold
    assert 0 < 15.0 - cold.floor_C < 3
    assert (cold.grade, cold.grade_bad, cold.chance, cold.hours_under.high) == (1, 1, 0.0, 0.0)


@settings(max_examples=8, deadline=None)
@given(st.floats(-10, 25), st.floats(0.5, 8))
def test_a_colder_night_is_never_graded_easier(celsius: float, colder: float) -> None:
    (mild,) = seen(told=forecast(**{**CALM, "temperature_C": celsius}), n=20).cold
    (cold,) = seen(told=forecast(**{**CALM, "temperature_C": celsius - colder}), n=20).cold
    assert cold.grade >= mild.grade
    assert cold.chance >= mild.chance
    assert cold.hours_under.middle >= mild.hours_under.middle


def test_the_farms_own_thermometer_moves_the_depth() -> None:
    """20 nights 5 K colder than a measured station in calm clear air: (30 + 100 o) / (10 + 20 o²)."""
    first = hour_of(datetime(2027, 4, 1, tzinfo=UTC))
    hours = 24 * 30
    series: dict[Variable, np.ndarray] = {
        "temperature_C": np.full(hours, 4.0), "wind_m_per_s": np.zeros(hours), "cloud_share": np.zeros(hours),
    }  # fmt: skip
    lows = tuple(Count(date(2027, 4, 2) + timedelta(days=k), -1.0) for k in range(20))
    found = deepest(FARM, of_hours(first, series, "measured", hours), State(lows_C=lows))
    assert found.value == pytest.approx((10 * 3 + 20 * 5) / 30)
    assert found.n_records == 20
    typical = deepest(FARM, of_hours(first, series, "typical", hours), State(lows_C=lows))
    assert typical.n_records == 0


# --- water ----------------------------------------------------------------------------------------------

SKINS = sorted(table("surfaces"), key=lambda name: float(table("surfaces")[name]["absorptance"]))
PAINTS = [s for s in SKINS if table("surfaces")[s]["emissivity"] == 0.9]


def run(colour: str, litres: float, celsius: float = 22.0):  # type: ignore[no-untyped-def]
    first = hour_of(AT) - 24
    hours = 24 * 10
    light = np.clip(800 * np.sin((np.arange(hours) + 16 - 5) % 24 / 24 * 2 * np.pi), 0, None)
    values: dict[Variable, np.ndarray] = {name: np.full(hours, v) for name, v in CALM.items()}  # type: ignore[misc]
    values |= {
        "temperature_C": np.full(hours, celsius),
        "dew_point_C": np.full(hours, 10.0),
        "global_w": light,
    }
    weather = of_hours(first, values, "forecast", hours)
    kit = HeaderBucket("b", 12.0, colour, 0.26, 0.226)
    sunrise = datetime(2027, 5, 13, 3, tzinfo=UTC)
    (one,) = buckets(FARM, weather, [kit], [litres], sunrise, days=1)
    return one


@settings(max_examples=15, deadline=None)
@given(st.integers(0, len(PAINTS) - 2), st.floats(1, 30), st.floats(10, 34))
def test_a_darker_bucket_is_never_later_to_refill(i: int, litres: float, celsius: float) -> None:
    late = datetime.max.replace(tzinfo=UTC)
    light, dark = run(PAINTS[i], litres, celsius), run(PAINTS[i + 1], litres, celsius)
    assert (dark.refill_at or late) <= (light.refill_at or late)
    assert dark.warmest_C >= light.warmest_C - 1e-9
    assert dark.dry_h == light.dry_h


def test_a_bucket_by_the_clock() -> None:
    """12 l for birds that want 24 in the day: dry about half-way through the light, 12 l missed."""
    one = run("white", 24.0)
    assert one.why == "dry"
    assert one.missed_l == pytest.approx(12.0, abs=0.3)
    assert one.dry_h is not None
    assert 7 < one.dry_h < 9.5
    black = run("black", 4.0, 28.0)
    assert black.why == "warm"
    assert black.warmest_C > 44
    assert black.refused_h > 0
    assert black.shaded_C < black.warmest_C - 5
    assert run("white", 4.0, 18.0).refill_at is None


def test_colours_as_farmers_write_them() -> None:
    assert surface("Gray") == "grey"
    assert surface("dark green") == "green"
    assert surface("white soiled") == "white_soiled"
    assert surface("mauve") == "black"  # unknown: the warmest


# --- wind, lamps, mains ---------------------------------------------------------------------------------


def test_a_shelter_tips_where_the_worked_example_says() -> None:
    """90 kg, 3.35 x 3.05 x 0.6 m, half the roof of metal, open side to the wind: 87.192 Pa, 11.8 m/s
    (statics by hand, coefficients after EN 1991-1-4)."""
    first = borne(FARM, FARM.shelters["s1"])
    assert first is not None
    assert first[0] == pytest.approx((2 * 87.192 / 1.25) ** 0.5, abs=0.01)
    assert first[1] == "tip"
    assert borne(FARM, replace(FARM.shelters["s1"], mass_kg=None)) is None


def test_gusts_are_graded_against_what_moves_it() -> None:
    grades = [seen(told=forecast(**{**CALM, "gust_m_per_s": g})).gusts[0].grade for g in (3.0, 13.0, 25.0)]
    assert grades == [0, 2, 3]
    kinds = [
        c.kind for c in seen(told=forecast(**{**CALM, "gust_m_per_s": 25.0, "wind_m_per_s": 12.0})).cautions
    ]
    assert "wind" in kinds


def chicks(age_d: int, heads: float = 60.0) -> Flock:
    return Flock("east", "brooder", "a", "tawny", {"pullet": heads}, heads, age_d, 0.1)


def test_lamps_with_one_out() -> None:
    """75 - 1.8 x 20 = 39 chicks a 250 W lamp at -10 °C (handbook rule): 78 under two, 39 with one out."""
    two = (Lamp(250.0, "l"), Lamp(250.0, "r"))
    made = replace(FARM, brooders={"east": Brooder("east", 12.0, two, {"l": 10.0, "r": 10.0})})
    (one,) = brooders(made, [chicks(0)], -10.0)
    assert one.carries == pytest.approx((78.0, 39.0, 39.0))
    assert one.grade == 2
    assert brooders(made, [chicks(0, 30.0)], -10.0)[0].grade == 0
    assert brooders(made, [chicks(0, 90.0)], -10.0)[0].grade == 3
    assert brooders(made, [chicks(70)], 10.0) == ()  # 35 - 3 x 10 = 5 °C: warm enough without
    weak = replace(made, brooders={"east": Brooder("east", 12.0, two, {"l": 1.0, "r": 10.0})})
    assert brooders(weak, [chicks(0, 30.0)], -10.0)[0].over == ("l",)


def test_hours_a_set_bears_without_mains() -> None:
    """Under 32 °C after 3 ln(27.7 / 22) = 0.69 h in a room of 10 °C; danger 18 h later on day 10, by the
    quarter of an hour; 12 h later on day 19."""
    assert hours_borne(10, room_C=10.0, tau_h=3.0) == 18.75
    assert hours_borne(19, room_C=10.0, tau_h=3.0) == 12.75
    assert hours_borne(10, room_C=33.0, tau_h=3.0) is None


# --- odd days and places --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "at",
    ["2027-03-27T17:00Z", "2027-03-28T01:30Z", "2027-10-30T23:30Z", "2027-10-31T16:00Z", "2026-12-31T23:30Z"],
)
def test_clock_changes_and_the_turn_of_the_year(at: str) -> None:
    answer = seen(at=datetime.fromisoformat(at), n=20)
    assert answer.night.sunrise > answer.at
    assert answer.tomorrow - answer.day in (timedelta(0), timedelta(days=1))
    assert len(answer.night.hours) >= 4


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "at"),
    [
        (69.6, 18.9, "Europe/Oslo", "2027-06-20T18:00Z"), (69.6, 18.9, "Europe/Oslo", "2027-12-20T12:00Z"),
        (-41.0, 175.0, "Pacific/Auckland", "2027-07-01T06:00Z"),
        (0.5, -78.0, "America/Guayaquil", "2027-05-12T22:00Z"),
    ],
)  # fmt: skip
def test_far_north_far_south_and_the_line(latitude: float, longitude: float, zone: str, at: str) -> None:
    made = replace(FARM, holding=Holding("X", latitude, longitude, zone))
    answer = seen(made, at=datetime.fromisoformat(at), n=20)
    assert np.isfinite([answer.night.lowest_C.low, answer.dark.day_h]).all()
    assert page(made, answer)


def test_moving_the_books_on_to_no_birds_at_all() -> None:
    empty = Plan((), first=date(2027, 3, 29), last=date(2027, 10, 3))
    answer = seen(plan_=empty, n=20)
    assert answer.flocks == ()
    assert answer.cautions == ()
    outside = seen(at=datetime(2028, 2, 1, 16, tzinfo=UTC), n=20)
    assert outside.flocks == ()
    assert [s.title for s in page(FARM, answer)]


def test_waiting_to_turn_out_until_the_nights_are_fair() -> None:
    still_in = replace(plan().batches[0], turnout_on=date(2027, 5, 13))
    made = Plan((still_in,), first=date(2027, 3, 29), last=date(2027, 10, 3))
    for celsius, fair in ((20.0, True), (-5.0, False)):
        (advice,) = seen(plan_=made, told=forecast(**{**CALM, "temperature_C": celsius})).turnout
        assert (advice.best is not None) == fair
        assert [d.nights for d in advice.days] == [5] * 7
        assert all(0 <= d.chance <= 1 for d in advice.days)


def test_the_day_from_which_the_nights_are_fair_by_hand() -> None:
    """Every night at 17 °C, overcast. 22 d old: 14 °C by age, 6 for bare ground, 0.65 for 1 m/s at the
    station: too cold. The floor falls by a degree a day: 17.65 at 25 d, 16.65 at 26 d, four days on."""
    young = replace(
        plan(date(2027, 4, 20)).batches[0], turnout_on=date(2027, 5, 20), sort_on=date(2027, 7, 20)
    )
    still = {"temperature_sd": mine(0.0, "K")}
    quiet = replace(FARM, tonight={"forecast_sd": mine(0.0, "K")}, risks=still)
    told = forecast(**{**CALM, "temperature_C": 17.0, "cloud_share": 1.0})
    made = Plan((young,), first=date(2027, 3, 29), last=date(2027, 10, 3))
    (advice,) = seen(quiet, plan_=made, told=told).turnout
    assert advice.best == date(2027, 5, 16)
    assert [d.chance for d in advice.days] == [1.0] * 4 + [0.0] * 3
    assert advice.planned == date(2027, 5, 20)


def test_whole_heads_come_from_the_book_of_the_day() -> None:
    groups = (Group("a", "pullet", "s1", 31), Group("a", "cockerel", "s1", 20))
    (flock,) = seen(state=State(day=AT.date(), groups=groups), n=20).flocks
    assert flock.heads == 51.0
    assert (flock.sex, flock.age_d) == (None, 30)
    (flock,) = seen(state=State(day=AT.date() - timedelta(days=3), groups=groups), n=20).flocks
    assert flock.heads == pytest.approx(58, abs=1)


def test_sums_of_the_season() -> None:
    """Warmth for the grass at the months' means: 31 x 1.0 in March, then 6.0 a day: 200 in the last days of
    April. Larvae at 11.5 °C want 62 / 1.5 = 41 days: too cool. Water: all places together."""
    cattle = replace(FARM, cattle={"c": Cattle("c", 5)}, tanks={"t": Tank("t", 10.0)})
    answer = seen(cattle, n=20)
    assert answer.grass_on is not None
    assert abs((answer.grass_on - date(2027, 4, 28)).days) <= 2
    assert answer.grass_K_d == pytest.approx(31 + 30 * 6.0 + 11 * 11.5, abs=8)
    assert answer.cattle_d is None
    warm = seen(cattle, told=forecast(**{**CALM, "temperature_C": 25.0}), n=20)
    assert warm.cattle_d == pytest.approx((62 / 15, 108 / 15), rel=0.02)
    assert answer.tank_l == pytest.approx(sum(w.litres for w in answer.water if w.kind != "brooder"))
    assert answer.tank_trips == int(np.ceil(answer.tank_l / 10))
    assert sum(answer.water[0].by_hour) == pytest.approx(answer.water[0].litres)
    assert answer.frost_w is None
    frost = seen(told=forecast(**{**CALM, "temperature_C": -8.0, "dew_point_C": -9.0}), n=200)
    assert frost.frost_w == pytest.approx(4.5 * (2.0 - frost.night.station_C.low))


def test_dated_work_within_the_week() -> None:
    eggs = Batch("e", "tawny", "set", date(2027, 5, 26), date(2027, 5, 26), set_on=date(2027, 5, 5), eggs=90,
                 incubator="small")  # fmt: skip
    made = Plan((eggs,), first=date(2027, 3, 29), last=date(2027, 10, 3))
    answer = seen(plan_=made, n=20)
    assert [(d.day, d.what) for d in answer.due] == [(date(2027, 5, 12), "candle")]
    ((place, hours, number, _),) = answer.mains.order
    assert (place, number) == ("small", 90.0)
    assert hours is not None
    later = seen(plan_=made, at=AT + timedelta(days=10), n=20)
    assert [(d.day, d.what) for d in later.due] == [
        (date(2027, 5, 23), "candle"), (date(2027, 5, 26), "take_off"),
    ]  # fmt: skip


def test_feed_left_is_what_the_bin_had_less_what_was_eaten() -> None:
    binned = replace(FARM, bins={"t": Bin("t", "starter", 500.0)})
    state = State(day=AT.date(), bins_kg={"t": (date(2027, 5, 10), 40.0)})
    answer = seen(binned, state=state, n=20)
    (left,) = [f for f in answer.feed if f.feed == "starter"]
    season = expect(binned, complete(binned, plan()))
    daily = season.feed_kg.sum(axis=0)[season.index(date(2027, 5, 10)) :]
    assert left.has_kg == pytest.approx(40.0 - daily[:2].sum())
    lasts = int(np.flatnonzero(np.cumsum(daily) > 40.0)[0])
    assert left.empty_on == date(2027, 5, 10) + timedelta(days=lasts)
    old = State(day=AT.date(), bins_kg={"t": (date(2027, 5, 1), 10.0)})
    (left,) = [f for f in seen(binned, state=old, n=20).feed if f.feed == "starter"]
    assert (left.has_kg, left.empty_on) == (None, None)


def test_more_dead_than_luck_brings() -> None:
    """58 growers, 0.1 % a day, a week: 0.4 due; P(3 or more) = 0.8 % (Poisson), P(1) = 34 %."""
    day = AT.date()
    for dead, warned in ((1, False), (3, True)):
        facts = BatchFacts("a", "tawny", "bought", hatched_on=HATCHED, arrived_on=HATCHED, chicks=60,
                           dead=(Count(day - timedelta(days=2), dead),))  # fmt: skip
        state = State(day=day, groups=(Group("a", None, "s1", 58),), batches={"a": facts})
        kinds = [
            c.kind for c in seen(state=state, told=forecast(**{**CALM, "temperature_C": 20.0}), n=20).cautions
        ]
        assert ("sick" in kinds) == warned


def test_a_farms_own_word_on_the_night_counts() -> None:
    deep = replace(FARM, tonight={"bird_height_deepest": mine(8.0, "K")})
    usual, hollow = seen(told=forecast(**CALM)).night, seen(deep, told=forecast(**CALM)).night
    assert hollow.lowest_C.middle < usual.lowest_C.middle - 2


# --- page, picture, JSON, command ---------------------------------------------------------------------------


def test_the_page_shows_three_cautions_and_the_rest_in_a_line() -> None:
    answer = seen(told=forecast(**{**CALM, "gust_m_per_s": 30.0}))
    many = replace(answer, cautions=answer.cautions[:1] * 5)
    lines = next(s for s in page(FARM, many) if s.title == "What asks for a hand").lines
    assert len(lines) == MOST_CAUTIONS + 1
    assert lines[-1].startswith("2 more")


def test_pictures_are_well_formed_and_the_same_again() -> None:
    from xml.etree import ElementTree

    answer = seen(told=forecast(**CALM))
    drawn = [
        group_picture(FARM, answer.night, c, b)
        for c in answer.cold
        for b in (None, answer.water[0].bucket, run("black", 40.0))
    ]
    for svg in drawn:
        ElementTree.fromstring(svg)
        assert "NaN" not in svg
    assert drawn[0] == group_picture(FARM, answer.night, answer.cold[0], None)


def test_records_are_plain() -> None:
    told = json.loads(json.dumps(records(seen()), allow_nan=False))
    assert told["cold"][0]["flock"] == {"place": "s1", "batch": "a"}
    assert told["night"]["lowest_C"]["low"] <= told["night"]["lowest_C"]["high"]


def test_the_demo_with_a_station_and_a_kept_forecast(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "farm"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns(".leyfold"))
    with (folder / "farm.toml").open("a", encoding="utf-8") as out:
        out.write('\n[weather]\nfiles = ["s.csv"]\nforecast_url = "http://127.0.0.1:9/f"\n')
    (folder / "s.csv").write_text(
        "Time,Temp (°C)\n2027-05-12 17:00,11\n2027-05-12 17:30,11\n", encoding="utf-8"
    )
    at = datetime(2027, 5, 12, 16, tzinfo=UTC)
    times = [(at + timedelta(hours=h)).strftime("%Y-%m-%dT%H:%M") for h in range(-2, 60)]
    body = json.dumps({"hourly": {"time": times, "temperature_2m": [4.0] * 62}})
    (folder / ".leyfold").mkdir()
    from leyfold.weather.forecast import address

    base = ahead_of(folder, at)
    assert base.ahead.night.origin == "typical"
    kept = {"at": at.isoformat(), "url": address(base.farm), "text": body}
    (folder / ".leyfold" / "forecast.json").write_text(json.dumps(kept), encoding="utf-8")
    answer = ahead_of(folder, at)
    assert answer.ahead.night.origin == "forecast"
    assert answer.ahead.said_of["wind_m_per_s"] == "typical"
    assert answer.weather.origin("temperature_C", answer.weather.index(at) - 1) == "measured"
    assert answer.inputs_sha256 != base.inputs_sha256

    pictures = tmp_path / "pictures"
    pictures.mkdir()
    plain = tmp_path / "plain"
    shutil.copytree(DEMO, plain, ignore=shutil.ignore_patterns(".leyfold"))
    assert main(["ahead", str(plain), "--at", "2027-05-12T18:00", "--json", "--picture", str(pictures)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["kind"] == "ahead"
    assert told["data"]["at"] == "2027-05-12T16:00:00+00:00"
    assert len(list(pictures.glob("*.svg"))) == len(told["data"]["cold"])
    assert main(["ahead", str(plain), "--at", "2027-05-12T18:00"]) == 0
    assert "looking ahead" in capsys.readouterr().out
    assert main(["ahead", str(plain), "--at", "soon"]) == 2
    assert main(["ahead", str(plain), "--at", "2027-05-12", "--picture", str(tmp_path / "nowhere")]) == 2
