"""Stations, clock changes, gaps, typical days, what is laid over what, the thermometer at the birds."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import MONTHS_C, farm, mine
from leyfold.farm.tables import figure, table
from leyfold.nouns.clock import read_clock, shown_twice
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import ORIGINS, VARIABLES, Source, hour_of
from leyfold.round.tried import tried
from leyfold.weather.bird_height import STRENGTH_NIGHTS, Night, refit
from leyfold.weather.forecast import read_forecast
from leyfold.weather.read import Files, read_files, read_weather
from leyfold.weather.series import cut, laid_over, of_hours
from leyfold.weather.station import read_station
from leyfold.weather.typical import Luck, normals, solar_days, typical

CLIMATE = {name: figure(f"climate.{name}") for name in table("climate")}


def made(**source: object) -> Farm:
    return replace(farm(), weather=Source(climate=CLIMATE, **source))  # type: ignore[arg-type]


FARM = made()


def station(text: str, of: Farm = FARM):  # type: ignore[no-untyped-def]
    return read_station(of, text, name="s.csv")


# --- stations -------------------------------------------------------------------------------------------


def test_semicolons_commas_units_and_two_columns_of_time() -> None:
    read = station(
        "\n".join([
            "# exported", "Date;Clock;Temp Out [°F];Hum [%];Wind Speed [km/h];Gust [km/h];Rain [in];Dir",
            "12.05.2027;10:05;50,0;80;18;36;0,1;NW", "12.05.2027;10:35;51,8;80;18;54;0,0;N",
        ])
    )  # fmt: skip
    assert read.start == datetime(2027, 5, 12, 8, tzinfo=UTC)
    assert read.values["temperature_C"] == pytest.approx([10.5])
    assert read.values["wind_m_per_s"] == pytest.approx([5.0])
    assert read.values["gust_m_per_s"] == pytest.approx([15.0])
    assert read.values["rain_mm"] == pytest.approx([2.54])
    # 10 °C at 80 %: dew point 6.71 °C (ASHRAE psychrometric chart, 6.7).
    assert read.values["dew_point_C"][0] == pytest.approx(7.2, abs=0.05)
    assert np.isnan(read.values["cloud_share"]).all()
    assert (read.origins["cloud_share"] == 0).all()


@pytest.mark.parametrize(
    ("stamp", "utc"),
    [
        ("2027-05-12T10:00:00Z", 10), ("2027-05-12 10:00+02:00", 8), ("2027-05-12 10:00", 8),
        ("12.05.2027 10:00", 8), ("05/23/2027 10:00 AM", 8), ("2027-05-12 10:00 UTC", 10),
    ],
)  # fmt: skip
def test_times_as_they_are_written(stamp: str, utc: int) -> None:
    assert station(f"Time,Temp (°C)\n{stamp},4\n").start.hour == utc


def test_a_heading_that_says_utc_and_a_zone_of_the_station() -> None:
    assert station("Time (UTC),Temp (°C)\n2027-05-12 10:00,4\n").start.hour == 10
    assert station("Time,Temp (°C)\n2027-05-12 10:00,4\n", made(zone="UTC")).start.hour == 10


def test_own_headings() -> None:
    own = made(columns={"T_aussen": "temperature_F", "junk": "ignore", "v": "wind_kn"})
    read = station("Time,T_aussen,junk,v\n2027-05-12 10:00,50,x,10\n", own)
    assert read.values["temperature_C"] == pytest.approx([10.0])
    assert read.values["wind_m_per_s"] == pytest.approx([5.1444], abs=1e-4)


def test_the_hour_that_comes_twice() -> None:
    """Clocks went back on 31 October 2027 at 03:00 in Stockholm: 02:00 to 03:00 came twice (EU directive)."""
    rows = [("01:30", 1), ("02:00", 2), ("02:30", 3), ("02:00", 4), ("02:30", 5), ("03:00", 6)]
    read = station("Time,Temp (°C)\n" + "".join(f"2027-10-31 {t},{v}\n" for t, v in rows))
    assert read.start == datetime(2027, 10, 30, 23, tzinfo=UTC)
    assert read.values["temperature_C"] == pytest.approx([1.0, 2.5, 4.5, 6.0])
    # The same, the newest first.
    back = station("Time,Temp (°C)\n" + "".join(f"2027-10-31 {t},{v}\n" for t, v in rows[::-1]))
    assert back.values["temperature_C"] == pytest.approx([1.0, 2.5, 4.5, 6.0])


def test_the_hour_that_never_was() -> None:
    assert read_clock(datetime(2027, 3, 28, 2, 30), "Europe/Stockholm") is None  # noqa: DTZ001
    assert shown_twice(datetime(2027, 10, 31, 2, 30), "Europe/Stockholm")  # noqa: DTZ001
    assert not shown_twice(datetime(2027, 3, 28, 2, 30), "Europe/Stockholm")  # noqa: DTZ001
    with pytest.raises(BadInput, match="never was"):
        station("Time,Temp (°C)\n2027-03-28 01:30,1\n2027-03-28 02:30,2\n")
    read = station("Time,Temp (°C)\n2027-03-28 01:00,1\n2027-03-28 03:00,2\n")
    assert read.values["temperature_C"] == pytest.approx([1.0, 2.0])


def test_doubled_rows_count_once_and_spikes_are_left_out() -> None:
    rows = "".join(f"2027-05-{d:02d} {h:02d}:00,8,{h}\n" for d in range(1, 4) for h in range(24))
    read = station("Time,Temp (°C),Wind (m/s)\n" + rows + "2027-05-03 23:00,8,23\n2027-05-04 00:00,-999,3\n")
    assert read.hours == 73
    assert np.isnan(read.values["temperature_C"][-1])
    assert read.values["wind_m_per_s"][-2] == 23
    assert len(read.notes) == 2


hours_of_day = st.lists(st.integers(0, 200), min_size=2, max_size=60, unique=True)


@settings(max_examples=40, deadline=None)
@given(hours_of_day)
def test_gaps_stay_gaps(hours: list[int]) -> None:
    """Whatever hours are there: each holds its own reading, and every other is unknown, never zero."""
    first = datetime(2027, 5, 1, tzinfo=UTC)
    rows = "".join(f"{(first + timedelta(hours=h)).isoformat()},{h / 20:g}\n" for h in hours)
    read = station("Time,Temp (°C)\n" + rows)
    start = hour_of(first)
    for i in range(read.hours):
        h = read.first_hour + i - start
        value = read.values["temperature_C"][i]
        assert (value == pytest.approx(h / 20)) if h in hours else np.isnan(value)
    assert read.hours == max(hours) - min(hours) + 1


# --- laid over --------------------------------------------------------------------------------------------


def test_measured_before_forecast_before_typical_by_variable_and_hour() -> None:
    at = datetime(2027, 5, 12, 12, tzinfo=UTC)
    base = hour_of(datetime(2027, 5, 12, tzinfo=UTC))
    seen = of_hours(
        base + 8, {"temperature_C": np.array([1.0, np.nan, 3.0, 4.0, 5.0, 6.0, 7.0])}, "measured", 7
    )
    told = of_hours(
        base + 9, {"temperature_C": np.full(10, -1.0), "wind_m_per_s": np.full(10, 2.0)}, "forecast", 10
    )
    files = Files((seen,), normals(FARM), told)
    whole = read_weather(FARM, files, date(2027, 5, 12), date(2027, 5, 12), at)
    origin = [whole.origin("temperature_C", i + 2) for i in range(24 - 2)]  # hour 0 is 22 UTC the day before
    assert origin[:8] == ["typical"] * 8
    # Nothing that was measured after the hour of `at` is known yet, and a gap takes the forecast.
    assert origin[8:19] == ["measured", "forecast", "measured", "measured", "measured"] + ["forecast"] * 6
    assert whole.origin("wind_m_per_s", 2 + 9) == "forecast"
    assert whole.origin("wind_m_per_s", 2 + 8) == "typical"
    assert not any(np.isnan(whole.values[name]).any() for name in VARIABLES)


def test_a_lesser_origin_never_wins() -> None:
    known = of_hours(0, {"rain_mm": np.ones(3)}, "measured", 3)
    less = of_hours(0, {"rain_mm": np.zeros(5)}, "forecast", 5)
    assert (laid_over(known, less).values["rain_mm"] == 1).all()
    assert cut(known, 1, 4).origins["rain_mm"].tolist() == [3, 3, 0, 0]


# --- typical --------------------------------------------------------------------------------------------


def test_typical_hours_have_the_months_mean_and_a_daily_course() -> None:
    what = normals(FARM)
    start = hour_of(datetime(2027, 7, 1, tzinfo=UTC))
    t = typical(FARM, what, start, 24 * 31)["temperature_C"].reshape(31, 24)
    assert t[3:-3].mean() == pytest.approx(MONTHS_C[6], abs=0.05)
    span = t.max(axis=1) - t.min(axis=1)
    assert span[5] == pytest.approx(CLIMATE["daily_range"].value, abs=0.2)
    assert 12 <= t[5].argmax() <= 15  # about 15 h of the sun is 14 UTC at 13 east


def test_drawn_hours_have_the_means_asked_for() -> None:
    what = normals(FARM)
    start = hour_of(datetime(2027, 7, 1, tzinfo=UTC))
    _, days = solar_days(FARM, start, 24 * 31)
    rng = np.random.default_rng(1)
    luck = Luck(np.zeros((400, days)), *(rng.random((400, days)) for _ in range(4)))
    drawn = typical(FARM, what, start, 24 * 31, luck)
    assert drawn["cloud_share"].mean() == pytest.approx(CLIMATE["cloud_mean"].value, abs=0.01)
    assert drawn["wind_m_per_s"].mean() == pytest.approx(CLIMATE["wind_mean"].value, abs=0.05)
    a_month = CLIMATE["wet_days"].value * CLIMATE["rain_a_wet_day"].value * 31
    assert drawn["rain_mm"].sum(axis=1).mean() == pytest.approx(a_month, rel=0.05)
    assert (drawn["dew_point_C"] <= drawn["temperature_C"]).all()
    assert (drawn["global_w"] >= 0).all()


def test_a_year_tried_is_the_same_year_again_and_forecast_errors_have_their_spread() -> None:
    at = datetime(2027, 5, 12, 16, tzinfo=UTC)
    told = of_hours(hour_of(at), {"temperature_C": np.full(48, 5.0)}, "forecast", 48)
    files = Files((), normals(FARM), told)
    weather = read_weather(FARM, files, date(2027, 5, 10), date(2027, 5, 20), at)
    runs = [
        tried(FARM, weather, files.normals, weather.first_hour + 40, 72, at, n=200, seed=3) for _ in range(2)
    ]
    assert all(np.array_equal(runs[0].values[n], runs[1].values[n]) for n in VARIABLES)
    night = runs[0].values["temperature_C"][:, 40]  # inside the forecast
    assert float(np.median(night)) == pytest.approx(5.0, abs=0.02)
    assert float(night.std()) == pytest.approx(figure("tonight.forecast_sd").value, rel=0.25)


def test_typical_hours_lean_on_the_day_that_was_measured() -> None:
    """Measured 6 K over the season for a day, 0.65 of it left a day later (AR(1)): 3.9, then 2.5 K."""
    at = datetime(2027, 5, 12, 12, tzinfo=UTC)
    bare = read_weather(FARM, Files((), normals(FARM)), date(2027, 5, 9), date(2027, 5, 20), at)
    assert bare.departure_K is None
    i = bare.index(at)
    warm = bare.values["temperature_C"][i - 23 : i + 1] + 6.0
    seen = of_hours(bare.first_hour + i - 23, {"temperature_C": warm}, "measured", 24)
    files = Files((seen,), normals(FARM), persistence=0.65)
    leaning = read_weather(FARM, files, date(2027, 5, 9), date(2027, 5, 20), at)
    assert leaning.departure_K == pytest.approx(6.0)
    off = leaning.values["temperature_C"] - bare.values["temperature_C"]
    assert off[i + 24] == pytest.approx(6.0 * 0.65)
    assert off[i + 48] == pytest.approx(6.0 * 0.65**2)
    assert (off[: i - 23] == 0).all()
    runs = [tried(FARM, w, files.normals, w.first_hour + i, 120, at, n=400, seed=1) for w in (bare, leaning)]
    drawn = [run.values["temperature_C"] for run in runs]
    noon = 24  # the same hour of the next day
    assert drawn[1][:, noon].mean() - drawn[0][:, noon].mean() == pytest.approx(3.9, abs=0.6)
    assert drawn[1][:, noon].std() < 0.9 * drawn[0][:, noon].std()
    few = of_hours(bare.first_hour + i - 9, {"temperature_C": warm[:10]}, "measured", 10)
    assert (
        read_weather(FARM, Files((few,), normals(FARM)), date(2027, 5, 9), date(2027, 5, 20), at).departure_K
        is None
    )


# --- the thermometer at the birds' height ---------------------------------------------------------------


def test_refit_by_hand() -> None:
    """Ten nights' worth of 3 K and ten open nights of 5 K: (10 x 3 + 10 x 5) / 20 = 4 K."""
    start = figure("tonight.bird_height_deepest")
    assert STRENGTH_NIGHTS == 10.0
    found = refit(start, [Night(5.0, 1.0)] * 10)
    assert found.value == pytest.approx(4.0)
    assert (found.evidence, found.n_records) == ("records", 10)
    assert refit(start, [Night(9.0, 0.0)] * 50) is start


