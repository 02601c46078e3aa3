"""Hollow Ash: a farm of our own invention with little to spare, and its year as planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

from farms import mine
from leyfold.nouns.farm import Bin, Brooder, Cattle, Farm, Incubator, MobileHouse, Person, Shelter, Wish
from leyfold.nouns.orders import Order, WeightClass
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.planning import Planning
from leyfold.nouns.record import Record
from leyfold.nouns.replanned import Replanned
from leyfold.plan.replan.replan import replan
from leyfold.plan.replan.suppose import suppose
from money import PRICES, priced
from seasons import bought, hatch

SHELTERS = {f"s{i}": Shelter(f"s{i}", 3.0, 3.0, 0.7, 95.0) for i in range(1, 4)}

HOLLOW_ASH: Farm = replace(
    priced({**PRICES, "shelter": 400.0, "shelter_timber": 150.0}),
    shelters=SHELTERS,
    incubators={"box": Incubator("box", 120)},
    brooders={"barn": Brooder("barn", 9.0), "loft": Brooder("loft", 6.0)},
    houses={"coop": MobileHouse("coop", 24.0)},
    people={
        "ida": Person("ida", "Ida", "farmer", 3.0),
        "tor": Person("tor", "Tor", "helper", 1.0),
    },
    cattle={"herd": Cattle("herd", 6, 10.0)},
    bins={"tower": Bin("tower", "grower", 3000.0, has_kg=700.0, delivery_d=6, lorry_least_kg=300.0)},
    wishes=(
        Wish("flock", "pullets", 52, date(2027, 9, 20), 0.9),
        Wish("freezer", "table birds", 20, date(2027, 7, 1), 0.8),
    ),
    weight_classes=(WeightClass("small", 1.0), WeightClass("large", 1.6)),
    orders=(
        Order("inn", "inn", 10, date(2027, 6, 25), deposit=40.0),
        Order("fair", "fair", 12, date(2027, 8, 20), deposit=60.0),
    ),
    planning=Planning(tray=6),
)


def year() -> Plan:
    """Three sets, the last of them not before the middle of May, and the hens of last year."""
    hens = replace(
        bought("old", date(2026, 4, 20), 30, 0),
        origin="present",
        arrives_on=date(2027, 1, 4),
        turnout_on=date(2026, 5, 20),
        sort_on=date(2026, 6, 20),
        house_on=date(2026, 9, 20),
        house="coop",
    )
    return Plan(
        (
            hens,
            hatch("early", date(2027, 2, 8), 84, incubator="box", brooder="barn", house="coop"),
            hatch(
                "middle",
                date(2027, 3, 22),
                84,
                incubator="box",
                brooder="loft",
                house="coop",
                drafts=(Draft(date(2027, 7, 19), 0.5), Draft(date(2027, 8, 2), 1.0)),
            ),
            hatch("late", date(2027, 5, 17), 60, incubator="box", brooder="barn", house="coop"),
        ),
        first=date(2027, 1, 4),
        last=date(2028, 1, 2),
    )


def evening(day: str) -> datetime:
    return datetime.fromisoformat(f"{day}T16:00").replace(tzinfo=UTC)


def after(
    day: str, *what: str, farm: Farm = HOLLOW_ASH, plan: Plan | None = None, records: Sequence[Record] = ()
) -> Replanned:
    """The answer of an evening on which `what` is said."""
    plan = plan or year()
    today = date.fromisoformat(day)
    return replan(farm, plan, records, evening(day), [suppose(farm, plan, text, today) for text in what])


__all__ = ["HOLLOW_ASH", "Batch", "after", "evening", "mine", "year"]
