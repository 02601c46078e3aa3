"""Readers of typical years against the files that come with pvlib, and against pvlib's own reader."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pvlib
import pytest

from farms import farm
from leyfold.farm.tables import figure, table
from leyfold.nouns.weather import Source, Weather
from leyfold.weather.read import read_files
from leyfold.weather.typical import normals
from leyfold.weather.typical_year import is_epw, is_tmy3, read_epw, read_tmy3

DATA = Path(pvlib.__file__).parent / "data"
SOURCE = Source(climate={name: figure(f"climate.{name}") for name in table("climate")})


def read(name: str) -> Weather:
    text = (DATA / name).read_text(encoding="utf-8")
    assert is_tmy3(text)
    return read_tmy3(text, name=name)


# Of the files themselves, taken from them with pandas beforehand.
@pytest.mark.parametrize(
    ("name", "light", "warmth", "wind"),
    [
        ("723170TYA.CSV", (178.79, 1013.0), (14.42, -16.7, 35.6), (3.05, 15.4)),
        ("703165TY.csv", (94.66, 862.0), (4.42, -10.6, 19.4), (5.07, 23.7)),
    ],
)
def test_a_whole_year(
    name: str, light: tuple[float, float], warmth: tuple[float, float, float], wind: tuple[float, float]
) -> None:
    year = read(name)
    assert year.hours == 8760
    g, t, v = (year.values[n] for n in ("global_w", "temperature_C", "wind_m_per_s"))
    assert (round(float(g.mean()), 2), float(g.max())) == light
    assert (round(float(t.mean()), 2), float(t.min()), float(t.max())) == warmth
    assert (round(float(v.mean()), 2), float(v.max())) == wind
    assert (year.origins["temperature_C"] == 1).all()
    assert np.isnan(year.values["rain_mm"]).all()


def test_every_hour_is_that_of_pvlib() -> None:
    mine = read("723170TYA.CSV")
    theirs, _ = pvlib.iotools.read_tmy3(DATA / "723170TYA.CSV", coerce_year=2001, map_variables=True)
    for name, column in (("temperature_C", "temp_air"), ("dew_point_C", "temp_dew"), ("global_w", "ghi"),
                         ("wind_m_per_s", "wind_speed")):  # fmt: skip
        assert np.array_equal(mine.values[name], theirs[column].to_numpy(dtype=float)), name
    # Its stamps end the hour: the first is 01:00 of standard time, so hour 0 begins at midnight there.
    assert mine.start.isoformat() == "2001-01-01T05:00:00+00:00"


def test_the_normals_of_a_year_are_its_monthly_means() -> None:
    made = replace(farm(), weather=SOURCE)
    year = read("703165TY.csv")
    theirs, _ = pvlib.iotools.read_tmy3(DATA / "703165TY.csv", coerce_year=2001, map_variables=True)
    wind = theirs["wind_speed"].to_numpy(dtype=float)
    days = np.arange(8760) // 24
    march = (days >= 59) & (days < 90)
    found = normals(made, year)
    assert found.wind_m_per_s[2] == pytest.approx(wind[march].mean())
    # The farm's own word on its months goes before the file's.
    assert found.mean_C[2] == made.temperature_C[2].value


def epw(rows: list[str]) -> str:
    head = ["LOCATION,A,B,C,TMY3,1,57.8,14.4,1.0,10.0", *["X,0"] * 7]
    return "\n".join([*head, *rows]) + "\n"


def epw_row(month: int, day: int, hour: int, t: str = "4.5") -> str:
    start = ["1999", str(month), str(day), str(hour), "60", "?9", t, "1.5", "80", "100000", "0", "0"]
    middle = ["300", "12", "5", "7", "0", "0", "0", "0", "180", "3.2", "6", "5", "20", "3000", "9", "0"]
    fields = [*start, *middle, "10", "0.1", "0", "88", "0.2", "0.0", "1.0"]
    return ",".join(fields)


def all_hours() -> list[tuple[int, int, int]]:
    days = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[D]").astype(object)
    return [(d.month, d.day, h) for d in days for h in range(1, 25)]


def test_epw_by_its_published_columns() -> None:
    """Fields N6, N7, N13, N21 and N22 of the data dictionary (1-based from the year)."""
    rows = [epw_row(*at) for at in all_hours()]
    rows[5] = epw_row(1, 1, 6, t="99.9")
    text = epw(rows)
    assert is_epw(text)
    year = read_epw(text, name="a.epw")
    assert np.isnan(year.values["temperature_C"][5])
    assert year.origins["temperature_C"][5] == 0
    assert float(np.nanmean(year.values["temperature_C"])) == pytest.approx(4.5)
    assert float(year.values["global_w"].mean()) == 12.0
    assert float(year.values["wind_m_per_s"].mean()) == pytest.approx(3.2)
    assert float(year.values["cloud_share"].mean()) == pytest.approx(0.6)
    assert year.start.isoformat() == "2000-12-31T23:00:00+00:00"


def test_a_typical_year_serves_through_the_one_door() -> None:
    text = (DATA / "723170TYA.CSV").read_text(encoding="utf-8")
    made = replace(farm(), weather=SOURCE)
    files = read_files(made, [("year.csv", text)])
    assert files.measured == ()
    assert files.normals.wind_m_per_s.mean() == pytest.approx(3.05, abs=0.02)
