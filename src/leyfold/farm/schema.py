"""The shape of farm.toml. The published JSON Schema is made from these models (`farm.publish`)."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from leyfold.farm.cited import Cited
from leyfold.farm.quantity import (
    Chance,
    Count,
    Day,
    Days,
    Kg,
    KgOrNone,
    Litres,
    Metres,
    Price,
    Quantity,
    Share,
    Sides,
    Slug,
    Strict,
)
from leyfold.farm.schema_feed import FeedTable, IngredientTable, RationTable
from leyfold.farm.schema_line import LineTable
from leyfold.farm.schema_orders import OrderTable
from leyfold.nouns.limits import Quantity as LimitQuantity

__all__ = ["MONTHS", "PRICES", "FarmTable", "KitTable"]

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

Warmth = Annotated[float, Quantity("C", least=-60, most=45)]
M2 = Annotated[float, Quantity("m2", above=0)]
Watts = Annotated[float, Quantity("W", above=0)]
Amperes = Annotated[float, Quantity("A", above=0)]


class HoldingTable(Strict):
    name: Annotated[str, Field(min_length=1)]
    latitude: Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]
    """Degrees, north positive."""
    longitude: Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)]
    """Degrees, east positive."""
    zone: str
    """IANA time zone, as "Europe/London"."""
    language: Annotated[str, Field(pattern="^[a-z]{2}$")] = "en"
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] = "EUR"
    """ISO 4217 code."""
    lengths: Literal["metric", "imperial"] = "metric"


class KitTable(Strict):
    """Something owned from a day until a day: retired by its date, never deleted."""

    since: Day | None = Field(default=None, alias="from")
    until: Day | None = None


class PersonTable(Strict):
    name: str | None = None
    role: Literal["farmer", "helper", "child", "looker-on"] = "farmer"
    hours_per_day: Annotated[float, Field(gt=0, le=24, allow_inf_nan=False)] | None = None


class PenTable(KitTable):
    line: str
    hens: Annotated[int, Field(ge=1)]
    cocks: Annotated[int, Field(ge=1)]
    lay: Share | None = None
    settable: Share | None = None


class IncubatorTable(KitTable):
    eggs: Count
    hatcher: Count | None = None
    """Egg places in the hatcher, where it is a machine of its own."""
    power: Watts | None = None


class LampTable(Strict):
    watts: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    fuse: str


class BrooderTable(KitTable):
    floor: M2
    lamps: tuple[LampTable, ...] = Field(default=(), strict=False)
    fuses: dict[str, Amperes] = Field(default={})


class ShelterTable(KitTable):
    sides: Annotated[tuple[float, float], Sides()]
    """The first side lies along the way it is pulled."""
    height: Metres
    mass: Kg | None = None
    moves_per_day: Annotated[float, Field(ge=0.1, le=6, allow_inf_nan=False)] | None = None
    bucket: str | None = None
    most_heads: Count | None = None
    most_kg_per_m2: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    most_n_kg_per_ha: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    """Nitrogen that one stand gets in one pass."""


class HouseTable(KitTable):
    floor: M2
    perch: Metres | None = None
    nests: Count | None = None
    light: Annotated[float, Quantity("h", least=0, most=24)] | None = None
    """Hours of light in the house, daylight and lamps together; left out where there are no lamps."""
    most_heads: Count | None = None
    most_heads_per_m2: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None


class NetTable(KitTable):
    rolls: Count
    roll: Metres | None = None
    shift: Days | None = None
    house: str | None = None


class CattleTable(KitTable):
    heads: Count
    intake: Annotated[float, Quantity("kg/d", above=0, most=40)] | None = None
    """Dry matter eaten by one head."""


class BinTable(KitTable):
    feed: str
    holds: Kg
    has: KgOrNone | None = None
    delivery: Days | None = None
    """From order to lorry."""
    lorry_least: Kg | None = None
    lorry_most: Kg | None = None


class HopperTable(KitTable):
    feed: str
    holds: Kg


class TankTable(KitTable):
    holds: Litres


class BucketTable(KitTable):
    holds: Litres
    colour: str
    diameter: Metres | None = None
    height: Metres | None = None


class WishTable(Strict):
    id: Slug
    what: Literal["pullets", "table birds", "eggs a day"]
    number: Count
    on: Day
    chance: Chance
    line: str | None = None
    every: Annotated[float, Quantity("d", least=1, whole=True)] | None = None
    until: Day | None = None


class PricesTable(Strict):
    carcass: Annotated[float, Price("kg")] | None = None
    """Sold, per kg of carcass."""
    pullet: Annotated[float, Price("share")] | None = None
    """One pullet at point of lay."""
    cockerel: Annotated[float, Price("share")] | None = None
    """One cockerel sold alive."""
    old_hen: Annotated[float, Price("share")] | None = None
    egg: Annotated[float, Price("share")] | None = None
    """One egg to eat, net of its box."""
    hatching_egg: Annotated[float, Price("share")] | None = None
    day_old: Annotated[float, Price("share")] | None = None
    """One chick bought."""
    killing: Annotated[float, Price("share")] | None = None
    """Killing and packing of one bird."""
    labour: Annotated[float, Price("h")] | None = None
    electricity: Annotated[float, Price("kWh")] | None = None
    bedding: Annotated[float, Price("kg")] | None = None
    water: Annotated[float, Price("l")] | None = None
    delivery: Annotated[float, Price("share")] | None = None
    """One coming of the feed lorry."""
    shelter: Annotated[float, Price("share")] | None = None
    """One floorless shelter bought ready."""
    shelter_timber: Annotated[float, Price("share")] | None = None
    """Timber, roofing and fittings of one built at home."""


PRICES = tuple(PricesTable.model_fields)


class TemperaturesTable(Strict):
    """Monthly means out of doors: `mean` with twelve values, January first, or one key a month."""

    mean: tuple[Warmth, ...] | None = Field(default=None, strict=False, min_length=12, max_length=12)
    jan: Warmth | None = None
    feb: Warmth | None = None
    mar: Warmth | None = None
    apr: Warmth | None = None
    may: Warmth | None = None
    jun: Warmth | None = None
    jul: Warmth | None = None
    aug: Warmth | None = None
    sep: Warmth | None = None
    oct: Warmth | None = None
    nov: Warmth | None = None
    dec: Warmth | None = None


class RisksTable(Strict):
    """What the season tried many times draws from: the farm's own word on foxes, slips and weather."""

    fox_chance: Annotated[float, Cited("risks", "fox_chance")] | None = None
    fox_return_factor: Annotated[float, Cited("risks", "fox_return_factor")] | None = None
    fox_return_nights: Annotated[float, Cited("risks", "fox_return_nights")] | None = None
    fox_share: Annotated[float, Cited("risks", "fox_share")] | None = None
    missed_move_chance: Annotated[float, Cited("risks", "missed_move_chance")] | None = None
    temperature_sd: Annotated[float, Cited("risks", "temperature_sd")] | None = None
    temperature_persistence: Annotated[float, Cited("risks", "temperature_persistence")] | None = None


