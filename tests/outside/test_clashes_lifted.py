"""What a clash says, asked of the planner itself: with everything else let go in the farm's file there still
is no plan, and with any one thing named let go as well there is one.

Farms drawn at random. The first six were answered wrongly once: what was named left a plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import pytest

from leyfold.nouns.farm import Farm
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.record import State
from leyfold.plan import make
from leyfold.plan.checker import check
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.share import taken_joins
from random_farms import Size, random_farm

MORE, WIDER = 5, 50.0


def planning(**free: Any) -> Callable[[Farm], Farm]:
    return lambda farm: replace(farm, planning=replace(farm.planning, **free))


def copies(farm: Farm, kind: str, **changes: Any) -> Farm:
    """MORE of each of a kind of kit, all there all year."""
    kits: Any = {
        f"{name}-{i}": replace(kit, id=f"{name}-{i}", since=None, until=None, **changes)
        for name, kit in getattr(farm, kind).items()
        for i in range(MORE)
    }
    return replace(farm, **{kind: kits})


def wide(farm: Farm, kind: str) -> Farm:
    kits: Any = {
        name: replace(kit, floor_m2=WIDER * kit.floor_m2, since=None, until=None)
        for name, kit in getattr(farm, kind).items()
    }
    return replace(farm, **{kind: kits})


LIFTS: dict[str, Callable[[Farm], Farm]] = {
    "set_days": planning(set_from=None, set_until=None, set_weekdays=WEEKDAYS),
    "grass": planning(grass_from=None, grass_until=None),
    "killing_days": planning(kill_weekdays=WEEKDAYS, closed=()),
    "killing": planning(kill_a_day=None),
    "freezer": planning(freezer_kg=None),
    "ground": planning(ground_m2=None),
    "hours": lambda farm: replace(farm, people={}, planning=replace(farm.planning, busy=())),
    "pen": lambda farm: replace(farm, pens={}),
    "lamps": lambda farm: replace(
        farm, brooders={name: replace(kit, lamps=()) for name, kit in farm.brooders.items()}
    ),
    "brooders": lambda farm: planning(mixed_ages_d=None)(wide(farm, "brooders")),
    "house": lambda farm: wide(farm, "houses"),
    "incubators": lambda farm: copies(farm, "incubators", hatcher_eggs=None),
    "shelters": lambda farm: copies(farm, "shelters"),
}


def let_go(farm: Farm, groups: Iterable[str]) -> Farm:
    """The farm without what the groups name."""
    named = set(groups)
    for group, lift in LIFTS.items():
        if group in named:
            farm = lift(farm)
    return replace(farm, wishes=tuple(wish for wish in farm.wishes if f"wish:{wish.id}" not in named))


@pytest.mark.parametrize(
    ("size", "seed", "named"),
    [
        ("tiny", 19, {"set_days", "grass", "wish:table"}),
        ("tiny", 102, {"grass", "wish:table"}),
        ("tiny", 138, {"set_days", "incubators", "pen", "shelters", "wish:table"}),
        ("small", 14, {"grass", "wish:table"}),
        ("small", 115, {"grass", "wish:table"}),
        ("tiny", 11, {"set_days", "grass", "brooders", "wish:table"}),
    ],
)
def test_what_is_named_leaves_no_plan_and_less_leaves_one(
    size: Size, seed: int, named: set[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = random_farm(seed, size)
    farm = made.farm
    plan = made.plan(farm)

    def asked(farm: Farm) -> Planned | Clash:
        return solve_problem(posed(farm, State(), plan, made.at(plan)), seconds=600.0).outcome

    clash = asked(farm)
    assert isinstance(clash, Clash)
    assert clash.irreducible
    assert {reason.group for reason in clash.reasons} == named
    others = {*LIFTS, *(f"wish:{wish.id}" for wish in farm.wishes)} - named
    alone = asked(let_go(farm, others))
    assert isinstance(alone, Clash)
    assert alone.reasons, "nothing was proven"
    # Any plan will do: none better is looked for.
    monkeypatch.setattr(make, "EFFORT", 0.0)
    for group in named:
        assert isinstance(asked(let_go(farm, {*others, group})), Planned), group


def test_a_farm_short_of_a_shelter_fits_where_birds_share() -> None:
    """With a shelter of its own for each party its sets, pens and shelters clash with its wish."""
    made = random_farm(110, "small")
    farm = made.farm
    plan = made.plan(farm)
    answer = solve_problem(posed(farm, State(), plan, made.at(plan)), seconds=600.0)
    assert isinstance(answer.outcome, Planned)
    assert taken_joins(answer.model, answer.solved.values or ())
    assert not check(farm, answer.outcome.completed)
