"""The look-ahead: ranking, bands, wind, lamps, buckets, stop-orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenings import AT, CALM, FARM, forecast, seen
from farms import mine
from leyfold.farm.tables import figure, table
from leyfold.log.fold import fold
from leyfold.nature.night import bird_height_C
from leyfold.nouns.ahead import Caution, Flock
from leyfold.nouns.farm import Brooder, HeaderBucket, Lamp
from leyfold.nouns.record import Count, State, Stop
from leyfold.nouns.weather import Variable, hour_of
from leyfold.paper.ahead_page import page
from leyfold.round.cautions import ranked, stop_orders
from leyfold.round.indoors import brooders, hours_borne
from leyfold.round.nights import deepest
from leyfold.round.water import buckets, surface
from leyfold.round.winds import borne
from leyfold.weather.series import of_hours
from logs import Diary

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
    (one,) = buckets(FARM, weather, [kit], [litres], [sunrise], days=1)
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
    assert one.fills == 2
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
