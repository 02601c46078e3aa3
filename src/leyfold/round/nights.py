"""Nights at the birds' height: how cold, for how long, and what each flock bears."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.air import wind_at_m_per_s
from leyfold.nature.cold import ColdRule, cold_reasons, cold_risk, pile_risk
from leyfold.nature.night import bird_height_C
from leyfold.nature.sun import rise_and_set
from leyfold.nouns.ahead import Band, Cold, Flock, Night
from leyfold.nouns.clock import civil, instant
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.record import State
from leyfold.nouns.weather import ORIGINS, Weather
from leyfold.round.figures import cold_rule, tonight, tonight_figure
from leyfold.round.tried import Tried
from leyfold.weather.bird_height import Night as Seen
from leyfold.weather.bird_height import refit

__all__ = ["BIRD_M", "band", "bird_air", "cold_nights", "deepest", "night_of", "nights", "under_floor"]

Floats = NDArray[np.float64]

BIRD_M = 0.2
WET_MM = 0.5
"""Rain in an hour from which ground and birds of a floorless shelter are wet: a guess."""
SHORTEST_H = 2
_TENTHS = np.array((0.1, 0.5, 0.9))


def band(values: Floats) -> Band:
    """The points that one, five and nine of ten draws stay under; `values` [draw]."""
    # As numpy's quantile, straight between the values in order, and much faster on a few hundred.
    n = len(values)
    low, middle, high = np.interp(_TENTHS * (n - 1), np.arange(n), np.sort(values)).tolist()
    return Band(low, middle, high)


def deepest(farm: Farm, weather: Weather, state: State) -> Figure:
    """How much colder it gets at the birds' height in the clearest calm night: the start figure moved by the
    farm's thermometer. A night counts where the station measured its temperature and wind is better than
    typical; where cloud is only typical the mean stands for it."""
    start = tonight_figure(farm, "bird_height_deepest")
    seen = []
    measured, better = ORIGINS.index("measured"), ORIGINS.index("forecast")
    for low in state.lows_C:
        zone = farm.holding.zone
        a = weather.index(instant(low.on - timedelta(days=1), time(20), zone))
        b = weather.index(instant(low.on, time(8), zone))
        if a < 0 or b > weather.hours:
            continue
        t, of = weather.values["temperature_C"][a:b], weather.origins["temperature_C"][a:b]
        if (of == measured).sum() < 8 or weather.origins["wind_m_per_s"][a:b].min() < better:
            continue
        coldest = np.where(of == measured, t, np.inf)
        still = max(
            0.0, 1.0 - float(weather.values["wind_m_per_s"][a:b].mean()) / tonight(farm, "calm_under")
        )
        clear = 1.0 - float(weather.values["cloud_share"][a:b].mean())
        seen.append(Seen(float(coldest.min()) - low.number, still * clear))
    return refit(start, seen)


def bird_air(farm: Farm, run: Tried, depth: Figure) -> Floats:
    """[draw, hour] air at the birds' height over open grass; by day that of the station."""
    deep = np.maximum(depth.value * (1.0 + tonight(farm, "bird_height_depth_sd") * run.depth_z), 0.0)
    return bird_height_C(
        run.values["temperature_C"], run.values["wind_m_per_s"], run.values["cloud_share"],
        deepest_K=np.minimum(deep, 15.0), calm_under_m_per_s=tonight(farm, "calm_under"),
        station_sd_K=0.0, depth_sd_share=0.0,
    ).middle_C  # fmt: skip


def nights(farm: Farm, at: datetime, n: int) -> tuple[tuple[datetime, datetime], ...]:
    """Sunset and sunrise of the night that `at` lies in or that comes next, and of those after it."""
    holding = farm.holding
    day = civil(at, holding.zone)
    noons = [instant(day + timedelta(days=k - 1), time(12), holding.zone).timestamp() for k in range(n + 3)]
    sun = rise_and_set(holding.latitude_deg, holding.longitude_deg, noons)
    spans = [
        (
            datetime.fromtimestamp(float(sun.set_s[k]), UTC),
            datetime.fromtimestamp(float(sun.rise_s[k + 1]), UTC),
        )
        for k in range(n + 2)
    ]
    return tuple([span for span in spans if span[1] > at][:n])


def hours_of(run: Tried, span: tuple[datetime, datetime]) -> slice:
    """The hours that the night touches; where the sun hardly sets, those about its lowest."""
    a, b = span[0].timestamp() / 3600 - run.first_hour, span[1].timestamp() / 3600 - run.first_hour
    if b - a < SHORTEST_H:
        middle = 0.5 * (a + b)
        a, b = middle - SHORTEST_H, middle + SHORTEST_H
    return slice(max(int(np.floor(a)), 0), max(int(np.ceil(b)), 0))


