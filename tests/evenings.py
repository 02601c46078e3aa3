"""Evenings built in code: a small farm with birds at grass, weather said by hand, and what is seen ahead."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np

from farms import farm
from leyfold.farm.tables import figure, table
from leyfold.nouns.ahead import Ahead
from leyfold.nouns.farm import Farm, HeaderBucket, Shelter
from leyfold.nouns.plan import Batch, Plan, Stay
from leyfold.nouns.record import State
from leyfold.nouns.weather import Source, Weather, hour_of
from leyfold.round.ahead import NIGHTS, look_ahead
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.weather.read import Files, read_weather
from leyfold.weather.series import of_hours
from leyfold.weather.typical import normals

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
