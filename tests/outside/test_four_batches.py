"""The season held against a second implementation: `four_batches.py`, a farm walked by hand in plain Python,
with numbers of its own. Every weekly figure agrees within 1e-9 of itself, or within 1e-9 of its unit where it
is small: what is left is the order in which sums round."""

from dataclasses import fields, replace
from datetime import timedelta

import pytest

from farms import MINE, feeds, line, mine
from leyfold.nouns.farm import Brooder, Farm, Holding, Incubator, MobileHouse, Shelter
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Batch, Draft, Out, Plan
from leyfold.nouns.stock import Feed, FeedPhase, Growth, Hen, SexTraits
from leyfold.nouns.week import Week
from leyfold.season.expect import expect
from leyfold.season.weeks import weeks
from outside import four_batches as hand

TOLERANCE = 1e-9

HAND_NAMES = {
    "maintenance_kg_per_kg075": "maintenance",
    "per_gain_kg_per_kg": "per_gain",
    "waste_share": "waste",
    "cold_share": "cold",
    "water_l_per_kg": "water",
    "water_slope_per_K": "water_slope",
    "nitrogen_per_gain": "nitrogen",
    "phosphorus_per_gain": "phosphorus",
    "potassium_per_gain": "potassium",
    "nitrogen_per_egg_kg": "nitrogen",
    "phosphorus_per_egg_kg": "phosphorus",
    "potassium_per_egg_kg": "potassium",
}
UNUSED = {"batch_weight_cv": 0.04, "night_share_of_dung": 0.5}
"""Figures that the expected season does not ask for."""


def figures(kind, numbers):
    return {
        f.name: mine(UNUSED[f.name] if f.name in UNUSED else numbers[HAND_NAMES.get(f.name, f.name)])
        for f in fields(kind)
        if f.name != "growth"
    }


def traits(sex):
    numbers = hand.SEX[sex]
    curve = Growth("gompertz", *(mine(numbers[x]) for x in ("mature_kg", "rate_per_d", "inflection_d")))
    return SexTraits(growth=curve, **figures(SexTraits, numbers))


def hand_line():
    return line(
        "even",
        fertility=hand.FERTILITY,
        hatch_of_fertile=hand.HATCH_OF_FERTILE,
        incubation_d=hand.INCUBATION_D,
        share_pullets=hand.SHARE_PULLETS,
        turnout_d=hand.TURNOUT_D,
        sort_d=hand.SORT_D,
        kill_d=hand.KILL_D,
        house_d=hand.HOUSE_D,
        point_of_lay_d=hand.POINT_OF_LAY_D,
        survival_first_week=hand.SURVIVAL["first_week"],
        survival_brooder=hand.SURVIVAL["brooder"],
        survival_shelter=hand.SURVIVAL["shelter"],
        **{f"storage_{name}": value for name, value in hand.STORAGE.items()},
        pullet=traits("pullet"),
        cockerel=traits("cockerel"),
        hen=Hen(**figures(Hen, {**hand.HEN, "survival_hen_year": hand.SURVIVAL["hen_year"]})),
        feeding=tuple(FeedPhase(*phase) for phase in hand.FEEDING),
    )


def hand_feed(name):
    protein, kcal, phosphorus, potassium = map(mine, hand.FEEDS[name])
    return Feed(name, protein, kcal, phosphorus, potassium)


def hand_farm():
    assert set(feeds()) == set(hand.FEEDS)
    return Farm(
        holding=Holding("Even", hand.LATITUDE_DEG, 9.0, "Europe/Berlin"),
        lines={"even": hand_line()},
        feeds={name: hand_feed(name) for name in hand.FEEDS},
        temperature_C=tuple(map(mine, hand.MONTHS_C)),
        incubators={"only": Incubator("only", 500)},
        brooders={name: Brooder(name, m2) for name, m2 in hand.BROODERS_M2.items()},
        shelters={
            name: Shelter(name, along, across, 0.7, moves_per_day=moves)
            for name, (along, across, moves) in hand.SHELTERS_M.items()
        },
        houses={name: MobileHouse(name, m2, light_h=hours) for name, (m2, hours) in hand.HOUSES.items()},
        limits=(
            Limit("kg", "kg_per_m2", "shelter", hand.KG_PER_M2, MINE, False),
            Limit("n", "kg_n_per_ha_pass", "shelter", hand.KG_N_PER_HA, MINE, False),
            Limit("hens", "heads_per_m2", "house", hand.HENS_PER_M2, MINE, False),
        ),
        floor_allowance=tuple((until, mine(per_m2)) for until, per_m2 in hand.CHICKS_PER_M2),
    )


