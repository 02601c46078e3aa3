"""The look-ahead: the week, odd days and places, and how it is told."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from evenings import AT, CALM, FARM, HATCHED, forecast, plan, seen
from farms import mine
from leyfold.cli import main
from leyfold.nouns.farm import Bin, Cattle, Holding, Tank
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.record import BatchFacts, Count, Group, State
from leyfold.paper.ahead_page import MOST_CAUTIONS, page
from leyfold.paper.ahead_picture import group_picture
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.ahead import ahead_of
from leyfold.services.ahead_records import records

DEMO = Path(__file__).parents[2] / "examples" / "demo"


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


def test_grass_that_has_done_growing_and_a_farm_without_birds() -> None:
    lines = {
        at: [line for sheet in page(FARM, seen(at=datetime.fromisoformat(at), n=20)) for line in sheet.lines]
        for at in ("2027-06-10T16:00Z", "2027-11-26T16:00Z")
    }
    assert sum("it has begun" in line for line in lines["2027-06-10T16:00Z"]) == 1
    assert not any("it has begun" in line for line in lines["2027-11-26T16:00Z"])
    assert sum("done growing" in line for line in lines["2027-11-26T16:00Z"]) == 1
    empty = Plan((), first=date(2027, 3, 29), last=date(2027, 10, 3))
    assert all(sheet.lines or sheet.rows for sheet in page(FARM, seen(plan_=empty, n=20)))


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


def test_a_bucket_may_be_both_too_warm_and_too_small() -> None:
    many = replace(plan(date(2027, 3, 15)), batches=(
        replace(plan(date(2027, 3, 15)).batches[0], heads={"pullet": 80, "cockerel": 80}),
    ))  # fmt: skip
    told = forecast(**{**CALM, "temperature_C": 33.0, "global_w": 300.0})
    found = {c.kind: c for c in seen(plan_=many, told=told).cautions}
    assert {"dry", "warm"} <= set(found)
    assert "fillings" in found["dry"].said


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
        group_picture(FARM, answer.night, c, b) for c in answer.cold for b in (None, answer.water[0].bucket)
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
