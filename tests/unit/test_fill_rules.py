"""Where birds go: each rule of `season.filling.fill`, told on a small farm of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from farms import MINE, farm, line
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Brooder, Farm, MobileHouse, Shelter
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.sums import sums

HATCH = date(2027, 3, 22)  # a Monday
TURNOUT, SORT, KILL, HOUSE = (HATCH + timedelta(days=age) for age in (28, 56, 98, 126))
DAY = timedelta(days=1)


def chicks(name: str = "a", heads: float = 72.0, on: date = HATCH, **changes: object) -> Batch:
    """Day-olds bought, half of them pullets, and nobody dies (see `small`): heads stay what they are."""
    made = Batch(name, "tawny", "bought", on, on, heads={"pullet": heads / 2, "cockerel": heads / 2})
    return replace(made, **changes)  # type: ignore[arg-type]


def undying(**changes: object) -> Farm:
    """The small farm with no limit and no losses."""
    stages = ("first_week", "brooder", "shelter")
    made = line(**{f"survival_{stage}": 1.0 for stage in stages})
    one = made.pullet.survival_grower
    made = replace(
        made,
        pullet=replace(made.pullet, survival_grower=replace(one, value=1.0)),
        cockerel=replace(made.cockerel, survival_grower=replace(one, value=1.0)),
        hen=replace(made.hen, survival_hen_year=replace(one, value=1.0)),
    )
    return farm(**{"lines": {"tawny": made}, "limits": (), **changes})


def at_most(quantity: str, number: float, scope: str = "shelter") -> Limit:
    return Limit(f"{scope}.{quantity}", quantity, scope, number, MINE, False)  # type: ignore[arg-type]


def sheds(*sizes: tuple[float, float], **changes: object) -> dict[str, Shelter]:
    return {
        f"s{i}": Shelter(f"s{i}", long, wide, 0.6, **changes)  # type: ignore[arg-type]
        for i, (long, wide) in enumerate(sizes, start=1)
    }


def place(season: Season, day: date, batch: str = "a", sex: Sex | None = None) -> dict[str, float]:
    """Heads of a batch (of one sex) by place on a day."""
    there: dict[str, float] = {}
    for i, lot in enumerate(season.lots):
        heads = float(season.heads[i, season.index(day)])
        if lot.batch == batch and lot.sex in (sex or lot.sex,) and heads > 0:
            there[lot.place] = there.get(lot.place, 0.0) + heads
    return there


def stands(season: Season, day: date, batch: str = "a", sex: Sex | None = None) -> set[str]:
    return set(place(season, day, batch, sex))


# 1. Brooders


def brooder_of(*batches: Batch) -> list[str | None]:
    return [batch.brooder for batch in complete(undying(), Plan(batches)).batches]


def test_a_batch_is_brooded_where_it_says() -> None:
    assert brooder_of(chicks(brooder="west"), chicks("b")) == ["west", "east"]


def test_a_batch_is_brooded_in_the_first_brooder_with_floor_for_it() -> None:
    # East has 12 m2. On the last days before turnout 18 chicks have one.
    assert brooder_of(chicks(heads=162), chicks("b", heads=50)) == ["east", "east"]
    assert brooder_of(chicks(heads=162), chicks("b", heads=60)) == ["east", "west"]


def test_without_floor_a_batch_is_brooded_in_the_brooder_passed_least() -> None:
    # West, 8 m2, passed by 10/8; east would be by 20/12.
    assert brooder_of(chicks(heads=180), chicks("b", heads=180)) == ["east", "west"]
    # Nothing is in east now: 30/12 there, 30/8 in west.
    assert brooder_of(chicks(heads=540)) == ["east"]


def test_a_brooder_is_free_again_on_turnout_day() -> None:
    assert brooder_of(chicks(heads=200), chicks("b", heads=200, on=TURNOUT)) == ["east", "east"]
    assert brooder_of(chicks(heads=200), chicks("b", heads=200, on=TURNOUT - DAY)) == ["east", "west"]


# 2. Turnout


def test_a_party_takes_as_few_shelters_as_keep_the_limits_in_the_order_of_the_farm() -> None:
    for most, taken in ((72, {"s1"}), (71, {"s1", "s2"}), (36, {"s1", "s2"}), (35, {"s1", "s2", "s3"})):
        season = expect(undying(limits=(at_most("heads", most),)), Plan((chicks(),)))
        assert stands(season, TURNOUT - DAY) == {"east"}
        assert stands(season, TURNOUT) == taken


def test_birds_are_spread_by_floor() -> None:
    shelters = sheds((4.0, 3.0), (3.0, 2.0))
    season = expect(undying(shelters=shelters, limits=(at_most("heads", 60),)), Plan((chicks(),)))
    assert place(season, TURNOUT) == pytest.approx({"s1": 48.0, "s2": 24.0})
    days = slice(season.index(TURNOUT), season.index(SORT))
    big, small = (season.places[name].kg_per_m2[days] for name in ("s1", "s2"))
    assert big == pytest.approx(small)


def test_the_limits_are_looked_at_for_a_week() -> None:
    """A shelter that would be too small within seven days is joined by another at once, one that would be
    too small on the eighth is not."""
    alone = expect(undying(), Plan((chicks(),)))
    load = alone.places["s1"].kg_per_m2
    turnout = alone.index(TURNOUT)
    for ahead, taken in ((6, {"s1", "s2"}), (7, {"s1"})):
        passed = (load[turnout + ahead] + load[turnout + ahead - 1]) / 2
        season = expect(undying(limits=(at_most("kg_per_m2", passed),)), Plan((chicks(),)))
        assert stands(season, TURNOUT) == taken


# 3. Splitting


@pytest.mark.parametrize("quantity", ["kg_per_m2", "kg_n_per_ha_pass"])
def test_a_party_splits_on_the_first_day_a_limit_is_passed(quantity: str) -> None:
    alone = expect(undying(), Plan((chicks(),)))
    load = getattr(alone.places["s1"], quantity)
    # The warmer month before it eats less: look for a day that is over all days before.
    at = next(i for i in range(alone.index(SORT) - 8, 0, -1) if load[i] > max(load[:i]))
    day, limit = alone.day(at), at_most(quantity, max(load[:at]))
    season = expect(undying(limits=(limit,)), Plan((chicks(),)))
    assert stands(season, day - DAY) == {"s1"}
    assert stands(season, day) == {"s1", "s2"}
    assert not season.breaches


def test_a_limit_just_met_splits_nobody() -> None:
    season = expect(undying(limits=(at_most("heads", 72.0),)), Plan((chicks(),)))
    assert stands(season, SORT - DAY) == {"s1"}


# 4. Waiting


def cockerels_alone(name: str, on: date, **changes: object) -> Batch:
    return chicks(name, on=on, heads=40, **{"house_on": on + timedelta(days=98), **changes})


def test_birds_wait_in_the_brooder_and_move_out_on_the_day_a_shelter_is_given_up() -> None:
    """One shelter. The first batch, pullets and cockerels both, leaves it on one day."""
    kit = undying(shelters=sheds((3.0, 3.0)))
    first, second = cockerels_alone("a", HATCH), cockerels_alone("b", HATCH + timedelta(days=49))
    season = expect(kit, Plan((first, second)))
    for day in (HATCH + timedelta(days=49 + 28), KILL - DAY):
        assert stands(season, day, "b") == {"east"}
        assert stands(season, day, "a") == {"s1"}
    assert stands(season, KILL, "b") == {"s1"}
    assert stands(season, KILL, "a") == {"coop"}


def test_a_party_over_a_limit_waits_where_it_stands_and_the_limit_is_told() -> None:
    kit = undying(shelters=sheds((3.0, 3.0)), limits=(at_most("heads", 50),))
    season = expect(kit, Plan((chicks(),)))
    assert stands(season, TURNOUT) == {"s1"}
    (breach,) = season.breaches
    assert (breach.where, breach.first, breach.last, breach.worst) == ("s1", TURNOUT, KILL - DAY, 72.0)


def test_without_any_shelter_birds_stay_in_the_brooder() -> None:
    season = expect(undying(shelters={}), Plan((chicks(),)))
    assert stands(season, KILL - DAY) == {"east"}
    assert stands(season, HOUSE) == {"coop"}


def test_birds_move_out_on_the_day_a_shelter_comes_onto_the_farm() -> None:
    comes = TURNOUT + timedelta(days=9)
    season = expect(undying(shelters=sheds((3.0, 3.0), since=comes)), Plan((chicks(),)))
    assert stands(season, comes - DAY) == {"east"}
    assert stands(season, comes) == {"s1"}


def test_birds_leave_a_shelter_on_the_day_it_leaves_the_farm() -> None:
    goes = TURNOUT + timedelta(days=9)
    shelters = {**sheds((3.0, 3.0), until=goes), "s9": Shelter("s9", 3.0, 3.0, 0.6)}
    season = expect(undying(shelters=shelters), Plan((chicks(),)))
    assert stands(season, goes - DAY) == {"s1"}
    assert stands(season, goes) == {"s9"}


def test_birds_with_no_other_shelter_wait_in_one_that_should_be_gone() -> None:
    goes, comes = TURNOUT + timedelta(days=9), TURNOUT + timedelta(days=20)
    shelters = {**sheds((3.0, 3.0), until=goes), "s9": Shelter("s9", 3.0, 3.0, 0.6, since=comes)}
    season = expect(undying(shelters=shelters), Plan((chicks(),)))
    assert stands(season, comes - DAY) == {"s1"}
    assert stands(season, comes) == {"s9"}


def test_a_shelter_is_free_when_the_birds_the_plan_has_put_there_leave() -> None:
    """The plan keeps the only shelter for the second batch: the first waits for the end of that stay, and
    gets the shelter before the second asks for it."""
    ends = TURNOUT + timedelta(days=10)
    kept = (Stay("kept", "b", None, "s1", TURNOUT, ends),)
    plan = Plan((chicks(), chicks("b", brooder="west")), stays=kept)
    season = expect(undying(shelters=sheds((3.0, 3.0))), plan)
    assert (stands(season, ends - DAY, "a"), stands(season, ends - DAY, "b")) == ({"east"}, {"s1"})
    assert (stands(season, ends, "a"), stands(season, ends, "b")) == ({"s1"}, {"west"})


def test_a_limit_of_nothing_is_told_for_every_place() -> None:
    season = expect(undying(limits=(at_most("heads", 0.0),)), Plan((chicks(),)))
    assert {breach.where for breach in season.breaches} == set(undying().shelters)


def test_birds_without_any_place_are_refused_in_words() -> None:
    grown = replace(chicks(), origin="present", arrives_on=HATCH + timedelta(days=60))
    with pytest.raises(BadInput, match="no place to be on 2027-05-21"):
        complete(undying(shelters={}, brooders={}, houses={}), Plan((grown,)))


# Sorting


def test_each_half_of_a_sorted_batch_takes_shelters_of_its_own_their_old_ones_first() -> None:
    season = expect(undying(), Plan((chicks(),)))
    assert stands(season, SORT - DAY) == {"s1"}
    assert place(season, SORT, sex="pullet") == pytest.approx({"s1": 36.0})
    assert place(season, SORT, sex="cockerel") == pytest.approx({"s2": 36.0})


def test_the_first_half_leaves_a_shelter_for_the_other() -> None:
    kit = undying(shelters=sheds((3.0, 3.0), (3.0, 3.0)), limits=(at_most("heads", 20),))
    season = expect(kit, Plan((chicks(),)))
    assert stands(season, SORT, sex="pullet") == {"s1"}
    assert stands(season, SORT, sex="cockerel") == {"s2"}


def test_a_half_without_a_shelter_waits_in_the_old_one() -> None:
    season = expect(undying(shelters=sheds((3.0, 3.0))), Plan((chicks(),)))
    assert stands(season, SORT, sex="pullet") == stands(season, SORT, sex="cockerel") == {"s1"}


# 5. Drafts


def test_after_a_draft_the_birds_close_ranks() -> None:
    """36 cockerels, 12 to a shelter: three shelters. Two thirds are killed, one shelter is enough."""
    drafts = (Draft(KILL, 2 / 3), Draft(KILL + timedelta(days=20), 1.0))
    season = expect(undying(limits=(at_most("heads", 12),)), Plan((chicks(drafts=drafts, heads=72),)))
    before, after = (place(season, day, sex="cockerel") for day in (KILL - DAY, KILL))
    assert len(before) == 3
    assert after == pytest.approx({next(iter(before)): 12.0})


def test_ranks_close_no_further_than_the_limits_until_the_next_draft_allow() -> None:
    """They would be too heavy for one shelter on the last day before the second draft: two are kept."""
    last = KILL + timedelta(days=20)
    drafts = (Draft(KILL, 2 / 3), Draft(last, 1.0))
    plan = Plan((chicks(drafts=drafts),))
    loose = expect(undying(limits=(at_most("heads", 12),)), plan)
    (alone,) = stands(loose, KILL, sex="cockerel")
    load = loose.places[alone].kg_per_m2
    day = loose.index(last) - 1
    limits = (at_most("heads", 12), at_most("kg_per_m2", (load[day] + load[day - 1]) / 2))
    assert len(stands(expect(undying(limits=limits), plan), KILL, sex="cockerel")) == 2


def test_birds_drafted_before_sorting_leave_the_others_together() -> None:
    early = SORT - timedelta(days=10)
    season = expect(undying(), Plan((chicks(drafts=(Draft(early, 0.5), Draft(KILL, 1.0))),)))
    assert place(season, early - DAY) == pytest.approx({"s1": 72.0})
    assert place(season, early) == pytest.approx({"s1": 54.0})
    assert place(season, early, sex="cockerel") == pytest.approx({"s1": 18.0})
    assert place(season, SORT, sex="cockerel") == pytest.approx({"s2": 18.0})


def test_pullets_taken_before_sorting_or_housing_leave_the_others_where_they_are() -> None:
    outs = (Out("a", SORT - DAY, 0.5), Out("a", HOUSE - DAY, 0.5))
    season = expect(undying(), Plan((chicks(),), outs=outs))
    assert place(season, SORT - DAY) == pytest.approx({"s1": 54.0})
    assert place(season, HOUSE - DAY) == pytest.approx({"s1": 9.0})
    assert place(season, HOUSE) == pytest.approx({"coop": 9.0})
    assert float(season.killed.sum()) == pytest.approx(36 + 18 + 9)


def test_birds_killed_on_the_day_they_come_are_counted() -> None:
    grown = replace(chicks(), origin="present", arrives_on=KILL, drafts=(Draft(KILL, 1.0),))
    season = expect(undying(), Plan((grown,)))
    assert stands(season, KILL, sex="cockerel") == set()
    assert float(season.killed[:, season.index(KILL)].sum()) == pytest.approx(36.0)
    assert sums(undying(), season).bought == pytest.approx(72.0)


def test_drafts_from_before_the_birds_came_are_past() -> None:
    grown = replace(chicks(), origin="present", arrives_on=KILL + DAY)
    season = expect(undying(), Plan((grown,)))
    assert float(season.killed.sum()) == 0.0
    assert sum(place(season, KILL + timedelta(days=30), sex="cockerel").values()) == pytest.approx(36.0)


# 6. Houses


def two_houses(**changes: object) -> Farm:
    houses = {"coop": MobileHouse("coop", 10.0), "ark": MobileHouse("ark", 6.0)}
    return undying(houses=houses, limits=(at_most("heads_per_m2", 5.0, "house"),), **changes)


def house_of(*batches: Batch) -> list[str | None]:
    return [batch.house for batch in complete(two_houses(), Plan(batches)).batches]


def test_pullets_go_to_the_house_they_name_else_the_first_with_room_else_the_one_passed_least() -> None:
    assert house_of(chicks(house="ark"), chicks("b")) == ["ark", "coop"]
    assert house_of(chicks(heads=60), chicks("b", heads=40), chicks("c", heads=40)) == ["coop", "coop", "ark"]
    # 30 + 50 hens over room for 50, or 50 over room for 30: the first is passed less.
    assert house_of(chicks(heads=60), chicks("b", heads=100)) == ["coop", "coop"]


def test_without_a_house_pullets_stay_at_grass() -> None:
    gone = {"coop": MobileHouse("coop", 40.0, until=HOUSE)}
    for houses in ({}, gone):
        season = expect(undying(houses=houses), Plan((chicks(),)))
        assert stands(season, HOUSE, sex="pullet") == {"s1"}


# The order of one day


def test_the_birds_that_stand_over_a_limit_come_before_new_ones() -> None:
    """A shelter is given up on the day on which one party waits for it and another comes."""
    kit = undying(shelters=sheds((3.0, 3.0), (3.0, 3.0)), limits=(at_most("heads", 40),))
    leaves = cockerels_alone("a", HATCH)
    waits = cockerels_alone("b", KILL - timedelta(days=40))
    comes = cockerels_alone("c", KILL - timedelta(days=28))
    season = expect(kit, Plan((leaves, comes, waits)))
    assert stands(season, KILL - DAY, "b") == {"east"}
    assert stands(season, KILL, "b") == {"s1"}
    assert stands(season, KILL, "c") == {"s2"}


def test_of_two_parties_that_come_together_the_first_in_the_plan_chooses_first() -> None:
    for names in (("a", "b"), ("b", "a")):
        season = expect(undying(), Plan(tuple(chicks(name) for name in names)))
        assert [stands(season, TURNOUT, name) for name in names] == [{"s1"}, {"s2"}]


# Stays written in the plan


def test_written_heads_are_put_where_they_are_written_and_the_rest_by_floor() -> None:
    shelters = sheds((3.0, 3.0), (4.0, 3.0), (2.0, 3.0))
    until = TURNOUT + timedelta(days=10)
    stays = (
        Stay("x", "a", None, "s1", TURNOUT, until, heads=18),
        Stay("y", "a", None, "s2", TURNOUT, until),
        Stay("z", "a", None, "s3", TURNOUT, until),
    )
    season = expect(undying(shelters=shelters), Plan((chicks(),), stays=stays))
    assert place(season, TURNOUT) == pytest.approx({"s1": 18.0, "s2": 36.0, "s3": 18.0})
    assert place(season, until) == pytest.approx({"s1": 72.0})


def test_written_heads_that_do_not_sum_to_the_birds_are_proportions() -> None:
    until = TURNOUT + timedelta(days=10)
    stays = tuple(
        Stay(name, "a", None, name, TURNOUT, until, heads=heads) for name, heads in (("s4", 10), ("s5", 20))
    )
    season = expect(undying(), Plan((chicks(),), stays=stays))
    assert place(season, TURNOUT) == pytest.approx({"s4": 24.0, "s5": 48.0})


def test_days_that_no_written_stay_covers_are_filled_by_the_rules() -> None:
    five = timedelta(days=5)
    stays = (
        Stay("x", "a", None, "s5", TURNOUT + five, TURNOUT + 2 * five),
        Stay("y", "a", None, "s6", TURNOUT + 3 * five, TURNOUT + 4 * five),
    )
    season = expect(undying(), Plan((chicks(),), stays=stays))
    where = [next(iter(stands(season, TURNOUT + n * five))) for n in range(5)]
    assert where == ["s1", "s5", "s1", "s6", "s1"]


def test_a_shelter_written_for_one_batch_is_not_given_to_another() -> None:
    kept = Stay("x", "b", None, "s1", TURNOUT + timedelta(days=3), SORT)
    season = expect(undying(), Plan((chicks(), chicks("b", brooder="west")), stays=(kept,)))
    assert stands(season, TURNOUT) == {"s2"}


# Limits


def test_a_limit_of_one_shelter_stands_before_that_of_its_kind() -> None:
    roomy = (at_most("heads", 10), at_most("heads", 100, "s1"))
    assert stands(expect(undying(limits=roomy), Plan((chicks(),))), TURNOUT) == {"s1"}
    tight = (at_most("heads", 100), at_most("heads", 30, "s1"))
    season = expect(undying(limits=tight), Plan((chicks(),)))
    assert stands(season, TURNOUT) == {"s1", "s2", "s3"}
    assert not season.breaches


def test_limits_of_different_quantities_all_hold() -> None:
    limits = (at_most("heads", 100), at_most("heads_per_m2", 5.0, "s1"))
    season = expect(undying(limits=limits), Plan((chicks(),)))
    assert stands(season, TURNOUT) == {"s1", "s2"}


def test_more_moves_a_day_let_more_birds_stand_in_one_shelter() -> None:
    limit = (at_most("kg_n_per_ha_pass", 90.0),)
    often = undying(limits=limit, shelters=sheds(*[(3.35, 3.05)] * 6, moves_per_day=2.0))
    once = undying(limits=limit)
    plan = Plan((chicks(),))
    day = SORT - DAY
    assert len(stands(expect(often, plan), day)) < len(stands(expect(once, plan), day))


def test_a_farm_with_one_brooder_and_nothing_else_still_answers() -> None:
    kit = undying(shelters={}, houses={}, brooders={"only": Brooder("only", 10.0)})
    season = expect(kit, Plan((chicks(),)))
    assert stands(season, HOUSE) == {"only"}