@given(st.lists(st.tuples(st.floats(-3, 12), st.floats(0, 1)), max_size=30))
def test_refit_lies_between_the_start_and_what_was_seen(nights: list[tuple[float, float]]) -> None:
    start = mine(3.0, "K")
    found = refit(start, [Night(depth, o) for depth, o in nights]).value
    shown = [depth / o for depth, o in nights if o >= 0.05]
    assert min([3.0, *shown]) - 1e-9 <= found <= max([3.0, *shown]) + 1e-9 or found in (0.0, 15.0)


# --- forecast ---------------------------------------------------------------------------------------------


def test_a_forecast_with_nulls_other_units_and_an_offset() -> None:
    said = {
        "utc_offset_seconds": 7200,
        "hourly_units": {"temperature_2m": "°F", "wind_speed_10m": "km/h"},
        "hourly": {
            "time": [f"2027-05-12T{h:02d}:00" for h in range(10, 16)],
            "temperature_2m": [50, None, 50, 50, 50, 50],
            "wind_speed_10m": [36] * 6,
            "precipitation": [0, 1, 0, 0, 0, 0],
        },
    }
    read = read_forecast(FARM, json.dumps(said))
    i = read.index(datetime(2027, 5, 12, 8, tzinfo=UTC))
    assert read.values["temperature_C"][i] == pytest.approx(10.0)
    assert np.isnan(read.values["temperature_C"][i + 1])
    assert read.values["wind_m_per_s"][i] == pytest.approx(10.0)
    # The millimetre at 11:00 fell in the hour before it.
    assert read.values["rain_mm"][i] == pytest.approx(1.0)
    assert {ORIGINS[int(c)] for c in read.origins["wind_m_per_s"]} <= {"none", "forecast"}


def test_read_files_tells_stations_from_typical_years() -> None:
    files = read_files(FARM, [("s.csv", "Time,Temp (°C)\n2027-05-12 10:00,4\n")])
    assert len(files.measured) == 1
