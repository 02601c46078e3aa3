"""What a re-plan says of birds kept alive, feed, water, mains and people, held to sums by hand.

As test_disaster_numbers.py, which has the barn, drought, raids, hatches, sickness and the roof for all.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp, log

import pytest

from disasters import CASES, answer, of, season
from leyfold.nouns.farm import Generator, Incubator, Lamp, Tank
from leyfold.nouns.replanned import Replanned
from logs import Diary
from troubles import HOLLOW_ASH, after

# --- killing put off -----------------------------------------------------------------------------------


def test_a_day_more_by_hand() -> None:
    """Feed and water of the mean cockerel at their prices, a shelter's daily work over his 28, the chance
    that he dies times what he is worth. And kg and nitrogen to the square metre."""
    found = answer("killing day lost")
    seen, due, until = season(found), date(2027, 6, 7), date(2027, 7, 5)
    [n] = of(found, "day_more")
    rows = [i for i, lot in enumerate(seen.lots) if (lot.batch, lot.sex) == ("early", "cockerel")]
    days = range(seen.index(due), seen.index(until))
    heads = seen.heads[rows].sum(axis=0)
    line = HOLLOW_ASH.lines["tawny"]
    dressing = line.dressing_share.value
    weight = seen.weight_kg[rows].max(axis=0)
    total = feeds = 0.0
    for d in days:
        feed = seen.feed_kg[rows, d].sum() / heads[d] * 0.55
        water = seen.water_l[rows, d].sum() / heads[d] * 0.002
        dies = seen.dead[rows, d].sum() / heads[d]
        work = 0.12 * 16.0 / heads[seen.index(found.day) : seen.index(until)].mean()
        total += feed + water + work + dies * (weight[d] * dressing * 12.0 - 3.5)
        feeds += feed
    assert n.value == pytest.approx(total / len(days), rel=0.001)
    assert f"({feeds / len(days):.3f} of it feed)" in n.said
    for name, at_first in (
        ("kg_per_m2_under", heads[days[0]] * weight[days[0]] / 9.0),
        ("kg_n_per_ha_pass_under", seen.n_kg[rows, days[0]].sum() / 9.0 * 10_000),
    ):
        [ground] = of(found, name)
        assert f"s2: {at_first:.1f} kg" in ground.said
    assert of(found, "kg_per_m2_under")[0].value == pytest.approx(heads[days[-1]] * weight[days[-1]] / 9.0)
    [freezer] = of(found, "freezer_unknown_kg")
    assert freezer.value == pytest.approx(heads[days[0]] * weight[days[0]] * dressing)


def test_the_freezer_and_limits_that_are_passed() -> None:
    """At most 8 kg to the square metre: they pass it while they wait."""
    tight = tuple(replace(x, at_most=8.0) if x.quantity == "kg_per_m2" else x for x in HOLLOW_ASH.limits)
    farm = replace(HOLLOW_ASH, planning=replace(HOLLOW_ASH.planning, freezer_kg=20.0), limits=tight)
    found = after("2027-06-05", "no killing from 2027-06-06 until 2027-07-20", farm=farm)
    [short] = of(found, "freezer_short_kg", "early")
    assert short.value is not None
    assert f"{int(20.0 / short.value * 28)} of them" in short.said
    [n] = [n for n in of(found, "kg_per_m2_over", "s2") if "7 Jun" in n.said]
    assert n.on is not None
    series = season(found).places["s2"].kg_per_m2
    at = season(found).index(n.on)
    assert series[at] > 8.0 >= series[at - 1]


def test_an_order_gone_in_numbers() -> None:
    """Ten carcasses of the killing of 7 June: their mean weight then, at 12 a kg, and the deposit on them."""
    found = after("2027-06-01", "order inn cancelled")
    assert (
        found.first is None
    )  # nothing breaks: so there is nothing to mend, and the price of waiting is told
    [n], [deposit] = of(found, "unsold_worth_kg"), of(found, "deposit")
    seen = season(found)
    row = next(i for i, lot in enumerate(seen.lots) if (lot.batch, lot.sex) == ("early", "cockerel"))
    kg = seen.weight_kg[row, seen.index(date(2027, 6, 6))] * HOLLOW_ASH.lines["tawny"].dressing_share.value
    assert n.value == pytest.approx(10 * kg)
    assert f"{10 * kg * 12.0:.0f} EUR" in n.said
    assert deposit.value == 40.0
    assert of(found, "day_more", "early")
    assert any("A deposit on every order" in said for said in found.learn)


# --- stores, mains, people -----------------------------------------------------------------------------


def test_feed_lasts_as_many_days_as_it_feeds() -> None:
    found = answer("lorry does not come")
    [n] = of(found, "feed_lasts_d", "grower")
    seen = season(found)
    grower = seen.feeds.index("grower")
    there = float(n.said.split(" kg there")[0].split()[-1])
    day, left = seen.index(found.day), there
    while left >= (eaten := float((seen.feed_kg * (seen.feed_kind == grower))[:, day].sum())) - 0.5:
        left -= eaten
        day += 1
    assert n.value == day - seen.index(found.day)
    assert n.on == seen.day(day)


def test_survivors_of_a_raid_leave_feed_for_two_days() -> None:
    """What s1 leaves is there for all: half of its feed of that day and the next is not wanted."""
    case = CASES["lorry does not come"]
    plain = after("2027-06-05", *case.what, farm=case.farm)
    raided = after("2027-06-05", *case.what, "fox 1 in s1", farm=case.farm)

    def wanted(found: Replanned) -> float:
        [n] = of(found, "feed_lasts_d", "grower")
        return float(n.said.split(" kg a day")[0].split()[-1])

    seen = season(raided)
    row = next(i for i, lot in enumerate(seen.lots) if (lot.batch, lot.place) == ("early", "s1"))
    day = seen.index(raided.day)
    each = seen.feed_kg[row, day] / seen.heads[row, day]
    assert wanted(plain) - wanted(raided) == pytest.approx(each + 0.5 * seen.feed_kg[row, day], abs=0.1)


def test_older_birds_may_eat_what_younger_ones_eat_and_never_the_other_way() -> None:
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s2", "sex": "cockerel", "hatched_on": "2027-03-01"}
    diary.write("2027-05-20 06:00", "present", heads=28, **there)
    for store, kg in (("starter", 40), ("tower", 100), ("layers", 500)):
        diary.write("2027-06-01 06:00", "feed read", bin=store, kg=kg)
    found = after("2027-06-01", "no feed until 2027-06-25", records=tuple(diary))
    assert not of(found, "feed_by_plan")
    instead = {(n.of, n.said.split(" may eat ")[1].split()[0]) for n in of(found, "feed_instead_d")}
    assert ("grower", "starter") in instead
    assert not [pair for pair in instead if pair[1] == "layers" or pair[0] == "starter"]


def test_water_was_last_seen_hours_ago() -> None:
    diary = Diary()
    for place, sex in (("s1", "pullet"), ("s2", "cockerel")):
        there = {"batch": "early", "line": "tawny", "place": place, "sex": sex, "hatched_on": "2027-03-01"}
        diary.write("2027-05-20 06:00", "present", heads=28, **there)
    diary.write("2027-06-01 05:30", "watered", place="s2", litres=15)
    found = after("2027-06-01", "no water in s2", records=tuple(diary))  # at 16:00 UTC
    [n] = of(found, "water_last_h")
    assert (n.of, n.value) == ("s2", pytest.approx(10.5))
    assert "11 hours ago" in n.said or "10 hours ago" in n.said
    [never] = of(found, "water_never")
    assert "s1" in never.said
    assert "s2" not in never.said


def test_frost_and_heat_are_told_in_their_season() -> None:
    winter, summer = after("2027-01-20", "water frozen in coop"), after("2027-07-10", "drinker blocked in s2")
    assert any("Ice is not seen" in said for said in winter.today)
    assert not of(winter, "water_hot_l")
    assert not any("wet the roof" in said for said in winter.today)
    assert any("wet the roof" in said for said in summer.today)
    assert summer.first is not None
    assert summer.first.id == "water:s2"
    assert not any("Medicines" in said for said in summer.cautions)


def test_a_tainted_tank_leaves_all_out_of_doors_dry() -> None:
    farm = replace(HOLLOW_ASH, tanks={"cart": Tank("cart", 200.0)})
    found = after("2027-05-08", "water tainted in cart", farm=farm)
    assert any(a.kind == "brooder" for a in found.alive)
    outside = sum(a.heads for a in found.alive if a.kind in ("shelter", "house"))
    assert found.first is not None
    assert found.first.id == "water:cart"
    assert f"no water for {outside} birds" in found.first.said
    assert [m.kind for m in found.mends if m.verified] == ["carry"]
    assert "leave cart dry" in found.mends[0].said
    assert any("never where there is medicine" in said for said in found.today)


@pytest.mark.parametrize(
    "said", ["power off 30 h at 2 C", "power off 30 h at 2C", "power off 30 hours at 2 °C"]
)
def test_mains_off_by_hand(said: str) -> None:
    """From 37.7 °C towards 2 by 3 h: under 32 after 3 ln(35.7 / 30) h, at 2 °C by the end; grade danger."""
    found = after("2027-04-05", said)
    [n] = of(found, "cooled_chicks")
    assert f"{30 - 3 * log(35.7 / 30):.1f} h under 32 °C" in n.said
    assert f"down to {2 + 35.7 * exp(-10):.0f} °C" in n.said
    assert "most may be lost" in n.said
    line = HOLLOW_ASH.lines["tawny"]
    fertile = round(84 * line.fertility.value * 0.2)
    assert n.value == pytest.approx(fertile * line.hatch_of_fertile.value, rel=1e-6)
    assert n.on == date(2027, 4, 10)


def test_the_farms_own_trial_of_its_machine_counts() -> None:
    """A machine that the farmer has tried, and that cools by 30 h: under 32 °C for only some of the time."""
    tried = replace(HOLLOW_ASH, tonight={"incubator_tau": replace(HOLLOW_ASH.temperature_C[0], value=30.0)})
    [n] = of(after("2027-04-05", "power off 30 h at 2 C", farm=tried), "cooled_chicks")
    assert f"{30 - 30 * log(35.7 / 30):.1f} h under 32 °C" in n.said


def test_a_generator_carries_chicks_before_eggs() -> None:
    lamps = (Lamp(250.0, "left"), Lamp(250.0, "right"))
    farm = replace(
        HOLLOW_ASH,
        brooders={**HOLLOW_ASH.brooders, "loft": replace(HOLLOW_ASH.brooders["loft"], lamps=lamps)},
        incubators={"box": Incubator("box", 120, watts=150.0)},
        generators={"suitcase": Generator("suitcase", 600.0)},
    )
    # Nobody is in the loft, nothing in the machine.
    assert not of(after("2027-06-12", "power off 3 h", farm=farm), "generator_w")
    found = after("2027-05-08", "power off 3 h", farm=farm)
    [n] = of(found, "generator_w")
    assert "carries loft 500 W; wanted: loft 500 W" in n.said
    # Both rooms: the younger chicks, in the room that the farm file names last, come first.
    diary = Diary()
    for batch, place, born in (("early", "barn", "2027-04-20"), ("middle", "loft", "2027-05-06")):
        diary.write("2027-05-07 06:00", "present", batch=batch, line="tawny", place=place, heads=30,
                    hatched_on=born)  # fmt: skip
    barn = replace(farm.brooders["barn"], lamps=lamps)
    both = replace(farm, brooders={**farm.brooders, "barn": barn})
    [n] = of(after("2027-05-08", "power off 3 h", farm=both, records=tuple(diary)), "generator_w")
    assert "carries loft 500 W; wanted: loft 500 W, barn 500 W" in n.said
    [chicks] = of(found, "chicks_want_c", "loft")
    assert chicks.value == pytest.approx(35 - 3 * 26 / 7)


def test_what_falls_due_while_the_farmer_is_away() -> None:
    found = after("2027-06-01", "away ida until 2027-06-12")
    due = [(n.on, n.of) for n in of(found, "due")]
    assert (date(2027, 6, 7), "early") in due  # killed
    assert (date(2027, 6, 7), "middle") in due  # sorted
    assert all(found.day <= on < date(2027, 6, 12) for on, _ in due if on is not None)
    assert any("who is trained" in n.said for n in of(found, "due"))


def test_the_book_says_whom_it_last_heard() -> None:
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s1", "sex": "pullet", "hatched_on": "2027-03-01"}
    diary.write("2027-05-30 06:00", "present", heads=27, **there)
    diary.write("2027-05-31 18:30", "found dead", place="s1", heads=2)
    [n] = of(after("2027-06-01", "phone lost", records=tuple(diary)), "last_heard")
    assert n.on == date(2027, 5, 31)
    assert of(after("2027-06-01", "phone lost"), "nothing_heard")
