"""Small farms built in code, for tests that want no file: every figure from the cited tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from leyfold.farm.tables import figure
from leyfold.nature.growth import gompertz_through
from leyfold.nouns.farm import Brooder, Farm, Holding, Incubator, MobileHouse, Shelter
from leyfold.nouns.figure import Figure
from leyfold.nouns.limits import Limit
from leyfold.nouns.stock import SEXES, Feed, FeedPhase, Growth, Hen, Line, SexTraits

MONTHS_C = (-3.0, -2.5, 1.0, 6.0, 11.5, 15.5, 17.5, 16.5, 12.0, 7.5, 2.5, -1.0)
MINE = "test farm"


def mine(value: float, unit: str = "1") -> Figure:
    return Figure(value, unit, MINE, "farm file")


def growth(sex: str) -> Growth:
    of = {
        n: figure(f"stock.{n}", sex=sex).value
        for n in ("mature_kg", "hatch_kg", "known_age_d", "known_weight_kg")
    }  # type: ignore[arg-type]
    rate, inflection = gompertz_through(
        mature_kg=of["mature_kg"],
        hatch_kg=of["hatch_kg"],
        age_d=of["known_age_d"],
        weight_kg=of["known_weight_kg"],
    )
    return Growth(
        "gompertz", mine(of["mature_kg"], "kg"), mine(float(rate), "1/d"), mine(float(inflection), "d")
    )


def line(name: str = "tawny", **changes: Any) -> Line:
    """A stock line of the cited defaults; `changes` replace figures of the line by plain numbers."""
    traits = {
        sex: SexTraits(
            growth=growth(sex),
            **{f.name: figure(f"stock.{f.name}", sex=sex) for f in fields(SexTraits) if f.name != "growth"},
        )
        for sex in SEXES
    }
    hen = Hen(**{f.name: figure(f"stock.{f.name}", sex="hen") for f in fields(Hen)})
    skip = {"id", "name", "pullet", "cockerel", "hen", "feeding", "kill_d", "house_d", "point_of_lay_d"}
    plain = {f.name: figure(f"stock.{f.name}") for f in fields(Line) if f.name not in skip}
    made = Line(
        id=name,
        name=name.title(),
        kill_d=figure("stock.kill_d", sex="cockerel"),
        house_d=figure("stock.house_d", sex="pullet"),
        point_of_lay_d=figure("stock.point_of_lay_d", sex="pullet"),
        pullet=traits["pullet"],
        cockerel=traits["cockerel"],
        hen=hen,
        feeding=(FeedPhase("starter", 0), FeedPhase("grower", 42), FeedPhase("layers", 140, "pullet")),
        **plain,
    )
    return replace(made, **{k: mine(v) if isinstance(v, int | float) else v for k, v in changes.items()})


def feeds() -> Mapping[str, Feed]:
    return {
        name: Feed(
            name,
            *(
                figure(f"feeds.{name}.{x}")
                for x in ("protein", "energy_kcal_per_kg", "phosphorus", "potassium")
            ),
        )
        for name in ("starter", "grower", "layers")
    }


def farm(**changes: Any) -> Farm:
    """Two incubators, two brooders, six shelters of about 10 m2, one mobile house."""
    shelters = {f"s{i}": Shelter(f"s{i}", 3.35, 3.05, 0.6) for i in range(1, 7)}
    made = Farm(
        holding=Holding("Test", 57.0, 13.0, "Europe/Stockholm"),
        lines={"tawny": line()},
        feeds=feeds(),
        temperature_C=tuple(mine(t, "C") for t in MONTHS_C),
        incubators={"big": Incubator("big", 300), "small": Incubator("small", 120)},
        brooders={"east": Brooder("east", 12.0), "west": Brooder("west", 8.0)},
        shelters=shelters,
        houses={"coop": MobileHouse("coop", 40.0)},
        limits=(
            Limit("shelter.kg", "kg_per_m2", "shelter", 21.0, MINE, False),
            Limit("shelter.n", "kg_n_per_ha_pass", "shelter", 170.0, MINE, False),
            Limit("brooder.floor", "floor_share", "brooder", 1.0, MINE, False),
            Limit("house.hens", "heads_per_m2", "house", 6.0, MINE, False),
            Limit("big.eggs", "eggs", "big", 300.0, MINE, False),
            Limit("small.eggs", "eggs", "small", 120.0, MINE, False),
        ),
        floor_allowance=((14, mine(25)), (28, mine(18)), (42, mine(11)), (56, mine(8))),
    )
    return replace(made, **changes)
