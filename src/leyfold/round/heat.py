"""Tomorrow's heat as the birds feel it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from leyfold.farm.tables import table
from leyfold.nature.air import relative_humidity, wet_bulb_C, wind_at_m_per_s
from leyfold.nature.hot import HEAT_STATES, heat_state, tao_xin_2003_thvi_C, zulovich_deshazer_1990_hens_C
from leyfold.nouns.ahead import Band, Flock, Heat
from leyfold.nouns.farm import Farm
from leyfold.nouns.weather import Weather
from leyfold.round.nights import BIRD_M

__all__ = ["heats"]

ASKED_FROM_C = 20.0
"""In cooler air no index of heat is asked."""
TRIED_KG = 1.8
"""Lighter birds than this are far from the 2.8 kg the index was fitted on."""


def heats(
    farm: Farm, weather: Weather, flocks: Sequence[Flock], hours: slice, highest: Band
) -> tuple[Heat, ...]:
    """Every flock out of the brooder in the hottest of the `hours` of the weather. Growers by Tao & Xin,
    hens (past point of lay) by Zulovich & DeShazer; steps of the states are guesses."""
    t = weather.values["temperature_C"][hours]
    hour = hours.start + int(t.argmax())
    dry = float(weather.values["temperature_C"][hour])
    dew = min(float(weather.values["dew_point_C"][hour]), dry)
    wind = float(wind_at_m_per_s(weather.values["wind_m_per_s"][hour], BIRD_M))
    at: datetime = weather.at(hour)
    found = []
    for flock in flocks:
        if flock.kind == "brooder":
            continue
        if not ASKED_FROM_C <= dry <= 50.0:
            found.append(Heat(flock, highest, at, None, HEAT_STATES[0], 0, False))
            continue
        bulb = float(wet_bulb_C(dry, np.clip(relative_humidity(dry, dew), 0.01, 1.0)))
        bulb = min(bulb, dry)
        hen = flock.sex == "pullet" and flock.age_d >= farm.lines[flock.line].point_of_lay_d.value
        index = zulovich_deshazer_1990_hens_C(dry, bulb) if hen else tao_xin_2003_thvi_C(dry, bulb, wind)
        row = table("tonight")["heat_hens" if hen else "heat_meat_birds"]
        steps = {f"{n}_C": float(row[f"{n}_C"]) for n in ("alert", "danger", "emergency")}
        state = int(heat_state(index, **steps))
        far = not hen and flock.weight_kg < TRIED_KG
        found.append(Heat(flock, highest, at, float(index), HEAT_STATES[state], state, far))
    return tuple(found)
