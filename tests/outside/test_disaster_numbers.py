"""What a re-plan says in numbers, held to sums by hand from the farm, the plan and the season of the answer.

The cases are those of tests/disasters.py. A sum here takes heads, weights, feed and nitrogen of the expected
season as they are (they have tests of their own) and does the rest anew: floor by the birds a square metre
takes, money by the prices of the farm, chances by their formulas.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import exp

import pytest
from scipy.stats import betabinom, binom

from disasters import answer, of, season
from leyfold.nouns.farm import Cattle, Lamp, Tank
from leyfold.nouns.orders import Order
from leyfold.nouns.replanned import Replanned
from leyfold.nouns.season import Season
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from logs import Diary
from troubles import HOLLOW_ASH, after


def takes(age_d: int) -> int:
    """Birds to a square metre at an age: the start values of the farm of the tests."""
    return 25 if age_d < 14 else 18 if age_d < 28 else 11 if age_d < 42 else 8


def floor_m2(seen: Season, room: str | None, day: int) -> float:
    rows = [i for i, lot in enumerate(seen.lots) if lot.place != "coop" and room in (None, lot.place)]
    return sum(
        float(seen.heads[i, day]) / takes(int(seen.age_d[i, day])) for i in rows if seen.heads[i, day] > 0
    )


# --- late spring ---------------------------------------------------------------------------------------


def test_the_barn_week_by_week() -> None:
    """Worst day of each week: floor by age, and the air of a stirred room for the ammonia of its droppings
    (0.7 x 0.21 of the nitrogen, 17.031 / 14.007 as gas, 20 ppm)."""
    found = answer("late spring")
    seen = season(found)
    weeks = of(found, "barn_m2", "loft")
    assert [n.on for n in weeks] == [date(2027, 5, 8) + timedelta(weeks=i) for i in range(5)]
    for n in weeks:
        assert n.on is not None
        a = seen.index(n.on)
        days = range(a, min(a + 7, seen.index(date(2027, 6, 10))))
        assert n.value == pytest.approx(max(floor_m2(seen, "loft", d) for d in days), rel=1e-9)
        rows = [i for i, lot in enumerate(seen.lots) if lot.place == "loft"]
        n_kg = max(float(seen.n_kg[rows, d].sum()) for d in days)
        grams = 1000 * n_kg * 0.7 * 0.21 * 17.031 / 14.007 / 24
        kelvin = 273.15 + found.farm.temperature_C[n.on.month - 1].value
        air = grams / (20e-6 * 17.031 / 24.465e-3 * 298.15 / kelvin)
        assert f"; {air:.0f} m³ of air" in n.said
        assert (": OVER" in n.said) == (n.value is not None and n.value > 6.0)


def test_lamps_that_do_not_carry_the_chicks_are_told() -> None:
    """Six weeks old on 24 May chicks want 35 - 3 x 6 = 17 °C; those of 60 W under a typical night of some
    5 °C carry (75 - 1.8 x 5) x 60 / 250, less than one chick in three of them counts for."""
    lamps = (Lamp(15.0, "left"),)
    farm = replace(
        HOLLOW_ASH,
        brooders={**HOLLOW_ASH.brooders, "loft": replace(HOLLOW_ASH.brooders["loft"], lamps=lamps)},
    )
    found = after("2027-05-08", "grass from 2027-06-10", farm=farm)
    cold = of(found, "barn_cold_m2", "loft")
    assert cold
    assert all("TOO FEW" in n.said for n in cold)
    bright = replace(farm.brooders["loft"], lamps=(Lamp(250.0, "left"), Lamp(250.0, "right")))
    found = after(
        "2027-05-08", "grass from 2027-06-10", farm=replace(farm, brooders={**farm.brooders, "loft": bright})
    )
    assert not of(found, "barn_cold_m2")
    assert of(found, "barn_lamps_m2", "loft")


def test_litter_of_the_days_longer() -> None:
    """59 chicks, out on 10 May by the plan at 28 days with 0.4 kg each, stay 31 days longer."""
    [n] = of(answer("late spring"), "litter_priced_kg")
    assert n.value == pytest.approx(59 * 0.4 * 31 / 28, rel=0.01)
    assert "5 EUR" in n.said  # 26 kg at 0.20


@pytest.mark.parametrize("name", ["late spring", "drought"])
def test_what_a_set_not_set_costs(name: str) -> None:
    """The money still to come with and without the set, reckoned outside of the re-plan; and no set whose
    eggs are in a machine is named as free."""
    found = answer(name)
    free = [n for n in found.numbers if n.name in ("set_free", "set_earns")]
    assert {n.of for n in free} == {
        b.id for b in found.plan.batches if b.set_on is not None and b.set_on > found.day
    }
    for n in free:
        without = replace(
            found.plan,
            batches=tuple(b for b in found.plan.batches if b.id != n.of),
            stays=tuple(s for s in found.plan.stays if s.batch != n.of),
        )
        assert n.value == pytest.approx(to_come(found, found.plan) - to_come(found, without), abs=1e-6)


def to_come(found: Replanned, plan: object) -> float:
    seen = expect(found.farm, complete(found.farm, plan))  # type: ignore[arg-type]
    day = max(seen.index(found.day), 0)
    entries = reckon(found.farm, seen).entries
    return sum(float(e.money[day:].sum()) for e in entries if not e.rate.id.startswith("first."))


# --- drought -------------------------------------------------------------------------------------------


def test_ground_hay_cattle_and_water_of_a_drought() -> None:
    """97 days until 15 August; six head of 10 kg and 65 l, a tenth of hay lost; shelters of 9 m² each."""
    found = answer("drought")
    seen = season(found)
    days = (date(2027, 8, 15) - found.day).days
    [hay], [beast] = of(found, "hay_kg"), of(found, "beast_sold_kg")
    assert hay.value == pytest.approx(days * 6 * 10.0 * 1.1)
    assert beast.value == pytest.approx(days * 10.0 * 1.1)
    assert f"{65 * days:,} l" in beast.said
    # Shelters with somebody in them each day, from the day on.
    stands = [
        sum(float(seen.places[name].heads[d]) >= 0.5 for name in found.farm.shelters) * 9.0
        for d in range(seen.index(found.day), seen.days)
    ]
    [ground] = of(found, "ground_ends_m2")
    assert f"{sum(stands[:days]):,.0f} m² until 15 Aug" in ground.said
    assert f"{sum(stands):,.0f} m² until the season ends" in ground.said
    used, day = 0.0, 0
    while used + stands[day] <= 2000.0:
        used += stands[day]
        day += 1
    assert ground.on == found.day + timedelta(days=day)
    [wide] = of(found, "strips_wider_short_m2")
    assert wide.value == sum(stands) + sum(stands[:days])
    # 6 x 10 kg over (2700 - 1600) x 0.9 a hectare: 606 m²; twice that where half of it stands.
    [broken] = of(found, "break_m2")
    assert broken.value == pytest.approx(2 * 6 * 10.0 / (1100 * 0.9) * 10_000)
    # All that birds and cattle drink until then.
    drunk = float(seen.water_l[:, seen.index(found.day) : seen.index(found.day) + days].sum())
    [drawn] = of(found, "water_drawn_m3")
    assert drawn.value == pytest.approx((drunk + days * 6 * 65.0) / 1000)


def test_water_is_hauled_in_whole_tanks() -> None:
    farm = replace(HOLLOW_ASH, tanks={"cart": Tank("cart", 200.0)})
    found = after("2027-05-10", "drought until 2027-06-10", farm=farm)
    [n] = of(found, "water_trips_l")
    assert n.value is not None
    assert f"besides: {-int(-n.value // 200)}." in n.said
    # Cattle in the byre are hauled nothing, and eat no grass that is lacking.
    byre = replace(farm, cattle={"herd": Cattle("herd", 6, 10.0, grazing=((8, 1), (9, 1)))})
    found = after("2027-05-10", "drought until 2027-06-10", farm=byre)
    assert not of(found, "hay_kg")
    [n] = of(found, "water_trips_l")
    assert "cattle's 0 l" in n.said


# --- birds ---------------------------------------------------------------------------------------------


def test_a_fox_night_in_numbers() -> None:
    """8 of 28 pullets are left, 92 days old: each was worth 92/126 of a pullet (to the house on 5 July) and
    the rest of a day-old. Three shelters, five nights, 0.0005 x 30 a night each."""
    found = answer("fox night")
    [dead], [claim], [fed], [back] = (
        of(found, name) for name in ("dead_heads", "claim", "survivors_kg", "fox_back_share")
    )
    assert (dead.value, "8 left" in dead.said) == (20, True)
    part = 92 / 126
    assert claim.value == pytest.approx(20 * (part * 21.0 + (1 - part) * 4.0))
    assert back.value == pytest.approx(1 - (1 - 0.015) ** 15)
    seen = season(found)
    row = next(i for i, lot in enumerate(seen.lots) if (lot.batch, lot.sex) == ("early", "pullet"))
    day = seen.index(found.day)
    assert fed.value == pytest.approx(0.5 * 8 * seen.feed_kg[row, day] / seen.heads[row, day], rel=1e-9)


def test_a_poor_hatch_in_numbers() -> None:
    """20 chicks of 84 eggs against the beta-binomial of the line (scipy's)."""
    [n] = of(answer("poor hatch"), "hatch_heads")
    line = HOLLOW_ASH.lines["tawny"]
    rate = line.fertility.value * line.hatch_of_fertile.value
    assert f"{84 * rate:.0f} expected" in n.said
    assert "under 0.1 times" in n.said
    mild = after("2027-04-12", "hatch of middle is 52")
    [n] = of(mild, "hatch_heads")
    steady = line.hatch_concentration.value
    chance = betabinom.cdf(52, 84, rate * steady, (1 - rate) * steady)
    assert f"come {100 * chance:.0f} times" in n.said


def test_orders_that_a_poor_hatch_leaves_short_are_named() -> None:
    """Fifty for 20 August come of the two batches before; not with half a dozen cockerels of the second."""
    farm = replace(HOLLOW_ASH, orders=(Order("feast", "feast", 50, date(2027, 8, 20)),))
    assert not [b for b in after("2027-06-10", farm=farm).broken if b.promise == "order"]
    [n] = of(after("2027-06-10", "hatch of middle is 12", farm=farm), "orders_short")
    assert "feast" in n.said


def test_a_wrong_sex_ratio_in_numbers() -> None:
    found = answer("wrong sex ratio")
    [n], [swap] = of(found, "cockerels_heads"), of(found, "swap_cockerels")
    assert n.value == round(0.75 * 57)
    assert binom.sf(42, 57, 0.5) < 0.001
    assert "under 0.1 times" in n.said
    assert swap.value == round(43 - 57 / 2)
    [few] = of(after("2027-06-07", "cockerels 40 % of middle"), "swap_pullets")
    assert few.value == round(57 / 2 - 23)


def test_a_sick_place_in_numbers() -> None:
    """28 growers lose 0.028 a day, 0.196 a week: one dead in a day and two in a week come less often than
    one time in twenty by chance. Those of the book are told day by day."""
    found = answer("sick batch")
    [walk], [ring], [held] = of(found, "walk"), of(found, "ring_at"), of(found, "held_due_heads")
    assert walk.said.endswith("s3, s1, coop, s2.")
    assert 1 - exp(-0.028) < 0.05 < 1 - exp(-0.196)
    assert 1 - exp(-0.196) * 1.196 < 0.05
    assert ring.value == 1
    assert "1 dead in a day or 2 in a week" in ring.said
    assert held.value == 28  # the cockerels of s2; their sisters stand elsewhere
    assert "7 Jun 2027" in held.said
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s2", "sex": "cockerel", "hatched_on": "2027-03-01"}
    diary.write("2027-05-20 06:00", "present", heads=28, **there)
    diary.write("2027-06-01 06:00", "found dead", place="s2", heads=1)
    diary.write("2027-06-03 06:00", "found dead", place="s2", heads=2)
    [curve] = of(after("2027-06-03", "sick in s2", records=tuple(diary)), "deaths_heads")
    assert "0 0 0 0 1 0 2; 3 in all" in curve.said


# --- a roof over all, and whatever happens -------------------------------------------------------------


def test_a_roof_for_all_by_hand() -> None:
    """Floor by age on the first day, by weight at 21 kg; those who come last find none; three shelters of
    3 x 3 x 0.7 m to be meshed; 9 kg of litter a square metre."""
    found = answer("housing order")
    seen = season(found)
    day = seen.index(date(2027, 5, 22))
    [n] = of(found, "roof_m2")
    assert n.value == pytest.approx(floor_m2(seen, None, day), rel=1e-9)
    rows = [i for i, lot in enumerate(seen.lots) if lot.place != "coop"]
    kg = float((seen.heads[rows, day] * seen.weight_kg[rows, day]).sum())
    assert f"({kg / 21:.1f} m² by weight" in n.said
    [over] = of(found, "roof_over_heads")
    early = [i for i in rows if seen.lots[i].batch == "early"]
    m2 = sum(float(seen.heads[i, day]) / takes(int(seen.age_d[i, day])) for i in early)
    rest = n.value - m2
    assert over.value == pytest.approx(
        float(seen.heads[early, day].sum()) * (1 - (12.0 - rest) / m2), rel=1e-9
    )
    assert of(found, "mesh_m2")[0].value == pytest.approx(3 * 2 * 6.0 * 0.7)
    assert of(found, "roof_litter_kg")[0].value == pytest.approx(12.0 * 9)
    assert {n.on for n in of(found, "stopped_kill")} == {date(2027, 6, 7), date(2027, 7, 19)}
    [forward] = of(found, "forward_heads")
    assert forward.value == pytest.approx(28, abs=0.5)


def test_the_sun_sets_over_it() -> None:
    """At 56 N on 8 May, noon of the sun near 12:16 CEST at 11 E: half a day of 7.8 h after it (CBM model)."""
    found = answer("late spring")
    assert found.dark_at is not None
    from leyfold.nature.sun import day_length_h

    half = timedelta(hours=float(day_length_h(found.farm.holding.latitude_deg, 128)) / 2)
    noon = datetime(2027, 5, 8, 12, tzinfo=UTC) - timedelta(hours=found.farm.holding.longitude_deg / 15)
    assert abs(found.dark_at - (noon + half)) < timedelta(minutes=12)
    polar = replace(HOLLOW_ASH, holding=replace(HOLLOW_ASH.holding, latitude_deg=78.0))
    assert after("2027-06-21", "phone lost", farm=polar).dark_at is None


def test_signs_of_a_disease_are_told_no_numbers() -> None:
    assert after("2027-06-12", "signs in s2").numbers == ()


def test_pullets_alone_are_not_said_to_be_killed_later() -> None:
    diary = Diary()
    there = {"batch": "early", "line": "tawny", "place": "s1", "sex": "pullet", "hatched_on": "2027-03-01"}
    diary.write("2027-05-30 06:00", "present", heads=27, **there)
    found = after("2027-06-01", "withdrawal of early until 2027-07-20", records=tuple(diary))
    assert not any("not killed on" in said for said in found.today)
    assert of(found, "held_heads", "early")
