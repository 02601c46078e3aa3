"""Ways out, part by part: a plan carried to another farm, the smallest of some sizes, birds bought, less of a
wish besides a change, what has no room at all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import inf

import pytest

from leyfold.nouns.farm import Incubator, Shelter, Wish
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.planned import Clash, WayOut
from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.carry import carried_over
from leyfold.plan.checker import check
from leyfold.plan.levels import first_guess, least_guess
from leyfold.plan.linear import Linear
from leyfold.plan.make import posed, solve_problem, solved
from leyfold.plan.share import taken_joins
from leyfold.plan.ways.bought import day_olds, near_lay
from leyfold.plan.ways.changes import Change, both, changes, fewer
from leyfold.plan.ways.kit import incubator_more
from leyfold.plan.ways.lesser import lesser, under
from leyfold.plan.ways.near import nearest, wishing
from leyfold.plan.ways.needed import Need, loosened, needed
from leyfold.plan.ways.out import ways_out
from leyfold.plan.ways.sized import smallest
from leyfold.plan.ways.tried import Found, Question, judged
from planned_farms import AT, SPAN, asked_too_much, small_farm

TABLE = Wish("table", "table birds", 8, date(2027, 8, 20), 0.8)
FLOCK = Wish("flock", "pullets", 30, date(2027, 8, 20), 0.8)


def found_for(wish: Wish, **planning: object) -> tuple[WayOut, ...]:
    farm = asked_too_much()
    farm = replace(farm, wishes=(wish,), planning=replace(farm.planning, **planning))  # type: ignore[arg-type]
    answer = solved(farm, State(), SPAN, AT, seconds=60)
    assert isinstance(answer.outcome, Clash)
    return ways_out(farm, State(), SPAN, AT, answer, seconds=60)


def question(*wishes: Wish) -> Question:
    farm = replace(asked_too_much(), wishes=wishes)
    problem = posed(farm, State(), SPAN, AT)
    return Question(build(problem, least_guess(problem)), SPAN, State(), AT, 0)


def test_a_plan_is_carried_to_a_farm_with_a_machine_more_and_back() -> None:
    ask = question(replace(TABLE, number=3))
    answer = solve_problem(ask.problem)
    values = answer.solved.values
    assert values is not None
    farm, _ = incubator_more(ask.problem.farm, 12, AT.date())
    wider = posed(farm, State(), SPAN, AT)
    model = build(wider, answer.levels)
    assert len(model.linear.low) > len(answer.model.linear.low)
    there = carried_over(answer.model, values, model)
    assert there is not None
    assert model.linear.holds(there)
    assert carried_over(model, there, answer.model) == values


def test_a_plan_that_breaks_a_limit_elsewhere_is_not_carried() -> None:
    ask = question(replace(TABLE, number=3))
    answer = solve_problem(ask.problem)
    values = answer.solved.values
    assert values is not None
    more = build(ask.problem, dict.fromkeys(answer.levels, 40.0))
    assert carried_over(answer.model, values, more) is None
    assert carried_over(answer.model, values, more, but=["wish:table"]) is not None


def test_the_nearest_plan_misses_by_no_more_than_one_found_without_a_start() -> None:
    ask = question(replace(TABLE, number=40))
    model = wishing(ask.model, ask.problem, first_guess(ask.problem))
    fresh = nearest(model, ["wish:table"], left=lambda: 20.0)
    assert fresh is not None
    again = nearest(model, ["wish:table"], start=fresh[0], left=lambda: 20.0)
    assert again is not None
    assert 0.0 < again[1][0] <= fresh[1][0] < 1.0
    poor = answer_of_few(ask)
    begun = nearest(model, ["wish:table"], start=poor, left=lambda: 20.0)
    assert begun is not None
    assert begun[1][0] <= fresh[1][0] + 0.02  # wherever it begins


def answer_of_few(ask: Question) -> tuple[int, ...]:
    few = solve_problem(replace(ask.problem, farm=replace(ask.problem.farm, wishes=())))
    assert few.solved.values is not None
    return few.solved.values


def test_a_change_is_made_no_larger_than_its_plan_needs() -> None:
    """Of rooms for 2, 4, 6 ... birds more on a killing day, the smallest in which the plan still is one."""
    ask = question(TABLE)
    farm = replace(
        ask.problem.farm,
        planning=replace(ask.problem.farm.planning, kill_a_day=1, set_from=None, set_until=None),
    )
    problem = posed(farm, State(), SPAN, AT)
    ask = replace(ask, model=build(problem, least_guess(problem)))
    family = [
        Change(
            f"killing:{n}", f"{n}", "killing",
            replace(farm, planning=replace(farm.planning, kill_a_day=1 + n)), SPAN, sized=True,
        )
        for n in range(2, 40, 2)
    ]  # fmt: skip
    model = judged(ask, family[-1], seconds=5.0)
    assert model is not None
    large = under(ask, family[-1], model, (TABLE,), None, left=lambda: 20.0)
    assert large is not None
    small = smallest(ask, large, family)
    assert small.change in family[:-1]
    at = family.index(small.change)
    assert small.model.linear.holds(small.values)
    assert at == 0 or not holds(small, ask, family[at - 1])


def holds(found: Found, ask: Question, change: Change) -> bool:
    model = judged(ask, change, seconds=5.0)
    return model is not None and (
        carried_over(found.model, found.values, wishing(model, model.problem, found.kept.levels)) is not None
    )


def test_where_more_of_one_thing_does_not_suffice_less_is_wished_besides() -> None:
    """Killing on one weekday alone, two birds a day: room for one more brings five, not eight."""
    ways = found_for(TABLE, kill_a_day=2, kill_weekdays=("friday",))
    with_less = [w for w in ways if w.id.startswith("killing:") and "+fewer:table" in w.id]
    for way in with_less:
        assert way.verified
        assert way.farm.planning.kill_a_day is not None
        assert way.farm.planning.kill_a_day > 2
        assert 0 < way.farm.wishes[0].number < 8
    assert with_less


def test_two_changes_as_one() -> None:
    farm = replace(asked_too_much(), wishes=(TABLE,))
    one = Change("x", "more of x", "x", farm, SPAN)
    two = both(one, fewer(farm, SPAN, {"table": 3}))
    assert two.farm.wishes[0].number == 3
    assert two.id == "x+fewer:table:3"
    assert "more of x" in two.said
    assert "3 birds" in two.said
    assert not two.given_up


def test_what_has_no_room_at_all_may_be_loosened() -> None:
    linear = Linear()
    x = linear.number(10)
    linear.row({x: 4}, most=0, group="room")
    linear.row({x: 1}, least=5, group="wish:five")
    need = needed(linear, "room", seconds=5.0)
    assert need is not None
    assert need.share == pytest.approx(0.5)  # of the 40 that could be asked of it
    linear.row({x: 1}, most=0, group="days")
    assert needed(linear, "wish:five", seconds=5.0) == Need(1.0, pytest.approx(0.0005))
    soft, _ = loosened(linear, ["days"])
    assert soft.rows[-1].terms == {x: 1}  # a way forbidden is no room


def test_nothing_may_be_killed_is_no_proof_that_more_helps_nobody() -> None:
    ways = found_for(replace(TABLE, number=3), kill_a_day=0)
    assert not any(way.shut and way.id == "any:killing" for way in ways)
    more = next(way for way in ways if way.id.startswith("killing:"))
    assert more.verified
    assert any(way.id == "fewer:table:0" and way.verified for way in ways)


def test_day_olds_go_through_their_steps_in_time() -> None:
    farm = asked_too_much()
    last = SPAN.last
    assert last is not None
    found = list(day_olds(farm, SPAN, TABLE, 0.5, AT.date(), last))
    for coming in found:
        batch = coming.batch
        assert batch.origin == "bought"
        assert batch.arrives_on == batch.hatched_on >= AT.date() + timedelta(days=14)
        assert batch.turnout_on is not None
        assert batch.hatched_on < batch.turnout_on < batch.drafts[-1].on <= TABLE.on
        assert sum(batch.heads.values()) % 12 == 0
        # Half are pullets: twice the four birds wanted, and some for chance and deaths.
        assert batch.heads["cockerel"] > 4
    assert {coming.batch.arrives_on for coming in found} > {TABLE.on - timedelta(days=98)}
    # On Saturdays alone, and wished for by a Friday: killed a fortnight sooner, on the next of them.
    planning = replace(farm.planning, kill_weekdays=("saturday",))
    sooner = next(iter(day_olds(replace(farm, planning=planning), SPAN, TABLE, 0.5, AT.date(), last)))
    assert sooner.batch.drafts[-1].on == date(2027, 8, 7)
    assert found[0].terms == ()
    unpriced = replace(farm, prices={n: p for n, p in farm.prices.items() if n != "day_old"})
    (term,) = next(iter(day_olds(unpriced, SPAN, TABLE, 0.5, AT.date(), last))).terms
    assert term.money is None
    soon = replace(TABLE, on=AT.date() + timedelta(days=60))
    assert not list(day_olds(farm, SPAN, soon, 0.5, AT.date(), last))


def test_where_nothing_lacks_but_whole_sets_some_are_bought() -> None:
    farm, last = asked_too_much(), SPAN.last
    assert last is not None
    assert all(sum(c.batch.heads.values()) >= 12 for c in day_olds(farm, SPAN, TABLE, 0.0, AT.date(), last))
    (few, more) = near_lay(farm, SPAN, FLOCK, 0.0, AT.date())
    assert 0 < few.batch.heads["pullet"] < more.batch.heads["pullet"]


def test_what_is_never_sure_is_not_let_go() -> None:
    """No bird is certain: with less of a chance the wish is kept, and nobody is told to give it up."""
    ways = found_for(replace(TABLE, number=3, chance=1.0))
    sure = next(way for way in ways if way.id.startswith("chance:table"))
    assert sure.verified
    assert 0.5 <= sure.farm.wishes[0].chance < 1.0
    assert not any(way.id == "fewer:table:0" for way in ways)


def test_hens_in_lay_are_bought_for_eggs_wanted_soon() -> None:
    farm = asked_too_much()
    soon = Wish("eggs", "eggs a day", 10, AT.date() + timedelta(days=21), 0.8)
    first = next(iter(near_lay(farm, SPAN, soon, 1.0, AT.date())))
    lays = farm.lines["tawny"].point_of_lay_d.value
    assert (first.batch.arrives_on - first.batch.hatched_on).days > lays
    assert first.batch.heads["pullet"] * 0.75 >= 10
    late = replace(soon, on=AT.date() + timedelta(days=90))
    young = next(iter(near_lay(farm, SPAN, late, 1.0, AT.date())))
    assert (young.batch.arrives_on - young.batch.hatched_on).days < lays
    assert not list(near_lay(farm, SPAN, TABLE, 1.0, AT.date()))


def test_day_olds_are_a_way_out_for_the_table() -> None:
    """Three weeks to set in bring five; sixty chicks from elsewhere bring the rest of thirty."""
    ways = found_for(replace(TABLE, number=30))
    way = next(w for w in ways if w.id.startswith("day_olds:"))
    assert way.verified
    assert way.planned is not None
    (bought,) = (b for b in way.planned.completed.batches if b.origin == "bought")
    assert bought.drafts[-1].on <= TABLE.on
    assert check(way.farm, way.planned.completed) == ()


def test_birds_bought_that_break_a_limit_by_themselves_are_no_way_out() -> None:
    farm = replace(asked_too_much(), wishes=(TABLE,))
    farm = replace(farm, planning=replace(farm.planning, kill_a_day=2))
    problem = posed(farm, State(), SPAN, AT)
    ask = Question(build(problem, least_guess(problem)), SPAN, State(), AT, 0)

    def with_chicks(n: float) -> Change:
        batch = Batch(
            "day-olds", "tawny", "bought", date(2027, 5, 3), date(2027, 5, 3),
            heads={"pullet": n, "cockerel": n}, drafts=(Draft(date(2027, 8, 9), 1.0),),
        )  # fmt: skip
        return Change("day_olds", "", "wish:table", farm, Plan((batch,), first=SPAN.first, last=SPAN.last))

    assert judged(ask, with_chicks(1.0), seconds=5.0) is not None
    assert judged(ask, with_chicks(9.0), seconds=5.0) is None


def test_birds_that_share_shelters_bring_more_of_a_wish() -> None:
    """Three shelters: two sets of two parties each want four, unless those of one sex share."""
    farm = small_farm(
        asked={"set_until": date(2027, 3, 15), "set_weekdays": ("monday",)},
        shelters={f"s{i}": Shelter(f"s{i}", 1.3, 1.0, 0.6) for i in range(1, 4)},
        incubators={name: Incubator(name, 12) for name in ("box", "chest")},
        wishes=(replace(TABLE, number=30),),
    )
    problem = posed(farm, State(), SPAN, AT)
    model = build(problem, least_guess(problem))
    most = []
    for shared in (False, True):
        ask = Question(model, SPAN, State(), AT, 0, shared)
        (found, *_) = lesser(ask, farm.wishes, [first_guess(problem)], left=lambda: 30.0)
        most.append(found.change.farm.wishes[0].number)
        assert bool(taken_joins(found.model, found.values)) is shared
        assert not any(row.short for row in found.kept.held)
    assert most[1] > most[0]


def test_more_is_looked_for_from_the_least_that_any_plan_needs_to_twice_that() -> None:
    farm = replace(asked_too_much(), planning=replace(asked_too_much().planning, kill_a_day=10))
    (family,) = changes(farm, SPAN, ["killing"], {"killing": Need(0.5)}, AT.date(), date(2027, 12, 31))
    sizes = [(one.farm.planning.kill_a_day or inf) - 10 for one in family]
    assert sizes == sorted(set(sizes))
    assert sizes[0] == 5
    assert sizes[-1] == 10
    assert all(one.sized for one in family)
