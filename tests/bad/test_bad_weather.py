"""Broken weather: each file is refused in words, with a mend, and never with a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

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
