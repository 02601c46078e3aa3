"""Broken weather: each file is refused in words, with a mend, and never with a traceback."""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.weather.forecast import read_forecast
from leyfold.weather.read import read_files

HERE = Path(__file__).parent / "weather"
FORECASTS = sorted(HERE.glob("*.json"))
FILES = sorted([*HERE.glob("*.csv"), *HERE.glob("*.epw")])
DEMO = Path(__file__).parents[2] / "examples" / "demo"


@pytest.fixture(scope="module")
def demo() -> Farm:
    return read_farm(Texts(DEMO))


def test_the_corpus_is_there() -> None:
    assert len(FORECASTS) >= 25
    assert len(FILES) >= 15


@pytest.mark.parametrize("path", FORECASTS, ids=lambda p: p.stem)
def test_a_forecast_that_is_none_is_told(demo: Farm, path: Path) -> None:
    with pytest.raises(BadInput) as told:
        read_forecast(demo, path.read_text(encoding="utf-8"))
    for fault in told.value.faults:
        assert fault.file == "forecast"
        assert fault.wrong
        assert fault.mend


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_file_that_cannot_be_is_told(demo: Farm, path: Path) -> None:
    with pytest.raises(BadInput) as told:
        read_files(demo, [(path.name, path.read_text(encoding="utf-8"))])
    for fault in told.value.faults:
        assert fault.file == path.name
        assert fault.wrong
        assert fault.mend


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("fahrenheit.csv", "Fahrenheit"),
        ("celsius.csv", "Celsius"),
        ("skipped_hour.csv", "never was"),
        ("day_or_month.csv", "day or the month"),
        ("two_readings.csv", "line 2"),
    ],
)
def test_what_is_wrong_is_said(demo: Farm, name: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_files(demo, [(name, (HERE / name).read_text(encoding="utf-8"))])


def test_a_forecast_in_fahrenheit_is_named(demo: Farm) -> None:
    with pytest.raises(BadInput, match="Fahrenheit"):
        read_forecast(demo, (HERE / "fahrenheit.json").read_text(encoding="utf-8"))


ODD = (
    *("", "4", "4,5", "-", "inf", "1e400", "2027-05-12 10:00", "12.5.2027 24:00", "02/30/2027 1:00"),
    *("1950-01-01 00:00", "2027-03-28 02:30", "Time", "Temp (°C)", "Rain (mm)", "0001-01-01 00:00Z"),
)
cells = st.one_of(
    st.sampled_from(ODD),
    st.text(max_size=8),
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.sampled_from(
        ["Time,Temp (°C)", "Date;Clock;Temp (°C)", "Time\tWind (m/s)\tRain (mm)", "LOCATION,a", ""]
    ),
    st.lists(st.lists(cells, max_size=4), max_size=6),
)
def test_whatever_stands_in_a_file_it_is_read_or_refused(
    demo: Farm, head: str, rows: list[list[str]]
) -> None:
    sign = ";" if ";" in head else "\t" if "\t" in head else ","
    text = "\n".join([head, *(sign.join(row) for row in rows)])
    with suppress(BadInput):
        read_files(demo, [("a.csv", text)])


things = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.floats() | st.text(max_size=6)
    | st.sampled_from(["2027-05-12T10:00", "°C"]),
    lambda inner: st.lists(inner, max_size=7)
    | st.dictionaries(
        st.sampled_from(["hourly", "hourly_units", "time", "temperature_2m", "latitude"]),
        inner,
    ),
    max_leaves=20,
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(things)
def test_whatever_a_server_says_it_is_read_or_refused(demo: Farm, said: object) -> None:
    with suppress(BadInput):
        read_forecast(demo, json.dumps(said))