class LimitTable(Strict):
    id: Slug
    quantity: LimitQuantity
    scope: str
    """A kind of place (incubator, brooder, shelter, house) or one place by name."""
    at_most: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    source: Annotated[str, Field(min_length=1)]
    verified: bool = False


class AllowanceTable(Strict):
    """Chicks to a square metre of brooder floor, up to an age."""

    until: Days
    birds_per_m2: Annotated[float, Field(gt=0, allow_inf_nan=False)]


class FarmTable(Strict):
    holding: HoldingTable
    measures: dict[str, str] = Field(default={})
    people: dict[Slug, PersonTable] = Field(default={})
    lines: Annotated[dict[Slug, LineTable], Field(min_length=1)]
    feeds: dict[Slug, FeedTable] = Field(default={})
    ingredients: dict[Slug, IngredientTable] = Field(default={})
    rations: dict[Slug, RationTable] = Field(default={})
    pens: dict[Slug, PenTable] = Field(default={})
    incubators: dict[Slug, IncubatorTable] = Field(default={})
    brooders: dict[Slug, BrooderTable] = Field(default={})
    shelters: dict[Slug, ShelterTable] = Field(default={})
    houses: dict[Slug, HouseTable] = Field(default={})
    nets: dict[Slug, NetTable] = Field(default={})
    cattle: dict[Slug, CattleTable] = Field(default={})
    bins: dict[Slug, BinTable] = Field(default={})
    hoppers: dict[Slug, HopperTable] = Field(default={})
    tanks: dict[Slug, TankTable] = Field(default={})
    buckets: dict[Slug, BucketTable] = Field(default={})
    wishes: tuple[WishTable, ...] = Field(default=(), strict=False)
    prices: PricesTable = PricesTable()
    weight_classes: dict[Slug, Kg] = Field(default={})
    """The least a carcass of the class weighs; it reaches up to where the next begins."""
    orders: tuple[OrderTable, ...] = Field(default=(), strict=False)
    temperatures: TemperaturesTable = TemperaturesTable()
    risks: RisksTable = RisksTable()
    limits: tuple[LimitTable, ...] = Field(default=(), strict=False)
    brooder_floor: tuple[AllowanceTable, ...] = Field(default=(), strict=False)
