"""What no plan can be followed with: things named that the farm lacks, steps that run backwards, hunger.

Files have been through the same sieve, with the line of each fault; plans made in code come here first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import pairwise

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm, Kit
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.stock import SEXES, Line
from leyfold.words import say

__all__ = ["PLAN", "ordered", "sound"]

PLAN = "plan.toml"


def sound(farm: Farm, plan: Plan) -> None:
    """Raises BadInput with every fault of a plan that is not dated yet."""
    faults = [*_names(farm, plan)]
    if not plan.batches and plan.first is None:
        faults.append(Fault(PLAN, "first", say("season.no_days"), say("season.no_days_mend")))
    for stay in plan.stays:
        if stay.until <= stay.first:
            wrong = say("farm.stay_order", first=stay.first, until=stay.until)
            faults.append(Fault(PLAN, f"stay.{stay.id}", wrong, say("farm.stay_order_mend")))
    if not faults:
        faults += [fault for batch in plan.batches for fault in _hunger(farm, batch)]
    if faults:
        raise BadInput(*faults)


def ordered(batch: Batch) -> None:
    """Raises BadInput where a dated batch is turned out, sorted or housed before the step before."""
    steps = (
        ("hatch", batch.hatched_on),
        ("turnout", batch.turnout_on),
        ("sort", batch.sort_on),
        ("to_house", batch.house_on),
    )
    faults = [
        Fault(
            PLAN,
            batch.id,
            say("farm.step_order", key=key, day=day, before=before, before_day=before_day),
            say("farm.step_order_mend"),
        )
        for (before, before_day), (key, day) in pairwise(steps)
        if before_day is not None and day is not None and day < before_day
    ]
    if faults:
        raise BadInput(*faults)


def _names(farm: Farm, plan: Plan) -> Iterator[Fault]:
    batches = {batch.id: batch for batch in plan.batches}
    places: Mapping[str, Kit] = {**farm.brooders, **farm.shelters, **farm.houses}
    if len(batches) < len(plan.batches):
        names = [batch.id for batch in plan.batches]
        twice = next(name for name in names if names.count(name) > 1)
        yield Fault(PLAN, twice, say("farm.id_twice", name=twice), say("farm.id_twice_mend"))
    for batch in plan.batches:
        if batch.line not in farm.lines:
            yield _no_such(batch.id, "line", batch.line)
        kits: tuple[tuple[str, str | None, Mapping[str, Kit], date | None], ...] = (
            ("incubator", batch.incubator, farm.incubators, batch.set_on),
            ("brooder", batch.brooder, farm.brooders, batch.arrives_on),
            ("house", batch.house, farm.houses, batch.house_on and max(batch.house_on, batch.arrives_on)),
        )
        for what, name, known, on in kits:
            if name is not None and name not in known:
                yield _no_such(batch.id, what, name)
            elif name is not None and on is not None and not known[name].owned(on):
                wrong = say("farm.not_owned", name=name, on=on)
                yield Fault(PLAN, batch.id, wrong, say("farm.not_owned_mend"))
    for stay in plan.stays:
        if stay.batch not in batches:
            yield _no_such(f"stay.{stay.id}", "batch", stay.batch)
        if stay.place not in places:
            yield _no_such(f"stay.{stay.id}", "place", stay.place)
    for out in plan.outs:
        if out.batch not in batches:
            yield _no_such("out", "batch", out.batch)


def _no_such(field: str, what: str, name: str) -> Fault:
    return Fault(PLAN, field, say("farm.no_such", what=what, name=name), say("farm.no_such_mend"))


def _hunger(farm: Farm, batch: Batch) -> Iterator[Fault]:
    """A bird must find a feed at the youngest age at which it is here."""
    line: Line = farm.lines[batch.line]
    youngest_d = (batch.arrives_on - batch.hatched_on).days
    for sex in SEXES:
        phases = [phase for phase in line.feeding if phase.sex in (None, sex)]
        if not any(phase.from_d <= youngest_d for phase in phases):
            wrong, mend = say("farm.feeding_hunger", sex=sex), say("farm.feeding_hunger_mend")
            yield Fault("farm.toml", f"lines.{line.id}.feeding", wrong, mend)
        for phase in phases:
            if phase.feed not in farm.feeds:
                yield Fault(
                    "farm.toml",
                    f"lines.{line.id}.feeding",
                    say("farm.no_such", what="feed", name=phase.feed),
                    say("farm.no_such_mend"),
                )
