"""A farm small enough to be planned at once, and what the planner answers for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from farms import farm as plain_farm
from farms import line as plain_line
from leyfold.nouns.farm import Brooder, Farm, Incubator, Lamp, MobileHouse, Shelter, Wish
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.planning import Planning
from leyfold.nouns.record import State
from leyfold.plan.make import make_plan

AT = datetime(2027, 3, 1, 6, tzinfo=UTC)
SPAN = Plan((), first=date(2027, 3, 1), last=date(2027, 12, 26))
PRICES = {
    "carcass": 18.0, "pullet": 26.0, "old_hen": 5.0, "egg": 0.4, "hatching_egg": 0.8, "day_old": 4.0,
    "killing": 3.5, "labour": 6.0, "electricity": 0.3,
}  # fmt: skip
ASKED: dict[str, Any] = {
    "tray": 12, "stored_d": 6, "set_from": date(2027, 3, 8), "set_until": date(2027, 4, 12),
}  # fmt: skip
TABLE = Wish("table", "table birds", 6, date(2027, 8, 20), 0.8)


def small_farm(*wishes: Wish, asked: dict[str, Any] | None = None, **changes: Any) -> Farm:
    """Four shelters of two sizes, one machine, one brooder, one house; `asked` goes into [planning]."""
    made = plain_farm(
        lines={"tawny": plain_line(turnout_d=35, kill_d=98, house_d=140)},
        incubators={"box": Incubator("box", 48)},
        brooders={"shed": Brooder("shed", 6.0, (Lamp(250.0, "a"), Lamp(250.0, "b")))},
        shelters={f"s{i}": Shelter(f"s{i}", 2.0 + 0.5 * (i % 2), 3.0, 0.6) for i in range(4)},
        houses={"coop": MobileHouse("coop", 20.0)},
        prices=PRICES,
        wishes=wishes,
        planning=Planning(**{**ASKED, **(asked or {})}),
    )
    feeds = {name: replace(feed, price_per_kg=0.55) for name, feed in made.feeds.items()}
    return replace(made, feeds=feeds, **changes)


def asked_too_much() -> Farm:
    """One box of 24 eggs, three weeks to set in, and a wish for more birds than can come of it."""
    return small_farm(
        Wish("table", "table birds", 12, date(2027, 8, 20), 0.8),
        asked={"set_until": date(2027, 3, 24)},
        incubators={"box": Incubator("box", 24)},
        shelters={f"s{i}": Shelter(f"s{i}", 3.0, 3.0, 0.6) for i in range(4)},
        limits=(*(x for x in plain_farm().limits if x.scope in ("shelter", "brooder", "house")),),
    )


def planned(farm: Farm, plan: Plan = SPAN) -> Planned:
    """The plan that is made for the farm."""
    answer = make_plan(farm, None, State(), plan, AT, seconds=60)
    assert isinstance(answer, Planned), answer
    return answer


def clash(farm: Farm, plan: Plan = SPAN) -> set[str]:
    """The groups of the clash, which is one of the fewest."""
    answer = make_plan(farm, None, State(), plan, AT, seconds=60)
    assert isinstance(answer, Clash), answer
    assert answer.irreducible
    assert all(one.said for one in answer.reasons)
    return {one.group for one in answer.reasons}
