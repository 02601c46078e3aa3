"""The round: eggs, feed, water, moves, fences, thermometers."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from leyfold.log.kinds.base import Celsius, Id, Kg, Litres, Money, Number, Payload, Yes

__all__ = [
    "BreakOpened", "Delivered", "Eggs", "Fed", "FeedCleared", "FeedRead", "FenceShifted", "FenceVoltage",
    "GrassHeight", "ShelterMoved", "ShutIn", "StandsAt", "TankRead", "TemperatureRead", "Watered",
]  # fmt: skip

Measures = Annotated[float, Field(strict=True, gt=0, le=10_000, allow_inf_nan=False)]
KV = Annotated[float, Field(strict=True, ge=0, le=30, allow_inf_nan=False)]
Metres = Annotated[float, Field(strict=True, ge=-1_000_000, le=1_000_000, allow_inf_nan=False)]
Step = Annotated[float, Field(strict=True, ge=0, le=10_000, allow_inf_nan=False)]
Corners = Annotated[
    tuple[Annotated[float, Field(strict=True, ge=-180, le=180, allow_inf_nan=False)], ...],
    Field(min_length=6, max_length=1000),
]
Degrees = Annotated[float, Field(strict=True, ge=-360, le=360, allow_inf_nan=False)]
Centimetres = Annotated[float, Field(strict=True, ge=0, le=300, allow_inf_nan=False)]


class Eggs(Payload):
    """Eggs gathered in a house or breeding pen; of them `cracked`, and `settable` kept for hatching."""

    place: Id
    eggs: Number
    cracked: Number | None = None
    settable: Number | None = None


class Measured(Payload):
    """`measures` of the farm's own `measure` ("bucket"), as farm.toml declares it."""

    measure: Id | None = None
    measures: Measures | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.measure is None) != (self.measures is None):
            raise PydanticCustomError("half_measure", "measure and measures together")
        if self.measure is None and self._bare():
            raise PydanticCustomError("no_amount", "kg, or measure and measures")
        return self

    def _bare(self) -> bool:
        """Whether, without a measure, it says nothing of how much."""
        return False


class Fed(Measured):
    """Feed put before the birds of a place, in kg, in the farm's own measure, or in both: kg then counts."""

    place: Id
    kg: Kg | None = None
    feed: Id | None = None

    def _bare(self) -> bool:
        return self.kg is None


class FeedCleared(Payload):
    """Trough or hopper of a place emptied: no feed given before is left in it."""

    place: Id


class FeedRead(Payload):
    """What a bin holds, as read or weighed; or what is in store of a feed in bags, under the feed's name."""

    bin: Id
    kg: Kg


class Delivered(Payload):
    """Feed that came, into `bin` or in bags."""

    feed: Id
    kg: Kg
    bin: Id | None = None
    paid: Money | None = None


class Watered(Measured):
    """Water filled at a place; `runs`: whether the drinker ran when one looked."""

    place: Id
    litres: Litres | None = None
    runs: Yes | None = None


class TankRead(Payload):
    """What a tank holds."""

    tank: Id
    litres: Litres


class TemperatureRead(Payload):
    """By a thermometer at the birds' height, or in an incubator: the least of the night that ends on the
    day, the highest of the day, and what it shows now."""

    lowest_C: Celsius | None = None
    place: Id | None = None
    highest_C: Celsius | None = None
    now_C: Celsius | None = None

    @model_validator(mode="after")
    def _some(self) -> TemperatureRead:
        if self.lowest_C is None and self.highest_C is None and self.now_C is None:
            raise PydanticCustomError("no_temperature", "lowest_C, highest_C or now_C")
        return self


class GrassHeight(Payload):
    """Height of the standing grass on a field or paddock."""

    where: Id
    height_cm: Centimetres


class ShelterMoved(Payload):
    """The morning move onto fresh grass. One a shelter and date: `again` declares a further one meant as
    such. `to`: the stand it went to."""

    place: Id
    to: Id | None = None
    distance_m: Step | None = None
    again: Yes = False


class ShutIn(Payload):
    """The evening round at one place. One a place and date; `again` declares a second pair of eyes.
    `heads` on the perch are a glance. What was not looked at is left out."""

    place: Id
    heads: Number | None = None
    doors: Yes | None = None
    lamps: Yes | None = None
    water: Yes | None = None
    stakes: Yes | None = None
    kV: KV | None = None
    again: Yes = False


class StandsAt(Payload):
    """Where a shelter or mobile house really stands: on a stand of the ground plan, or in the field's own
    metres, or by longitude and latitude."""

    place: Id
    field: Id | None = None
    stand: Id | None = None
    x_m: Metres | None = None
    y_m: Metres | None = None
    angle_deg: Degrees | None = None
    longitude_deg: Annotated[float, Field(strict=True, ge=-180, le=180, allow_inf_nan=False)] | None = None
    latitude_deg: Annotated[float, Field(strict=True, ge=-90, le=90, allow_inf_nan=False)] | None = None

    @model_validator(mode="after")
    def _somewhere(self) -> StandsAt:
        metres = (self.x_m is None, self.y_m is None)
        globe = (self.longitude_deg is None, self.latitude_deg is None)
        if metres[0] != metres[1] or globe[0] != globe[1] or (self.stand is None and all(metres + globe)):
            raise PydanticCustomError("no_whereabouts", "stand, or x_m and y_m, or longitude and latitude")
        return self


class FenceShifted(Payload):
    """A net put up anew, round the paddock `to`; `corners_deg` are longitude and latitude of its corners, one
    after the other: paddocks are cut anew when land or plan change, and then bear the names of others."""

    net: Id
    to: Id | None = None
    corners_deg: Corners | None = None
    again: Yes = False

    @model_validator(mode="after")
    def _corners(self) -> Self:
        if self.corners_deg is not None:
            lon, lat = self.corners_deg[::2], self.corners_deg[1::2]
            if len(lon) != len(lat) or max(map(abs, lat)) > 90.0:
                raise PydanticCustomError("no_corners", "longitude and latitude of three corners or more")
        return self


class FenceVoltage(Payload):
    """At the far end of a net."""

    net: Id
    kV: KV


class BreakOpened(Payload):
    """The cattle let into their ground for the day. One a herd and date, unless `again` says otherwise."""

    cattle: Id
    to: Id | None = None
    again: Yes = False
