"""The reckoning held against a second implementation: `budget_by_hand.py`, an enterprise budget of an
invented farm in plain Python. Every line of money agrees to less than a minor unit of it, as do the sums."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

import pytest

from farms import farm, line, mine
from leyfold.nouns.farm import Bin, BreedingPen, Brooder, Farm, Incubator, Lamp, MobileHouse, Shelter
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.reckoning import Reckoning
from leyfold.nouns.stock import FeedPhase, Growth
from leyfold.reckoning.reckon import reckon
from leyfold.reckoning.sums import by_month, units
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from outside import budget_by_hand as hand

CENT = 0.005


def hand_line():
    made = line("even")
    of = {}
    for sex in ("pullet", "cockerel"):
        maintenance, per_gain, waste = hand.KEEP[sex]
        of[sex] = replace(
            made.of(sex),
            growth=Growth("gompertz", *map(mine, hand.CURVE[sex])),
            weight_cv=mine(hand.CV),
            survival_grower=mine(hand.GROWER[sex]),
            maintenance_kg_per_kg075=mine(maintenance),
            per_gain_kg_per_kg=mine(per_gain),
            waste_share=mine(waste),
            cold_share=mine(0.0),
            water_l_per_kg=mine(hand.WATER_L),
            water_base_C=mine(30.0),
        )
    a, b, c, d = map(mine, hand.LAY)
    p, q, r = map(mine, hand.EGG_G)
    hen = replace(
        made.hen,
        survival_hen_year=mine(hand.HEN_YEAR),
        lay_a=a, lay_b_per_wk=b, lay_c_per_wk=c, lay_d_wk=d, egg_p_g=p, egg_q_g=q, egg_r_per_wk=r,
    )  # fmt: skip
    first, brooder, shelter = hand.SURVIVAL
    feeding = (FeedPhase("starter", 0), FeedPhase("grower", 40), FeedPhase("layers", 130, "pullet"))
    return line(
        "even", fertility=hand.FERTILITY, hatch_of_fertile=hand.HATCH_OF_FERTILE, share_pullets=hand.PULLETS,
        survival_first_week=first, survival_brooder=brooder, survival_shelter=shelter,
        turnout_d=hand.TURNOUT_D, sort_d=hand.SORT_D, house_d=hand.HOUSE_D, point_of_lay_d=hand.LAY_D,
        dressing_share=hand.DRESSING, **of, hen=hen, feeding=feeding,
    )  # fmt: skip


def hand_farm() -> Farm:
    usual = farm().feeds
    feeds = {
        name: replace(usual[name], energy_kcal_per_kg=mine(kcal), price_per_kg=hand.FEED_PRICES[name])
        for name, kcal in hand.KCAL.items()
    }
    shelters = {f"{b} {w}": Shelter(f"{b} {w}", 4.0, 4.0, 0.8) for b in hand.DRAFTS for w in PLACES}
    lamps = tuple(Lamp(w, "one") for w in (hand.LAMPS_W["set"] / 2,) * 2)
    return farm(
        lines={"even": hand_line()},
        feeds=feeds,
        temperature_C=tuple(mine(hand.WARMTH_C, "C") for _ in range(12)),
        pens={"pen": BreedingPen("pen", "even", 20, 2, 0.5, hand.SETTABLE)},
        incubators={"box": Incubator("box", 400, watts=hand.INCUBATOR_W)},
        brooders={"set": Brooder("set", 20.0, lamps), "bought": Brooder("bought", 20.0)},
        shelters=shelters,
        houses={"house": MobileHouse("house", 60.0, light_h=16.0)},
        bins={"tower": Bin("tower", "grower", hand.BIN_KG["grower"])},
        prices=hand.PRICES,
        work={name: mine(value) for name, value in hand.WORK.items()},
        limits=(),
    )


PLACES = ("together", "pullet", "cockerel")


def hand_plan() -> Plan:
    def aged(hatched: date, age: int) -> date:
        return hatched + timedelta(days=age)

    batches, stays = [], []
    arrivals = {"set": hand.SET_ON + timedelta(days=21), "bought": hand.BOUGHT_ON}
    for name, hatched in arrivals.items():
        drafts = tuple(Draft(aged(hatched, age), share) for age, share in hand.DRAFTS[name])
        origin = {"set_on": hand.SET_ON, "eggs": hand.EGGS, "stored_d": hand.STORED_D}
        batches.append(
            Batch(
                id=name,
                line="even",
                origin=name,
                hatched_on=hatched,
                arrives_on=hatched,
                drafts=drafts,
                brooder=name,
                house="house",
                **(origin if name == "set" else {"heads": hand.BOUGHT}),
            )
        )
        turnout, sorting, house = (aged(hatched, x) for x in (hand.TURNOUT_D, hand.SORT_D, hand.HOUSE_D))
        for sex, until in (("together", sorting), ("pullet", house), ("cockerel", drafts[-1].on)):
            first = turnout if sex == "together" else sorting
            kind = None if sex == "together" else sex
            stays.append(Stay(f"{name}-{sex}", name, kind, f"{name} {sex}", first, until))
    old = Batch(
        id="old", line="even", origin="present", hatched_on=hand.OLD_HATCHED, arrives_on=hand.FIRST,
        heads={"pullet": hand.OLD_HENS}, house="house",
    )  # fmt: skip
    last = hand.FIRST + timedelta(days=hand.DAYS - 1)
    return Plan((*batches, old), tuple(stays), (Out("old", hand.OLD_OUT),), hand.FIRST, last)


@pytest.fixture(scope="module")
def reckoned() -> Reckoning:
    its = hand_farm()
    return reckon(its, expect(its, complete(its, hand_plan())))


@pytest.fixture(scope="module")
def by_hand():
    return hand.budget()


def test_every_line_of_money(reckoned: Reckoning, by_hand) -> None:
    found = defaultdict(float)
    for entry in reckoned.entries:
        found[entry.kind, entry.batch, entry.rate.id] += entry.sum
    books, _ = by_hand
    assert set(found) == set(books.money)
    for key, money in books.money.items():
        assert found[key] == pytest.approx(money, abs=CENT), key
    assert reckoned.total() == pytest.approx(sum(books.money.values()), abs=CENT)


def test_every_month(reckoned: Reckoning, by_hand) -> None:
    months = by_month(reckoned)
    assert set(months) == set(by_hand[0].months)
    for month, money in by_hand[0].months.items():
        assert months[month] == pytest.approx(money, abs=CENT), month


def test_cost_of_a_unit(reckoned: Reckoning, by_hand) -> None:
    """Costs less by-products over the units made, as enterprise budgets have it."""
    books, made = by_hand
    main = {"table": ("carcass",), "pullets": ("pullet_out",), "eggs": ("egg", "hatching_egg_out")}
    number = {"table": made["carcass_kg"], "pullets": made["pullets"], "eggs": made["eggs"]}
    for unit in units(reckoned):
        own = defaultdict(float)
        for (kind, _, what), money in books.money.items():
            if kind == unit.kind and what not in main[kind]:
                own[what] -= money
        besides = sum(own.values())
        assert unit.number == pytest.approx(number[unit.kind], rel=1e-9)
        assert unit.cost == pytest.approx(besides / number[unit.kind], abs=CENT / 100)
    assert not reckoned.unpriced
