"""The shape of farm.toml. The published JSON Schema is made from these models (`farm.publish`)."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from leyfold.farm.cited import Cited
from leyfold.farm.quantity import (
    Called,
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
from leyfold.farm.schema_land import GrazingTable, LandTable
from leyfold.farm.schema_line import LineTable
from leyfold.farm.schema_orders import OrderTable
from leyfold.farm.schema_planning import PlanningTable
from leyfold.farm.schema_work import KillingTable, WorkTable
from leyfold.nouns.limits import Quantity as LimitQuantity

__all__ = ["MONTHS", "PRICES", "FarmTable", "KitTable"]

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

Warmth = Annotated[float, Quantity("C", least=-60, most=45)]
M2 = Annotated[float, Quantity("m2", above=0)]
Watts = Annotated[float, Quantity("W", above=0)]
WeatherColumn = Literal[
    "time", "date", "clock", "ignore", "temperature_C", "temperature_F", "dew_point_C", "dew_point_F",
    "humidity_percent", "wind_m_per_s", "wind_km_per_h", "wind_mph", "wind_kn", "gust_m_per_s",
    "gust_km_per_h", "gust_mph", "gust_kn", "cloud_percent", "cloud_octas", "cloud_tenths",
    "rain_mm", "rain_in", "global_w",
]  # fmt: skip
Amperes = Annotated[float, Quantity("A", above=0)]


class HoldingTable(Strict):
    name: Called
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
    name: Called | None = None
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
    grazing: GrazingTable | None = None
    """Left out, they are at grass while grass grows."""


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


class GeneratorTable(KitTable):
    power: Watts
    """What it gives without end."""


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
    age: Annotated[float, Quantity("d", least=1, most=365, whole=True)] | None = None
    """Pullets count from this age on."""


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


class WeatherTable(Strict):
    """Where the weather comes from, and what a typical hour is made of where nothing is known."""

    forecast_url: Annotated[str, Field(pattern="^https?://", max_length=2000)] | None = None
    """Address of a forecast by the hour. Without it nothing is ever fetched."""
    files: tuple[Annotated[str, Field(min_length=1, max_length=120)], ...] = Field(default=(), strict=False)
    """Files of weather beside this one: a station's CSV, or a typical year."""
    columns: dict[str, WeatherColumn] = Field(default={})
    """Heading of a station's CSV to what it holds, where it is not recognised."""
    zone: str | None = None
    """The zone of the station's clock, where it is not the farm's: "UTC"."""
    day_first: bool | None = None
    """Whether 3/4/2027 is the third of April."""
    daily_range: Annotated[float, Cited("climate", "daily_range")] | None = None
    clear_range: Annotated[float, Cited("climate", "clear_range")] | None = None
    cloud_mean: Annotated[float, Cited("climate", "cloud_mean")] | None = None
    wind_mean: Annotated[float, Cited("climate", "wind_mean")] | None = None
    gust_factor: Annotated[float, Cited("climate", "gust_factor")] | None = None
    dew_under_minimum: Annotated[float, Cited("climate", "dew_under_minimum")] | None = None
    wet_days: Annotated[float, Cited("climate", "wet_days")] | None = None
    rain_a_wet_day: Annotated[float, Cited("climate", "rain_a_wet_day")] | None = None


class TonightTable(Strict):
    """What nights, hot days, gusts and dead lamps are judged by: the farm's own in place of the guesses."""

    bird_height_deepest: Annotated[float, Cited("tonight", "bird_height_deepest")] | None = None
    bird_height_depth_sd: Annotated[float, Cited("tonight", "bird_height_depth_sd")] | None = None
    forecast_sd: Annotated[float, Cited("tonight", "forecast_sd")] | None = None
    calm_under: Annotated[float, Cited("tonight", "calm_under")] | None = None
    bare_or_wet: Annotated[float, Cited("tonight", "bare_or_wet")] | None = None
    wind_chill_most: Annotated[float, Cited("tonight", "wind_chill_most")] | None = None
    cold_watch: Annotated[float, Cited("tonight", "cold_watch")] | None = None
    cold_danger: Annotated[float, Cited("tonight", "cold_danger")] | None = None
    group_easy: Annotated[float, Cited("tonight", "group_easy")] | None = None
    group_many: Annotated[float, Cited("tonight", "group_many")] | None = None
    water_warm: Annotated[float, Cited("tonight", "water_warm")] | None = None
    water_refused: Annotated[float, Cited("tonight", "water_refused")] | None = None
    stake_from: Annotated[float, Cited("tonight", "stake_from")] | None = None
    friction: Annotated[float, Cited("tonight", "friction")] | None = None
    incubator_tau: Annotated[float, Cited("tonight", "incubator_tau")] | None = None
    first_week_loss: Annotated[float, Cited("tonight", "first_week_loss")] | None = None
    grower_loss: Annotated[float, Cited("tonight", "grower_loss")] | None = None
    alarm_chance: Annotated[float, Cited("tonight", "alarm_chance")] | None = None
    water_kept: Annotated[float, Cited("tonight", "water_kept")] | None = None


class LimitTable(Strict):
    id: Slug
    quantity: LimitQuantity
    scope: str
    """A kind of place (incubator, brooder, shelter, house, net) or one place by name."""
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
    generators: dict[Slug, GeneratorTable] = Field(default={})
    buckets: dict[Slug, BucketTable] = Field(default={})
    wishes: tuple[WishTable, ...] = Field(default=(), strict=False)
    prices: PricesTable = PricesTable()
    weight_classes: dict[Slug, Kg] = Field(default={})
    """The least a carcass of the class weighs; it reaches up to where the next begins."""
    orders: tuple[OrderTable, ...] = Field(default=(), strict=False)
    planning: PlanningTable = PlanningTable()
    temperatures: TemperaturesTable = TemperaturesTable()
    work: WorkTable = WorkTable()
    killing: KillingTable = KillingTable()
    risks: RisksTable = RisksTable()
    weather: WeatherTable = WeatherTable()
    land: LandTable = LandTable()
    tonight: TonightTable = TonightTable()
    limits: tuple[LimitTable, ...] = Field(default=(), strict=False)
    brooder_floor: tuple[AllowanceTable, ...] = Field(default=(), strict=False)
