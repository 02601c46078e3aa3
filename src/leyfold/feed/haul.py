"""Water hauled by tank, and what is put into it where it comes from a lake."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nature.sun import rise_and_set
from leyfold.nouns.clock import instant, wall
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.season.grazing import grazes

__all__ = ["Hauled", "bleach_ml", "hauled", "last_haul_s"]

QUARTER_S = 900
G_PER_L = 1000.0
"""Weight in volume: 5 % is 50 g in a litre."""


@dataclass(frozen=True, slots=True)
class Hauled:
    """Litres of one day: birds out of doors, birds in the brooder (from the tap), cattle at grass.
    `trips` are tanks for the birds out of doors, `trips_all` for the cattle too; None without a tank. `last`
    is the hour by which the last tank for the birds has to be there, None where one does for the day."""

    day: date
    birds_l: float
    brooder_l: float
    cattle_l: float
    trips: int | None
    trips_all: int | None
    last: time | None


def hauled(farm: Farm, season: Season) -> tuple[Hauled, ...]:
    """Every day of the season, on its mean temperature; a hot day takes more (`water_slope`). The tank is the
    largest the farm owns that day; cattle drink a cited figure a head while they are at grass, and from the
    tap in the byre."""
    inside = np.array([season.places[lot.place].kind == "brooder" for lot in season.lots], dtype=bool)
    brooder, birds = season.water_l[inside].sum(axis=0), season.water_l[~inside].sum(axis=0)
    a_head = figure("feeding.cattle_water_l_per_d").value
    zone = farm.holding.zone
    noons = [instant(season.day(i), time(12), zone).timestamp() for i in range(season.days)]
    sun = rise_and_set(farm.holding.latitude_deg, farm.holding.longitude_deg, noons)
    found = []
    for i in range(season.days):
        day, litres = season.day(i), float(birds[i])
        cattle = a_head * sum(c.heads for c in farm.cattle.values() if grazes(farm, c, day))
        tank = max((t.holds_l for t in farm.tanks.values() if t.owned(day)), default=None)
        trips = every = last = None
        if tank is not None:
            trips, every = _trips(litres, tank), _trips(litres + cattle, tank)
            at = last_haul_s(litres, tank, rise_s=float(sun.rise_s[i]), set_s=float(sun.set_s[i]))
            last = None if at is None else wall(datetime.fromtimestamp(at, tz=UTC), zone)
        found.append(Hauled(day, litres, float(brooder[i]), cattle, trips, every, last))
    return tuple(found)


def _trips(litres: float, tank_l: float) -> int:
    return int(np.ceil(litres / tank_l - 1e-9))


def last_haul_s(litres: float, tank_l: float, *, rise_s: float, set_s: float) -> float | None:
    """When [Unix s] the last tank has to be there, where the first is full at sunrise and birds drink evenly
    until sunset; None where one tank lasts. Down to the quarter of an hour. A simple reckoning: in heat they
    drink most after noon, and the last tank is then wanted earlier."""
    tanks = _trips(litres, tank_l)
    if tanks <= 1:
        return None
    at = rise_s + (set_s - rise_s) * (tanks - 1) * tank_l / litres
    return at - at % QUARTER_S


def bleach_ml(litres: float, *, chlorine_mg_per_l: float, bleach_share: float) -> float:
    """Millilitres of plain bleach (`bleach_share` chlorine by weight in volume, 0.01 to 0.15) that bring
    `litres` of water to `chlorine_mg_per_l` (0.5 to 5): 3 mg/l in 1,000 l is 60 ml of 5 % bleach.

    Common practice for clear, cold water that birds drink; ValueError outside those bounds. Never with
    medicine in the water; let it work half an hour and check with a strip of free chlorine; local advice
    goes before it.
    """
    if not (litres >= 0 and 0.5 <= chlorine_mg_per_l <= 5 and 0.01 <= bleach_share <= 0.15):
        raise ValueError("out of bounds: litres, chlorine 0.5-5 mg/l, bleach 1-15 %")
    return litres * chlorine_mg_per_l / (bleach_share * G_PER_L)
