"""Plans made for small farms: what they say is what the season and the reckoning say of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from leyfold.farm.plan_file import parse_plan
from leyfold.farm.plan_write import plan_text
from leyfold.farm.texts import Text
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import BreedingPen, Brooder, Farm, Incubator, Lamp, Person, Wish
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Batch, Stay
from leyfold.nouns.planned import Planned
from leyfold.nouns.planning import Busy
from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.levels import first_guess
from leyfold.plan.linear import Linear
from leyfold.plan.make import make_plan, posed, solve_problem, solved
from leyfold.plan.offers import cold_floor_C, night_C
from leyfold.plan.solver import solve_cpsat, solve_highs
from leyfold.plan.why import forced
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from planned_farms import AT, PRICES, SPAN, TABLE, clash, planned, small_farm
from random_farms import random_farm


def sets(answer: Planned) -> list[Batch]:
    return [batch for batch in answer.plan.batches if batch.origin == "set"]


def test_the_margin_is_that_of_the_reckoning_and_no_limit_is_passed() -> None:
    farm = small_farm(TABLE)
    answer = planned(farm)
    season = expect(farm, answer.completed)
    assert sets(answer)
    assert answer.objective == pytest.approx(reckon(farm, season).total(), abs=0.01)
    assert season.breaches == ()
    assert all(row.chance >= wish.chance for wish, row in zip(farm.wishes, answer.chances, strict=True))
    assert answer.bound <= answer.objective + 0.01
    assert not answer.hit_limit


@pytest.mark.parametrize("seed", [0, 1, 6])
def test_so_on_farms_drawn_by_lot(seed: int) -> None:
    made = random_farm(seed, "tiny")
    farm = made.farm
    plan = made.plan(farm)
    answer = make_plan(farm, None, State(), plan, made.at(plan), seconds=60)
    assert isinstance(answer, Planned)
    season = expect(farm, answer.completed)
    assert answer.objective == pytest.approx(reckon(farm, season).total(), abs=0.01)
    assert season.breaches == ()


def test_written_down_and_read_again_it_is_the_same_season() -> None:
    farm = small_farm(TABLE)
    answer = planned(farm)
    text = plan_text(farm, answer.plan, "A plan.")
    read = parse_plan(Text("plan.toml", text, ""), farm)
    assert text.startswith("# A plan.\n")
    assert complete(farm, read).stays == complete(farm, answer.plan).stays
    assert reckon(farm, expect(farm, read)).total() == pytest.approx(answer.objective, abs=0.01)


def test_the_same_question_has_the_same_answer_and_the_order_of_kit_changes_no_value() -> None:
    farm = small_farm(TABLE)
    first, again = planned(farm), planned(farm)
    assert first.plan == again.plan
    turned = replace(farm, shelters=dict(reversed(farm.shelters.items())))
    assert planned(turned).objective == pytest.approx(first.objective, abs=0.01)


def test_two_solvers_find_the_same_best() -> None:
    problem = posed(small_farm(TABLE), State(), SPAN, AT)
    linear = build(problem, first_guess(problem)).linear
    ours = solve_cpsat(linear, effort=20.0, seconds=60, level=2)
    peer = solve_highs(linear, seconds=60)
    assert ours.proven
    assert peer.proven
    assert ours.gain == pytest.approx(peer.gain, abs=2)


def test_a_model_without_an_answer_is_known_as_such_by_both() -> None:
    linear = Linear()
    one = linear.number(3)
    other = linear.number(3)
    linear.row({one: 1, other: 1}, least=5, group="many")
    linear.row({one: 2, other: 2}, most=9, group="few")
    for found in (solve_cpsat(linear, effort=1.0, seconds=5), solve_highs(linear, seconds=5)):
        assert found.values is None
        assert found.proven
    assert solve_cpsat(linear, effort=1.0, seconds=5, groups=["many"]).values is not None


# Limits, one by one ---------------------------------------------------------------------------------------


def test_nothing_is_killed_on_closed_days_or_past_what_can_be_killed() -> None:
    farm = small_farm(TABLE, asked={"kill_weekdays": ("tuesday",), "kill_a_day": 9})
    answer = planned(farm)
    days = [draft.on for batch in sets(answer) for draft in batch.drafts]
    assert days
    assert {day.weekday() for day in days} == {1}
    season = expect(farm, answer.completed)
    cocks = [i for i, lot in enumerate(season.lots) if lot.sex == "cockerel"]
    assert 0 < season.killed[cocks].sum(axis=0).max() <= 9
    moved = planned(
        small_farm(TABLE, asked={"kill_weekdays": ("tuesday",), "kill_a_day": 9, "closed": tuple(days)})
    )
    assert not set(days) & {draft.on for batch in sets(moved) for draft in batch.drafts}


def test_the_freezer_the_ground_and_the_hours_bind() -> None:
    free = planned(small_farm(TABLE))
    season = expect(small_farm(TABLE), free.completed)
    most_kg = season.killed_kg.sum(axis=0).max()
    less = small_farm(TABLE, asked={"freezer_kg": 0.3 * most_kg})
    kg = expect(less, planned(less).completed)
    cocks = [i for i, lot in enumerate(kg.lots) if lot.sex == "cockerel"]
    dressing = less.lines["tawny"].dressing_share.value
    assert kg.killed_kg[cocks].sum(axis=0).max() * dressing <= 0.3 * most_kg * (1 + 1e-9)

    used = _ground_m2(small_farm(TABLE), free)
    tight = small_farm(TABLE, asked={"ground_m2": 0.6 * used})
    assert _ground_m2(tight, planned(tight)) <= 0.6 * used

    hay = Busy(date(2027, 3, 1), date(2027, 12, 26), "mo", 0.0)
    nobody = small_farm(TABLE, asked={"busy": (hay,)}, people={"mo": Person("mo", "Mo", "farmer", 8.0)})
    assert clash(nobody) == {"hours", "wish:table"}


def _ground_m2(farm: Farm, answer: Planned) -> float:
    season = expect(farm, answer.completed)
    return sum(
        float((season.places[name].heads > 0).sum()) * kit.floor_m2 * kit.moves_per_day
        for name, kit in farm.shelters.items()
    )


def test_no_group_is_larger_on_a_cold_night_than_was_asked() -> None:
    """Chicks go out on the first nights they bear: in a cold summer near their floor, so cold."""
    months = tuple(replace(month, value=month.value - 5.0) for month in small_farm().temperature_C)
    wish = replace(TABLE, number=4, on=date(2027, 9, 20))
    farm = small_farm(wish, asked={"cold_group": 9}, temperature_C=months)
    # By the day they would wait until the nights are no longer cold.
    answer = solve_problem(posed(farm, State(), SPAN, AT), seconds=60).outcome
    assert isinstance(answer, Planned)
    season = expect(farm, answer.completed)
    seen = 0
    for batch in sets(answer):
        for stay in (x for x in answer.completed.stays if x.batch == batch.id and x.place in farm.shelters):
            for day in (season.day(i) for i in range(season.index(stay.first), season.index(stay.until))):
                if night_C(farm, day) < cold_floor_C((day - batch.hatched_on).days) + 3.0:
                    seen += 1
                    assert season.places[stay.place].heads[season.index(day)] <= 9
    assert seen


def test_lamps_carry_fewer_with_one_out() -> None:
    one = small_farm(
        TABLE, asked={"heat_without": "lamp"}, brooders={"shed": Brooder("shed", 6.0, (Lamp(250.0, "a"),))}
    )
    assert clash(one) == {"lamps", "wish:table"}


def test_a_breeding_pen_gives_no_more_than_its_hens_lay() -> None:
    pen = BreedingPen("pen", line="tawny", hens=6, cocks=1, lay_share=0.5, settable_share=0.9)
    answer = planned(small_farm(TABLE, pens={"pen": pen}, asked={"tray": 4, "stored_d": 7}))
    assert sets(answer)
    assert all(batch.eggs is not None and batch.eggs <= 6 * 0.5 * 0.9 * 7 for batch in sets(answer))


def test_pullets_share_no_trough_of_the_hens_before_its_feed_is_theirs() -> None:
    farm = small_farm(TABLE)
    line = farm.lines["tawny"]
    of_hens = max(phase.from_d for phase in line.feeding if phase.sex in (None, "pullet"))
    for batch in sets(planned(farm)):
        assert batch.house_on is not None
        assert (batch.house_on - batch.hatched_on).days >= of_hens


def test_old_hens_leave_where_that_pays_and_stay_for_eggs_wished() -> None:
    hens = Batch(
        "old", "tawny", "present", date(2025, 9, 1), date(2027, 3, 1),
        heads={"pullet": 30.0, "cockerel": 0.0}, house="coop",
    )  # fmt: skip
    stay = Stay("old-1", "old", None, "coop", date(2027, 3, 1), date(2027, 12, 27))
    plan = replace(SPAN, batches=(hens,), stays=(stay,))
    dear = replace(small_farm(), prices={**PRICES, "egg": 0.05})
    gone = planned(dear, plan)
    assert [out.batch for out in gone.plan.outs] == ["old"]
    season = expect(dear, gone.completed)
    assert gone.objective == pytest.approx(reckon(dear, season).total(), abs=0.01)
    wish = Wish("breakfast", "eggs a day", 6, date(2027, 3, 8), 0.8, until=date(2027, 8, 1))
    kept = planned(replace(dear, wishes=(wish,)), plan)
    assert all(out.on > date(2027, 7, 25) for out in kept.plan.outs)
    assert kept.chances[0].chance >= 0.8
    assert kept.objective <= gone.objective + 0.01
    # Eggs set already were laid by the old hens, who may leave now: they are not bought.
    begun = Batch(
        "begun",
        "tawny",
        "set",
        date(2027, 3, 29),
        date(2027, 3, 29),
        set_on=date(2027, 3, 8),
        eggs=24,
        stored_d=6,
    )
    pens = {"pen": BreedingPen("pen", line="tawny", hens=20, cocks=2, settable_share=0.9)}
    late = replace(dear, pens=pens)
    answer = make_plan(
        late,
        None,
        State(),
        replace(plan, batches=(hens, begun)),
        datetime(2027, 3, 15, 6, tzinfo=UTC),
        seconds=60,
    )
    assert isinstance(answer, Planned)
    assert "begun" in {batch.id for batch in answer.plan.batches}
    assert answer.objective == pytest.approx(reckon(late, expect(late, answer.completed)).total(), abs=0.01)
    # What is guessed at first for a high chance is more than they lay: the chance is kept all the same.
    low = kept.chances[0].low
    close = replace(wish, number=int(low), chance=0.94)
    assert planned(replace(dear, wishes=(close,)), plan).chances[0].chance >= 0.94


# No plan, and what cannot be asked ------------------------------------------------------------------------


def test_a_clash_names_what_stands_in_the_way_and_nothing_else() -> None:
    many = Wish("feast", "table birds", 200, date(2027, 8, 20), 0.8)
    groups = clash(small_farm(many))
    assert "wish:feast" in groups
    assert len(groups) >= 2
    assert clash(small_farm(TABLE, asked={"grass_until": date(2027, 6, 1)})) >= {"grass", "wish:table"}
    limit = Limit("few", "heads", "shelter", 1, "test", True)
    assert "shelters" in clash(small_farm(TABLE, limits=(limit,)))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"shelters": {}}, "shelters"),
        ({"brooders": {}}, "brooders"),
        ({"incubators": {}}, "incubators"),
        ({"incubators": {"box": Incubator("box", 6)}}, "planning.tray"),
        ({"wishes": (replace(TABLE, on=date(2027, 2, 1)),)}, "wishes[1].on"),
        ({"wishes": (replace(TABLE, on=date(2028, 2, 1)),)}, "wishes[1].on"),
    ],
)
def test_what_no_plan_can_mend_is_refused(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        planned(small_farm(**changes) if "wishes" not in changes else replace(small_farm(), **changes))
    (fault,) = refused.value.faults
    assert fault.field == field
    assert fault.mend


def test_a_plan_that_is_over_is_refused() -> None:
    with pytest.raises(BadInput) as refused:
        planned(small_farm(TABLE), replace(SPAN, first=date(2026, 3, 1), last=date(2026, 12, 27)))
    assert refused.value.faults[0].field == "last"


# Why ------------------------------------------------------------------------------------------------------


def test_why_a_set_stands_where_it_does() -> None:
    answer = solved(small_farm(TABLE), State(), SPAN, AT, seconds=60)
    assert isinstance(answer.outcome, Planned)
    name = sets(answer.outcome)[0].id
    found = forced(answer, name, seconds=60)
    assert [other.how for other in found.others if other.how == "without"] == ["without"]
    assert len(found.others) == 3
    for other in found.others:
        assert other.costs is not None or other.reasons
        if other.costs is not None and other.proven:
            assert other.costs >= -0.01
    with pytest.raises(BadInput):
        forced(answer, "nosuch", seconds=60)


def test_without_a_house_no_pullet_is_at_grass_when_it_ends() -> None:
    """Pullets then stay in shelters until the plan ends: where the grass ends sooner, nothing can be set."""
    last = SPAN.last
    assert last is not None
    free = planned(small_farm(TABLE, houses={}))
    assert sets(free)
    assert max(stay.until for stay in free.completed.stays) > last
    early = small_farm(TABLE, houses={}, asked={"grass_until": last - timedelta(days=14)})
    assert clash(early) == {"grass", "wish:table"}
    assert posed(early, State(), SPAN, AT).offers == ()
    assert sets(planned(small_farm(TABLE, houses={}, asked={"grass_until": last})))
