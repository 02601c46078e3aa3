"""The look-ahead of one evening, from what the farm, its season and the weather say. Pure."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import table
from leyfold.feed.demand import demand
from leyfold.feed.haul import last_haul_s
from leyfold.nature.bucket import frost_free_w
from leyfold.nature.grazing import days_behind_cattle, grass_warmth_K_d
from leyfold.nouns.ahead import Ahead, DarkHours
from leyfold.nouns.clock import civil, instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.nouns.weather import ORIGINS, Weather
from leyfold.round.cautions import cautions, stop_orders
from leyfold.round.figures import tonight
from leyfold.round.flocks import flocks
from leyfold.round.heat import heats
from leyfold.round.indoors import brooders, mains_off
from leyfold.round.outlook import outlook, sun_of, unsettled
from leyfold.round.water import drunk, followed, water
from leyfold.round.week import due, feed_left, laying, settable, turnouts
from leyfold.season.alarms import alarms
from leyfold.weather.typical import Normals

__all__ = ["DRAWS", "NIGHTS", "look_ahead", "tank"]

Floats = NDArray[np.float64]

DRAWS = 200
NIGHTS = 12
BARE_BUCKET_W_PER_K = 4.5
LARVAE_WITHIN_D = 30.0
"""Dung that takes longer dries or rots first: a guess."""


def look_ahead(
    farm: Farm, state: State, season: Season, weather: Weather, what: Normals, at: datetime,
    *, n: int = DRAWS, seed: int = 0,
) -> Ahead:  # fmt: skip
    """Tonight, tomorrow and the week. `weather` from 1 January (or two days back) to two days beyond the
    last of `NIGHTS` nights; `what` the normals its typical hours come from."""
    zone = farm.holding.zone
    day = civil(at, zone)
    seen = outlook(farm, state, weather, what, at, count=NIGHTS, n=n, seed=seed)
    spans = seen.spans
    morning = civil(spans[0][1], zone)
    night = seen.night(0)
    tonights = slice(weather.index(spans[0][0]), weather.index(spans[0][1]) + 1)
    here = flocks(season, state, day)
    cold = seen.cold(0, here, unsettled(season, day))
    sunrise, sunset = sun_of(farm, morning)
    tomorrow = seen.hours(morning)
    windy = seen.gusts(here, at, sunset)
    hot = heats(farm, weather, here, tomorrow, seen.highest(morning))
    i = season.index(morning)
    drinks = water(
        farm, season, weather, here, i, followed(farm, season, weather, {i: spans[0][1]}),
    )  # fmt: skip
    barn_C = night.station_C.low
    under_heat = brooders(farm, here, barn_C)
    left = feed_left(farm, demand(season), state, day)
    tank_l, trips, last = tank(farm, season, weather, morning)
    grass, grass_on = _grass(farm, weather, day)
    return Ahead(
        at=at, day=day, tomorrow=morning, flocks=here, night=night, cold=cold, gusts=windy, heat=hot,
        water=drinks, brooders=under_heat,
        turnout=turnouts(farm, season, here, seen.run, seen.air, spans, day),
        mains=mains_off(farm, season, under_heat, day, barn_C),
        due=due(season, day), settable=settable(farm, season, here, day), feed=left,
        laying=laying(farm, here, morning),
        dark=DarkHours(spans[0][0], spans[0][1], (sunset - sunrise).total_seconds() / 3600.0),
        tank_l=tank_l, tank_trips=trips, tank_last=last, cattle_d=_cattle(farm, weather, day),
        grass_K_d=grass, grass_on=grass_on, frost_w=_frost(farm, night.station_C.low),
        stops=stop_orders(state, day),
        cautions=cautions(
            farm, day, night=night, cold=cold, gusts=windy, heat=hot, water=drinks,
            brooders=under_heat, feed=left, flocks=here, rung=alarms(farm, season, state, day),
        ),
        notes=weather.notes, depth_source=seen.depth.source,
        said_of={
            name: ORIGINS[int(weather.origins[name][tonights].min())]
            for name in ("temperature_C", "wind_m_per_s", "gust_m_per_s", "cloud_share", "rain_mm")
        },
    )  # fmt: skip


def tank(
    farm: Farm, season: Season, weather: Weather, day: date
) -> tuple[float, int | None, datetime | None]:
    """Litres to haul on `day` for the birds out of doors, tanks, and the hour the last one is wanted by."""
    i = season.index(day)
    if not 0 <= i < season.days:
        return 0.0, None, None
    drinks = drunk(farm, season, weather, i)
    litres = sum(v for place, v in drinks.items() if season.places[place].kind != "brooder")
    holds = max((t.holds_l for t in farm.tanks.values() if t.owned(day)), default=None)
    if holds is None or litres <= 0:
        return litres, None, None
    sunrise, sunset = sun_of(farm, day)
    last = last_haul_s(litres, holds, rise_s=sunrise.timestamp(), set_s=sunset.timestamp())
    return (
        litres,
        int(np.ceil(litres / holds - 1e-9)),
        None if last is None else datetime.fromtimestamp(last, UTC),
    )


def _cattle(farm: Farm, weather: Weather, day: date) -> tuple[float, float] | None:
    """Days after the cattle from which hens find larvae, and until when, at the mean of the week ahead;
    None where it is too cool for them."""
    if not any(c.owned(day) for c in farm.cattle.values()):
        return None
    row = table("tonight")["behind_cattle"]
    week = weather.index(instant(day, time(0), farm.holding.zone))
    mean = float(weather.values["temperature_C"][week : week + 168].mean())
    span = days_behind_cattle(
        mean, first_K_d=row["first_K_d"], last_K_d=row["last_K_d"], base_C=row["base_C"]
    )
    first, last = float(span.first_d), float(span.last_d)
    return (first, last) if first <= LARVAE_WITHIN_D else None


def _grass(farm: Farm, weather: Weather, day: date) -> tuple[float | None, date | None]:
    """The sum of warmth up to yesterday, and the day within the weather on which grass begins; None south of
    the line, where the published sum does not hold, and where the weather does not reach back to January."""
    zone = farm.holding.zone
    first = date(day.year, 1, 1)
    opens = weather.index(instant(first, time(0), zone))
    if farm.holding.latitude_deg <= 0 or opens < 0 or day == first:
        return None, None
    days = (weather.hours - opens) // 24
    mean = weather.values["temperature_C"][opens : opens + 24 * days].reshape(days, 24).mean(axis=1)
    month = (np.datetime64(first, "D") + np.arange(days)).astype("datetime64[M]").astype(np.int64) % 12 + 1
    running = grass_warmth_K_d(mean, month)
    reached = np.flatnonzero(running >= tonight(farm, "grass_begins"))
    begins = first + timedelta(days=int(reached[0])) if len(reached) else None
    return float(running[(day - first).days - 1]), begins


def _frost(farm: Farm, low_C: float) -> float | None:
    """Watts that keep one bare bucket open tonight; None where it does not freeze."""
    if low_C >= 0:
        return None
    return float(frost_free_w(low_C, loss_w_per_K=BARE_BUCKET_W_PER_K, keep_C=tonight(farm, "water_kept")))
