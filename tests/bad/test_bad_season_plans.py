"""Plans made in code that no season can follow: refused in words, every fault at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from farms import farm, line
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Brooder, Farm, Incubator, MobileHouse
from leyfold.nouns.plan import Batch, Out, Plan, Stay
from leyfold.nouns.stock import FeedPhase
from leyfold.season.complete import complete

HATCH = date(2027, 3, 22)


def age(days: int) -> date:
    return HATCH + timedelta(days=days)


def a_set(name: str = "a", **changes: Any) -> Batch:
    made = Batch(name, "tawny", "set", HATCH, HATCH, HATCH - timedelta(days=21), 100)
    return replace(made, **changes)


def stay(first: int, until: int, batch: str = "a", place: str = "s1") -> Stay:
    return Stay("x", batch, None, place, age(first), age(until))


def fed(*phases: FeedPhase) -> Farm:
    return farm(lines={"tawny": line(feeding=phases)})


LONG_GONE = date(2027, 1, 1)

CASES: dict[str, tuple[Callable[[], Farm], Plan, str]] = {
    "no day to begin on": (farm, Plan(()), "must say which days"),
    "line": (farm, Plan((a_set(line="buff"),)), 'no line "buff"'),
    "incubator": (farm, Plan((a_set(incubator="box"),)), 'no incubator "box"'),
    "brooder": (farm, Plan((a_set(brooder="box"),)), 'no brooder "box"'),
    "house": (farm, Plan((a_set(house="box"),)), 'no house "box"'),
    "place of a stay": (farm, Plan((a_set(),), stays=(stay(30, 40, place="moon"),)), 'no place "moon"'),
    "incubator as a place": (farm, Plan((a_set(),), stays=(stay(30, 40, place="big"),)), 'no place "big"'),
    "batch of a stay": (farm, Plan((a_set(),), stays=(stay(30, 40, "zz"),)), 'no batch "zz"'),
    "batch of an out": (farm, Plan((a_set(),), outs=(Out("zz", age(200)),)), 'no batch "zz"'),
    "one name twice": (farm, Plan((a_set(), a_set())), '"a" is used twice'),
    "stay that ends first": (farm, Plan((a_set(),), stays=(stay(40, 30),)), "would leave on"),
    "turnout before hatch": (farm, Plan((a_set(turnout_on=age(-1)),)), "turnout on .* before hatch"),
    "sorting before turnout": (farm, Plan((a_set(sort_on=age(5)),)), "sort on .* before turnout"),
    "housing before sorting": (farm, Plan((a_set(house_on=age(40)),)), "to_house on .* before sort"),
    "incubator gone": (
        lambda: farm(incubators={"big": Incubator("big", 300, until=LONG_GONE)}),
        Plan((a_set(incubator="big"),)),
        "big is not on the farm on 2027-03-01",
    ),
    "brooder gone": (
        lambda: farm(brooders={"east": Brooder("east", 12.0, until=LONG_GONE)}),
        Plan((a_set(brooder="east"),)),
        "east is not on the farm on 2027-03-22",
    ),
    "house gone": (
        lambda: farm(houses={"coop": MobileHouse("coop", 12.0, until=LONG_GONE)}),
        Plan((a_set(house="coop", house_on=age(126)),)),
        "coop is not on the farm on 2027-07-26",
    ),
    "no incubator at all": (lambda: farm(incubators={}), Plan((a_set(),)), "no incubator on that day"),
    "no brooder at all": (lambda: farm(brooders={}), Plan((a_set(),)), "no brooder on that day"),
    "no place at all": (
        lambda: farm(brooders={}, shelters={}, houses={}),
        Plan((Batch("a", "tawny", "present", age(-60), HATCH, heads={"pullet": 9.0, "cockerel": 9.0}),)),
        "no place to be on 2027-03-22",
    ),
    "no feed at all": (fed, Plan((a_set(),)), "a pullet has no feed"),
    "no feed for chicks": (lambda: fed(FeedPhase("grower", 20)), Plan((a_set(),)), "a pullet has no feed"),
    "no feed for cockerels": (
        lambda: fed(FeedPhase("grower", 0, "pullet")),
        Plan((a_set(),)),
        "a cockerel has no feed",
    ),
    "a feed unknown": (lambda: fed(FeedPhase("oats", 0)), Plan((a_set(),)), 'no feed "oats"'),
}


@pytest.mark.parametrize("case", CASES)
def test_a_plan_that_cannot_be_followed_is_refused_in_words(case: str) -> None:
    kit, plan, words = CASES[case]
    with pytest.raises(BadInput, match=words) as refused:
        complete(kit(), plan)
    for fault in refused.value.faults:
        assert fault.file in ("plan.toml", "farm.toml")
        assert fault.field
        assert fault.mend


def test_every_fault_is_told_at_once() -> None:
    plan = Plan((a_set(incubator="box", house="hut"),), stays=(stay(40, 30),), outs=(Out("zz", age(9)),))
    with pytest.raises(BadInput) as refused:
        complete(farm(), plan)
    assert len(refused.value.faults) == 4


def test_birds_older_than_the_first_feed_do_not_need_the_ones_before() -> None:
    grown = Batch("a", "tawny", "bought", age(-50), HATCH, heads={"pullet": 9.0, "cockerel": 9.0})
    assert complete(fed(FeedPhase("grower", 30)), Plan((grown,))).completed