def hand_plan():
    sets = []
    for i in range(4):
        set_on = hand.FIRST_SET + timedelta(days=i * hand.EVERY_D)
        hatched = set_on + timedelta(days=hand.INCUBATION_D)
        drafts = tuple(Draft(hatched + timedelta(days=age), share) for age, share in hand.DRAFTS)
        sets.append(
            Batch(f"b{i + 1}", "even", "set", hatched, hatched, set_on, hand.EGGS, None, hand.STORED_D)
        )
        if i < 3:
            sets[-1] = replace(sets[-1], drafts=drafts)
    old = Batch("old", "even", "present", hand.OLD_HATCHED, hand.OLD_HERE, heads={"pullet": hand.OLD_HENS})
    outs = tuple(Out("old", on, share) for on, share in hand.OLD_OUT)
    return Plan((*sets, old), outs=outs, first=hand.FIRST, last=hand.LAST)


@pytest.fixture(scope="module")
def walked():
    return hand.walk()


@pytest.fixture(scope="module")
def expected():
    return weeks(expect(hand_farm(), hand_plan()))


def test_every_week_is_there(walked, expected):
    assert [w["monday"] for w in walked] == [w.monday for w in expected]
    assert len(walked) == 76
    assert set(walked[0]) == {f.name for f in fields(Week)}


@pytest.mark.parametrize("name", [f.name for f in fields(Week) if f.name not in ("monday", "feed_kg")])
def test_weekly_figure_is_that_of_the_hand(walked, expected, name):
    ours = [float(getattr(week, name)) for week in expected]
    theirs = [float(week[name]) for week in walked]
    assert ours == pytest.approx(theirs, rel=TOLERANCE, abs=TOLERANCE)
    assert max(theirs) > 0, "a figure that never rises from zero tests nothing"


@pytest.mark.parametrize("kind", hand.FEEDS)
def test_weekly_feed_by_kind_is_that_of_the_hand(walked, expected, kind):
    theirs = [week["feed_kg"][kind] for week in walked]
    assert [w.feed_kg[kind] for w in expected] == pytest.approx(theirs, rel=TOLERANCE, abs=TOLERANCE)
    assert max(theirs) > 0


def test_the_farm_is_hard_enough(walked):
    """Waiting in the brooder, splitting, a shared limit, a brooder too full, light waited for, two drafts and
    old hens put out: all of it happens on this farm."""
    stays = expect(hand_farm(), hand_plan()).plan.stays
    turned_out = {b["id"]: hand.on_age(b, hand.TURNOUT_D) for b in hand.batches()}
    assert any(s.place in hand.BROODERS_M2 and s.until > turned_out[s.batch] for s in stays)
    parties = {}
    for stay in stays:
        if stay.place in hand.SHELTERS_M:
            parties.setdefault((stay.batch, stay.sex, stay.weight_factor), set()).add(stay.first)
    assert any(len(firsts) > 1 for firsts in parties.values())
    assert {s.place for s in stays} == {*hand.HOUSES, *hand.BROODERS_M2, *hand.SHELTERS_M}
    assert max(week["heaviest_kg_per_m2"] for week in walked) > hand.KG_PER_M2
    assert max(week["floor_share"] for week in walked) > 1
    sets = [b for b in hand.batches() if b["set"]]
    lit = [
        hand.light(hand.on_age(b, hand.POINT_OF_LAY_D), "wagon") > hand.HEN["light_needed_h"] for b in sets
    ]
    assert lit[0]
    assert not lit[-1]
    assert sum(week["killed"] > 0 for week in walked) >= 7
