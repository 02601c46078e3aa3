"""A farm that has no plan: it wishes for more than it can bring."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from farms import farm as plain_farm
from farms import line as plain_line
from leyfold.nouns.farm import Brooder, Farm, Incubator, Lamp, MobileHouse, Shelter, Wish
from leyfold.nouns.plan import Plan
from leyfold.nouns.planning import Planning

__all__ = ["AT", "PRICES", "SPAN", "asked_too_much"]

AT = datetime(2027, 3, 1, 6, tzinfo=UTC)
SPAN = Plan((), first=date(2027, 3, 1), last=date(2027, 12, 26))
PRICES = {
    "carcass": 18.0, "pullet": 26.0, "old_hen": 5.0, "egg": 0.4, "hatching_egg": 0.8, "day_old": 4.0,
    "killing": 3.5, "labour": 6.0, "electricity": 0.3,
}  # fmt: skip


def asked_too_much() -> Farm:
    """One box of 24 eggs, three weeks to set in, and a wish for more birds than can come of it."""
    made = plain_farm(
        lines={"tawny": plain_line(turnout_d=35, kill_d=98, house_d=140)},
        incubators={"box": Incubator("box", 24)},
        brooders={"shed": Brooder("shed", 6.0, (Lamp(250.0, "a"), Lamp(250.0, "b")))},
        shelters={f"s{i}": Shelter(f"s{i}", 3.0, 3.0, 0.6) for i in range(4)},
        houses={"coop": MobileHouse("coop", 20.0)},
        limits=(*(x for x in plain_farm().limits if x.scope in ("shelter", "brooder", "house")),),
        prices=PRICES,
        wishes=(Wish("table", "table birds", 12, date(2027, 8, 20), 0.8),),
        planning=Planning(tray=12, stored_d=6, set_from=date(2027, 3, 8), set_until=date(2027, 3, 24)),
    )
    return replace(made, feeds={n: replace(f, price_per_kg=0.55) for n, f in made.feeds.items()})
