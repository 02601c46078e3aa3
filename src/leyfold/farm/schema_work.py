"""The shape of [work] in farm.toml: the hours and goods that pieces of work take."""

from __future__ import annotations

from typing import Annotated

from leyfold.farm.cited import Cited
from leyfold.farm.quantity import Strict

__all__ = ["KillingTable", "WorkTable"]


class WorkTable(Strict):
    """The farm's own word on what its work takes: a week with a watch is worth more than any table."""

    set_h: Annotated[float, Cited("work", "set_h")] | None = None
    brooder_h_per_d: Annotated[float, Cited("work", "brooder_h_per_d")] | None = None
    shelter_h_per_d: Annotated[float, Cited("work", "shelter_h_per_d")] | None = None
    house_h_per_d: Annotated[float, Cited("work", "house_h_per_d")] | None = None
    egg_h: Annotated[float, Cited("work", "egg_h")] | None = None
    kill_h: Annotated[float, Cited("work", "kill_h")] | None = None
    sort_h: Annotated[float, Cited("work", "sort_h")] | None = None
    bedding_kg_per_chick: Annotated[float, Cited("work", "bedding_kg_per_chick")] | None = None
    bedding_kg_per_hen_d: Annotated[float, Cited("work", "bedding_kg_per_hen_d")] | None = None
    lamp_h_per_d: Annotated[float, Cited("work", "lamp_h_per_d")] | None = None
    incubator_w: Annotated[float, Cited("work", "incubator_w")] | None = None
    discount_old_cockerel_from_d: Annotated[float, Cited("work", "discount_old_cockerel_from_d")] | None = (
        None
    )
    hen_life_d: Annotated[float, Cited("work", "hen_life_d")] | None = None
    shelter_build_h: Annotated[float, Cited("work", "shelter_build_h")] | None = None
    shelter_life_d: Annotated[float, Cited("work", "shelter_life_d")] | None = None


class KillingTable(Strict):
    """The killing day at home: hours, water, ice and heater of the farm's own."""

    feed_off_least_h: Annotated[float, Cited("killing", "feed_off_least_h")] | None = None
    feed_off_most_h: Annotated[float, Cited("killing", "feed_off_most_h")] | None = None
    feed_off_by_h: Annotated[float, Cited("killing", "feed_off_by_h")] | None = None
    catching_h: Annotated[float, Cited("killing", "catching_h")] | None = None
    scald_l: Annotated[float, Cited("killing", "scald_l")] | None = None
    scald_C: Annotated[float, Cited("killing", "scald_C")] | None = None
    tap_C: Annotated[float, Cited("killing", "tap_C")] | None = None
    heater_w: Annotated[float, Cited("killing", "heater_w")] | None = None
    heat_kept: Annotated[float, Cited("killing", "heat_kept")] | None = None
    carcass_C: Annotated[float, Cited("killing", "carcass_C")] | None = None
    chill_C: Annotated[float, Cited("killing", "chill_C")] | None = None
    chill_h: Annotated[float, Cited("killing", "chill_h")] | None = None
    carcass_heat: Annotated[float, Cited("killing", "carcass_heat")] | None = None
    ice_bring: Annotated[float, Cited("killing", "ice_bring")] | None = None
    cold_by_h: Annotated[float, Cited("killing", "cold_by_h")] | None = None
    first_bird_h: Annotated[float, Cited("killing", "first_bird_h")] | None = None
