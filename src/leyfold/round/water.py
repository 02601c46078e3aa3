"""Tomorrow's water: litres by the hour, and the header buckets in the sun by the quarter of an hour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure, table
from leyfold.nature.air import berdahl_martin_1984_sky_C, watmuff_1977_film, wind_at_m_per_s
from leyfold.nature.bucket import BucketDays, Surroundings, follow, hours_above, hours_until_dry
from leyfold.nature.light import beam_and_diffuse_w, on_cylinder_w
from leyfold.nature.sun import sun_position
from leyfold.nature.water import over_the_day
from leyfold.nouns.ahead import Bucket, Flock, Water
from leyfold.nouns.clock import instant, wall
from leyfold.nouns.farm import Farm, HeaderBucket
from leyfold.nouns.kept import Kept
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.nouns.weather import Variable, Weather, hour_of
from leyfold.round.figures import tonight

__all__ = ["STEP_H", "Followed", "buckets", "drunk", "followed", "surface", "warmer", "water"]

Floats = NDArray[np.float64]

Followed = Mapping[tuple[int, str], Bucket]
"""By day of the season and place."""

_FOLLOWED: Kept[tuple[Bucket, ...]] = Kept(8)

STEP_H = 0.25
DAY_STEPS = 96
DAYS = 7
BUCKET_M = 1.0
"""Height of a header bucket on its shelter, for the wind about it."""
FRESH_C = 12.0
SHELL_J_PER_K = 1140.0
UNKNOWN = "black"


def surface(colour: str) -> str:
    """The row of the table of surfaces for a colour as written; the warmest where it is not known."""
    known = table("surfaces")
    plain = colour.strip().lower().replace("-", " ").replace(" ", "_").replace("gray", "grey")
    if plain in known:
        return plain
    return next((name for name in plain.split("_")[::-1] if name in known), UNKNOWN)


def drunk(farm: Farm, season: Season, weather: Weather, i: int) -> dict[str, float]:
    """Litres by place on day `i`: what the season expects at the month's mean, moved to the day's own by each
    line's slope. Nothing outside the season."""
    if not 0 <= i < season.days:
        return {}
    day = season.day(i)
    a, b = (weather.index(instant(on, time(0), farm.holding.zone)) for on in (day, day + timedelta(days=1)))
    factors = warmer(farm, season, i, float(weather.values["temperature_C"][a:b].mean()))
    found: dict[str, float] = {}
    for lot, litres in zip(season.lots, season.water_l[:, i].tolist(), strict=True):
        if litres > 0:
            found[lot.place] = found.get(lot.place, 0.0) + litres * factors[lot.batch, lot.sex]
    return found


def warmer(farm: Farm, season: Season, day: int, mean_C: float) -> dict[tuple[str, Sex], float]:
    """By batch and sex: water drunk on a day of that mean over what the season expects at its month's."""
    usual = farm.temperature_C[season.day(day).month - 1].value
    found: dict[tuple[str, Sex], float] = {}
    for batch in season.plan.batches:
        for sex in SEXES:
            of = farm.lines[batch.line].of(sex)
            slope, base = of.water_slope_per_K.value, of.water_base_C.value
            found[batch.id, sex] = (1 + slope * max(mean_C - base, 0.0)) / (
                1 + slope * max(usual - base, 0.0)
            )
    return found


def _quarters(weather: Weather, name: Variable, seconds: NDArray[np.floating]) -> Floats:
    """The value at instants, straight between the middles of the hours."""
    hours = seconds / 3600.0 - weather.first_hour - 0.5
    return np.asarray(np.interp(hours, np.arange(weather.hours), weather.values[name]))


