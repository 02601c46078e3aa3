"""Small seasons in code, for tests of what is drawn and shown: plans for the farms of `farms`."""

from __future__ import annotations

from datetime import date, timedelta

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.season import Season
from leyfold.season.complete import complete
from leyfold.season.expect import expect


def hatch(name: str, set_on: date, eggs: int, **changes: object) -> Batch:
    on = set_on + timedelta(days=21)
    return Batch(
        id=name, line="tawny", origin="set", set_on=set_on, eggs=eggs, hatched_on=on, arrives_on=on, **changes
    )  # type: ignore[arg-type]


def bought(name: str, on: date, pullets: float, cockerels: float) -> Batch:
    heads = {"pullet": pullets, "cockerel": cockerels}
    return Batch(id=name, line="tawny", origin="bought", hatched_on=on, arrives_on=on, heads=heads)


def three() -> Plan:
    """Two sets, one killed in two drafts, and chicks bought."""
    drafts = (Draft(date(2027, 6, 1), 0.5), Draft(date(2027, 6, 14), 1.0))
    return Plan(
        (
            hatch("first", date(2027, 1, 12), 90),
            hatch("second", date(2027, 2, 9), 100, drafts=drafts),
            bought("third", date(2027, 4, 5), 30, 30),
        )
    )


def season(farm: Farm, plan: Plan) -> Season:
    return expect(farm, complete(farm, plan))