def night_of(weather: Weather, run: Tried, air: Floats, span: tuple[datetime, datetime]) -> Night:
    """One night in bands."""
    here = hours_of(run, span)
    curve = np.quantile(air[:, here], (0.1, 0.5, 0.9), axis=0)
    origin = weather.origins["temperature_C"][run.first_hour - weather.first_hour :][here]
    return Night(
        span[0], span[1], band(air[:, here].min(axis=1)),
        band(run.values["temperature_C"][:, here].min(axis=1)),
        band(run.values["rain_mm"][:, here].sum(axis=1)),
        float(np.median(run.values["wind_m_per_s"][:, here])),
        ORIGINS[int(origin.min())],
        tuple(datetime.fromtimestamp((run.first_hour + h) * 3600, UTC) for h in range(here.start, here.stop)),
        curve,
    )  # fmt: skip


def _at_birds(
    flock: Flock, run: Tried, air: Floats, here: slice
) -> tuple[Floats, Floats, NDArray[np.floating], float]:
    """Air, wind and wet [draw, hour] at the birds, and whether they lie dry and bedded."""
    if flock.kind == "shelter":
        wind: Floats = wind_at_m_per_s(run.values["wind_m_per_s"][:, here], BIRD_M)
        return air[:, here], wind, 1.0 * (run.values["rain_mm"][:, here] >= WET_MM), 0.0
    inside = run.values["temperature_C"][:, here]
    return inside, np.zeros_like(inside), np.zeros_like(inside), 1.0


def cold_nights(
    farm: Farm,
    flocks: Sequence[Flock],
    run: Tried,
    air: Floats,
    span: tuple[datetime, datetime],
    unsettled: frozenset[str] = frozenset(),
) -> tuple[Cold, ...]:
    """Tonight for every flock out of the brooder. Shelters have been moved onto bare grass today; houses are
    bedded, closed and as cold as the air outside. `unsettled`: batches moved or sorted today.
    """
    rule, here = cold_rule(farm), hours_of(run, span)
    found = []
    for flock in flocks:
        if flock.kind == "brooder":
            continue
        temp, wind, wet, bedded = _at_birds(flock, run, air, here)
        huddle = max(flock.heads, 1.0)
        cold = cold_risk(
            temp, flock.age_d, heads=huddle, bedded=bedded, wet=wet, wind_m_per_s=wind, rule=rule
        )
        worst = cold.grade.max(axis=1)
        under = (cold.margin_K < 0) | (cold.soaked > 0)
        hour = int(np.median(cold.margin_K, axis=0).argmin())
        typical = cold_risk(
            np.median(temp[:, hour]), flock.age_d, heads=huddle, bedded=bedded,
            wet=float(np.median(wet[:, hour])), wind_m_per_s=np.median(wind[:, hour]), rule=rule,
        )  # fmt: skip
        floors = np.median(cold.floor_C + 0.0 * temp, axis=0)
        pile = pile_risk(
            flock.heads, np.median(cold.margin_K.min(axis=1)), settled=float(flock.batch not in unsettled),
            easy_heads=rule.usual_heads, many_heads=tonight(farm, "group_many"),
        )  # fmt: skip
        found.append(Cold(
            flock, band(temp.min(axis=1)), float(typical.floor_C), floors, band(1.0 * under.sum(axis=1)),
            float(under.any(axis=1).mean()), int(np.quantile(worst, 0.5, method="higher")),
            int(np.quantile(worst, 0.9, method="higher")),
            tuple((r.what, r.by) for r in cold_reasons(typical)), int(pile),
        ))  # fmt: skip
    return tuple(found)


def under_floor(
    rule: ColdRule,
    flock: Flock,
    age_d: int,
    run: Tried,
    air: Floats,
    span: tuple[datetime, datetime],
) -> NDArray[np.bool_]:
    """[draw] whether the night falls under what the flock would bear in a shelter at that age."""
    here = hours_of(run, span)
    temp, wind, wet, bedded = _at_birds(replace(flock, kind="shelter"), run, air, here)
    cold = cold_risk(
        temp, age_d, heads=max(flock.heads, 1.0), bedded=bedded, wet=wet, wind_m_per_s=wind, rule=rule
    )
    under: NDArray[np.bool_] = np.any((cold.margin_K < 0) | (cold.soaked > 0), axis=1)
    return under
