"""Which loads a generator takes when the mains are off: the first in need that still fits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

import farms
from leyfold.nouns.ahead import BrooderHeat
from leyfold.nouns.farm import Generator, Incubator
from leyfold.nouns.plan import Batch, Plan
from leyfold.round.indoors import mains_off
from leyfold.season.expect import expect

DAY = date(2027, 2, 1)


def batch(name: str, machine: str, set_on: date) -> Batch:
    hatch = set_on + timedelta(days=21)
    return Batch(name, "tawny", "set", hatch, hatch, set_on=set_on, eggs=50, incubator=machine)


def order(watts: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    farm = replace(
        farms.farm(),
        incubators={"old": Incubator("old", 90, watts=300.0), "young": Incubator("young", 90, watts=200.0)},
        generators={"g": Generator("g", watts)},
    )
    plan = Plan((batch("late", "old", DAY - timedelta(19)), batch("early", "young", DAY - timedelta(2))))
    heat = BrooderHeat("east", 40.0, 30.0, 0.0, 500.0, (57.0, 28.0, 0.0), (), 2)
    (load,) = mains_off(farm, expect(farm, plan), [heat], DAY, 0.0).generators
    assert load.watts == watts
    return load.takes, load.leaves


@pytest.mark.parametrize(
    ("watts", "takes"),
    [
        (100.0, ()),
        (250.0, ("young",)),
        (350.0, ("old",)),
        (600.0, ("east",)),
        (750.0, ("east", "young")),
        (1000.0, ("east", "old", "young")),
    ],
)
def test_the_first_in_need_that_fits(watts: float, takes: tuple[str, ...]) -> None:
    taken, left = order(watts)
    assert set(taken) == set(takes)
    assert taken == tuple(sorted(taken, key=lambda place: place != "east"))
    assert set(taken) | set(left) == {"east", "old", "young"}