def buckets(
    farm: Farm,
    weather: Weather,
    kits: Sequence[HeaderBucket],
    litres: Sequence[float],
    sunrises: Sequence[datetime],
    *,
    days: int = DAYS,
) -> tuple[Bucket, ...]:
    """Header buckets, each from its sunrise on and filled up at every sunrise with water of 12 °C, its
    birds drinking `litres` in a day by the light. Wind film by Watmuff (the lower, so the warmer, of those
    published), sky by Berdahl & Martin; the light that meets it as an upright cylinder in the open.
    """  # fmt: skip
    if not kits:
        return ()
    steps = DAY_STEPS * days
    # The sky of each sunrise once: [sunrise, step], and which of them each bucket stands under.
    begun = {sunrise: n for n, sunrise in enumerate(dict.fromkeys(sunrises))}
    of = [begun[sunrise] for sunrise in sunrises]
    starts = [datetime.fromtimestamp(sunrise.timestamp() // 900 * 900, UTC) for sunrise in begun]
    seconds = np.array([[at.timestamp()] for at in starts]) + 900.0 * np.arange(steps) + 450.0
    air, dew, cloud, light, wind = (
        _quarters(weather, name, seconds)
        for name in ("temperature_C", "dew_point_C", "cloud_share", "global_w", "wind_m_per_s")
    )
    zenith = sun_position(farm.holding.latitude_deg, farm.holding.longitude_deg, seconds).zenith_deg
    of_year = np.array([[float(at.timetuple().tm_yday)] for at in starts]) + np.arange(steps) // DAY_STEPS
    beam = beam_and_diffuse_w(light, zenith, np.minimum(of_year, 366.0))
    solar = np.mod(seconds / 3600.0 + farm.holding.longitude_deg / 15.0, 24.0)
    sky = berdahl_martin_1984_sky_C(air, np.minimum(dew, air), solar_h=solar, cloud_share=cloud)
    film = watmuff_1977_film(np.minimum(wind_at_m_per_s(wind, BUCKET_M), 30.0))
    lit = 1.0 * (zenith < 90.8).reshape(-1, days, DAY_STEPS)
    share = over_the_day(lit).reshape(-1, steps)[of]

    wide = np.array([k.diameter_m or figure("kit.bucket_diameter_m").value for k in kits])
    high = np.array([k.height_m or figure("kit.bucket_height_m").value for k in kits])
    holds = np.array([k.holds_l for k in kits])
    skins = [table("surfaces")[surface(k.colour)] for k in kits]
    takes, gives = (np.array([float(s[n]) for s in skins])[:, None] for n in ("absorptance", "emissivity"))
    size = {"diameter_m": wide[:, None], "height_m": high[:, None]}
    diffuse = beam.diffuse_w[of]
    sunny = takes * on_cylinder_w(light[of], beam.direct_w[of], diffuse, zenith[of], **size)
    shade = takes * on_cylinder_w(diffuse, 0.0, diffuse, zenith[of], **size)
    fills = np.where(np.arange(steps) % DAY_STEPS == 0, holds.max(), 0.0)
    fills[0] = 0.0
    # In the sun and in the shade, in one run.
    air, sky, film = (np.tile(one[of], (2, 1)) for one in (air, sky, film))
    both = {"diameter_m": wide, "height_m": high, "holds_l": holds, "start_l": holds}
    run = follow(
        Surroundings(np.concatenate((sunny, shade)), air, sky, film, np.tile(gives, (2, 1))), step_h=STEP_H,
        wanted_l=np.tile(np.array(litres)[:, None] * share, (2, 1)), start_C=FRESH_C,
        shell_j_per_K=SHELL_J_PER_K, poured_l=fills, poured_C=FRESH_C,
        **{name: np.tile(own, 2) for name, own in both.items()},
    )  # fmt: skip
    run, shaded = (
        BucketDays(*(getattr(run, field.name)[here] for field in fields(BucketDays)))
        for here in (slice(len(kits)), slice(len(kits), None))
    )
    wet = run.water_l > 1e-9
    warmest = np.where(wet, run.water_C, -np.inf)[:, 1:].reshape(len(kits), days, DAY_STEPS)
    warm_C, refused_C = tonight(farm, "water_warm"), tonight(farm, "water_refused")
    refused = hours_above(
        run.water_C[:, : DAY_STEPS + 1], np.full(len(kits), refused_C), step_h=STEP_H,
        counted=1.0 * wet[:, 1 : DAY_STEPS + 1],
    )  # fmt: skip
    dry = hours_until_dry(run, step_h=STEP_H)
    found = []
    for i, kit in enumerate(kits):
        day_C, day_l = run.water_C[i, : DAY_STEPS + 1], run.water_l[i, : DAY_STEPS + 1]
        drinks, first = share[i, :DAY_STEPS] > 0, starts[of[i]]
        too_warm = np.flatnonzero((day_C[1:] > warm_C) & wet[i, 1 : DAY_STEPS + 1] & drinks)
        warm_h = STEP_H * (int(too_warm[0]) + 1) if len(too_warm) else np.inf
        dry_h = float(dry[i]) if dry[i] <= 24.0 else np.inf
        soonest = min(warm_h, dry_h)
        at = None if np.isinf(soonest) else first + timedelta(hours=soonest)
        top = int(np.where(wet[i, : DAY_STEPS + 1], day_C, -np.inf).argmax())
        by_day = warmest[i].max(axis=1)
        shade_wet = np.where(
            shaded.water_l[i, : DAY_STEPS + 1] > 1e-9, shaded.water_C[i, : DAY_STEPS + 1], -np.inf
        )
        found.append(Bucket(
            kit.id, kit.colour, kit.holds_l,
            tuple(first + timedelta(hours=STEP_H * k) for k in range(DAY_STEPS + 1)), day_C, day_l,
            float(day_C[top]), first + timedelta(hours=STEP_H * top), at,
            None if at is None else "warm" if warm_h <= dry_h else "dry", float(refused[i]),
            None if np.isinf(dry_h) else dry_h, float(run.missed_l[i, :DAY_STEPS].sum()),
            float(shade_wet.max()), tuple(float(c) for c in by_day),
            int(np.ceil(litres[i] / kit.holds_l - 1e-9)),
        ))  # fmt: skip
    return tuple(found)


def followed(
    farm: Farm, season: Season, weather: Weather, sunrises: Mapping[int, datetime], *, days: int = DAYS
) -> Followed:
    """The buckets of the shelters that drink on each of some days, from the day's sunrise on over so many
    `days`: all of them in one run."""
    places, kits, wanted, begun = [], [], [], []
    for i, sunrise in sunrises.items():
        for place, litres in drunk(farm, season, weather, i).items():
            kind = season.places[place].kind
            name = farm.shelters[place].header_bucket if kind == "shelter" else None
            if name is not None and name in farm.buckets:
                places.append((i, place))
                kits.append(farm.buckets[name])
                wanted.append(litres)
                begun.append(sunrise)
    # Lines are nothing to a bucket but for what the birds drink.
    bare = replace(farm, lines={})
    made = _FOLLOWED.get(
        (wanted, kits, begun, days, weather, bare),
        lambda: buckets(bare, weather, kits, wanted, begun, days=days),
    )
    return dict(zip(places, made, strict=True))


def water(
    farm: Farm, season: Season, weather: Weather, flocks: Sequence[Flock], i: int, buckets: Followed
) -> tuple[Water, ...]:
    """Every place that drinks on day `i`, shelters with their bucket among those `followed`."""
    drinks = drunk(farm, season, weather, i)
    if not drinks:
        return ()
    holding = farm.holding
    share = _by_clock(holding.latitude_deg, holding.longitude_deg, holding.zone, season.day(i))
    heads: dict[str, float] = {}
    for flock in flocks:
        heads[flock.place] = heads.get(flock.place, 0.0) + flock.heads
    found = []
    for place, litres in drinks.items():
        by_hour = tuple([litres * part for part in share])
        kind = season.places[place].kind
        bucket = buckets.get((i, place))
        found.append(Water(place, kind, heads.get(place, 0.0), litres, by_hour, bucket, _grade(bucket)))
    return tuple(found)


@lru_cache(maxsize=64)
def _by_clock(latitude_deg: float, longitude_deg: float, zone: str, day: date) -> tuple[float, ...]:
    """Share of a civil day's drinking in each hour that its clock shows, by the light."""
    first, until = (hour_of(instant(d, time(0), zone)) for d in (day, day + timedelta(days=1)))
    hours = np.arange(first, until)
    lit = 1.0 * (sun_position(latitude_deg, longitude_deg, 3600.0 * hours + 1800.0).zenith_deg < 90.8)
    shares = [0.0] * 24
    for hour, part in zip(hours.tolist(), over_the_day(lit).tolist(), strict=True):
        shares[wall(datetime.fromtimestamp(hour * 3600, UTC), zone).hour] += part
    return tuple(shares)


def _grade(bucket: Bucket | None) -> int:
    """Refused or dry by day is danger, to be refilled before evening act."""
    if bucket is None or bucket.refill_at is None:
        return 0
    return 3 if bucket.refused_h > 0 or bucket.missed_l > 0.1 * bucket.holds_l else 2
