"""What the exact chances owe to common sense: order, limits, and wishes answered."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, mine
from leyfold.nouns.farm import Wish
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.season.chance import Counting, counted, number_by
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.wished import wish_chances

SET = date(2027, 2, 1)
BY = date(2027, 8, 2)
FARM = farm()


def a_set(name: str, on: date = SET, eggs: int = 60, **more: object) -> Batch:
    hatch = on + timedelta(days=21)
    return Batch(name, "tawny", "set", hatch, hatch, set_on=on, eggs=eggs, **more)  # type: ignore[arg-type]


PLAN = complete(FARM, Plan((a_set("a"), a_set("b", SET + timedelta(days=28)))))
SPREADS = ("chance alone", "batches", "shared")
COUNTINGS = {
    (what, s): Counting(FARM, PLAN, what, BY, s) for what in ("pullets", "table birds") for s in SPREADS
}  # type: ignore[arg-type]

what = st.sampled_from(["pullets", "table birds"])
spread = st.sampled_from(SPREADS)


@settings(max_examples=60, deadline=None)
@given(what, spread, st.integers(0, 120), st.integers(0, 120), st.integers(1, 60))
def test_fewer_wished_and_more_eggs_are_surer(what: str, spread: str, one: int, other: int, k: int) -> None:
    few, many = sorted((one, other))
    counting = COUNTINGS[what, spread]
    a, b = (counting.number({"a": eggs, "b": 40}) for eggs in (few, many))
    assert b.at_least(k) >= a.at_least(k) - 1e-9
    assert a.at_least(k) >= a.at_least(k + 1) - 1e-12
    assert a.mean <= b.mean + 1e-9


@settings(max_examples=40, deadline=None)
@given(what, spread, st.integers(0, 150), st.floats(0.01, 0.99))
def test_numbers_are_distributions(what: str, spread: str, eggs: int, share: float) -> None:
    number = COUNTINGS[what, spread].number({"a": eggs})
    assert number.pmf.min() >= 0
    assert number.pmf.sum() == pytest.approx(1.0, abs=1e-9)
    assert number.at_least(number.safe(share)) >= share - 1e-9
    assert number.at_least(number.safe(share) + 1) < share
    at = number.quantile(share)
    assert number.pmf[: at + 1].sum() >= share - 1e-9 > number.pmf[:at].sum() - 1e-9


@pytest.mark.parametrize("what", ["pullets", "table birds"])
def test_more_that_differs_spreads_more_about_one_mean(what: str) -> None:
    alone, vary, shared = (COUNTINGS[what, s].number() for s in SPREADS)
    assert alone.sd < vary.sd < shared.sd
    assert vary.mean == pytest.approx(alone.mean, rel=3e-4)
    assert shared.mean == pytest.approx(vary.mean, rel=1e-6)
    assert alone.safe() >= vary.safe() >= shared.safe()
    assert alone.safe() > shared.safe()


def test_with_the_eggs_of_the_plan_it_is_the_plan() -> None:
    np.testing.assert_allclose(
        COUNTINGS["pullets", "batches"].number({"a": 60, "b": 60}).pmf,
        number_by(FARM, PLAN, "pullets", BY).pmf,
    )


def test_who_counts() -> None:
    hens = Batch("old", "tawny", "present", date(2026, 1, 1), SET, heads={"pullet": 30.0})
    young = Batch(
        "young", "tawny", "present", date(2026, 12, 1), SET, heads={"pullet": 30.0, "cockerel": 9.0}
    )
    late = a_set("late", date(2027, 8, 1))
    plan = complete(FARM, Plan((a_set("a"), hens, young, late)))
    ids = {b.id for b in counted(FARM, plan, "pullets", BY)}
    assert ids == {"a", "young"}
    assert {b.id for b in counted(FARM, plan, "table birds", BY)} == {"a", "young"}
    assert {b.id for b in counted(FARM, plan, "table birds", date(2027, 3, 20))} == {"young"}
    assert counted(FARM, plan, "pullets", BY, "another") == ()
    assert number_by(FARM, plan, "pullets", BY, line="another").pmf.tolist() == [1.0]
    assert number_by(FARM, plan, "pullets", SET - timedelta(days=1)).at_least(1) == 0.0


def test_killed_by_a_day_is_killed_on_it() -> None:
    hatch = SET + timedelta(days=21)
    plan = Plan(
        (
            a_set(
                "a", drafts=(Draft(hatch + timedelta(days=90), 0.5), Draft(hatch + timedelta(days=100), 1.0))
            ),
        )
    )
    before, first, between, last = (
        number_by(FARM, plan, "table birds", hatch + timedelta(days=d)).mean for d in (89, 90, 99, 100)
    )
    assert before == 0
    assert first == between
    assert 1.9 * first < last < 2 * first


def wish(what: str, number: int, on: date, **more: object) -> Wish:
    return Wish("w", what, number, on, 0.8, **more)  # type: ignore[arg-type]


def test_each_wish_has_its_chance() -> None:
    exact = number_by(FARM, PLAN, "pullets", BY)
    made = replace(FARM, wishes=(wish("pullets", 40, BY), wish("pullets", 10_000, BY)))
    sure, never = wish_chances(made, PLAN)
    assert sure.chance == exact.at_least(40)
    assert (sure.low, sure.high, sure.safe) == (exact.quantile(0.05), exact.quantile(0.95), exact.safe())
    assert (never.chance, never.short) == (0.0, True)
    assert sure.short is (sure.chance < 0.8)


def test_a_wish_that_comes_back_wants_its_number_each_time() -> None:
    kills = [b.drafts[0].on for b in PLAN.batches]
    again = wish("table birds", 20, kills[0], every_d=28, until=kills[1])
    (found,) = wish_chances(replace(FARM, wishes=(again,)), PLAN)
    chances = [number_by(FARM, PLAN, "table birds", on).at_least(20 * (i + 1)) for i, on in enumerate(kills)]
    assert found.chance == min(chances)


def test_eggs_a_day_are_counted_in_the_worst_week() -> None:
    first, last = date(2027, 9, 6), date(2027, 10, 31)
    draws = draw(FARM, PLAN, n=200, seed=3)
    made = replace(FARM, wishes=(wish("eggs a day", 20, first, until=last),))
    (found,) = wish_chances(made, PLAN, draws)
    days = draws.eggs[:, draws.index(first) : draws.index(last) + 1]
    worst = np.array([[row[i : i + 7].mean() for i in range(days.shape[1] - 6)] for row in days]).min(axis=1)
    assert found.chance == pytest.approx((worst >= 20).mean())
    assert found.mean == pytest.approx(worst.mean(), rel=1e-5)
    assert found.mean > 0
    (own,) = wish_chances(made, PLAN)
    assert own.chance == pytest.approx(found.chance, abs=0.15)


def test_foxes_that_never_come_leave_no_mark() -> None:
    never = replace(FARM, risks={"fox_chance": mine(0.0)})
    harmless = replace(FARM, risks={"fox_share": mine(0.0)})
    a, b = (number_by(made, PLAN, "pullets", BY).pmf for made in (never, harmless))
    np.testing.assert_allclose(a, b, atol=1e-9)


def test_days_before_the_plan_begins_are_no_eggs_missed() -> None:
    """Books opened on a Wednesday: Monday and Tuesday of that week hold no birds."""
    first, last = date(2027, 9, 8), date(2027, 10, 31)
    hens = Batch(
        "h",
        "tawny",
        "present",
        date(2026, 4, 1),
        first,
        heads={"pullet": 40.0, "cockerel": 0.0},
        house="coop",
    )
    begun = Plan((hens,), first=first, last=last)
    draws = draw(FARM, begun, n=50, seed=3)
    assert draws.first < first
    early, there = (wish("eggs a day", 20, day, until=last) for day in (draws.first, first))
    (found,) = wish_chances(replace(FARM, wishes=(early,)), begun, draws)
    (wanted,) = wish_chances(replace(FARM, wishes=(there,)), begun, draws)
    assert (found.mean, found.chance) == (wanted.mean, wanted.chance)
    assert found.mean > 15


def test_birds_killed_already_count_for_wishes_that_do_not_come_back() -> None:
    """From the middle of a season the plan knows only the birds that are left."""
    on = PLAN.batches[0].drafts[0].on
    made = replace(FARM, wishes=(wish("table birds", 20, on), wish("table birds", 20, on, every_d=400)))
    killed = {PLAN.batches[0].line: 15, "another": 100}
    plain, again = wish_chances(made, PLAN)
    first, second = wish_chances(
        replace(made, wishes=tuple(replace(w, line=PLAN.batches[0].line) for w in made.wishes)),
        PLAN,
        killed=killed,
    )
    birds = number_by(FARM, PLAN, "table birds", on)
    assert first.chance == birds.at_least(5) > plain.chance
    assert (first.mean, first.low, first.safe) == (plain.mean + 15, plain.low + 15, plain.safe + 15)
    assert (second.chance, second.mean) == (again.chance, again.mean)
