"""plan.toml as a Plan: every date and age written there, nothing filled in (`season.complete` does that)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any, cast

from leyfold.farm.faults import Page, open_page
from leyfold.farm.locate import Path
from leyfold.farm.plan_sense import look_through
from leyfold.farm.schema_plan import BoughtTable, PlanTable, PresentTable, StayTable
from leyfold.farm.texts import Text, Texts
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.nouns.stock import Line, Sex

__all__ = ["PLAN_FILE", "parse_plan", "read_plan", "read_shape"]

PLAN_FILE = "plan.toml"

FOR_GOOD = timedelta(days=3 * 365)
"""How long birds present stay in a laying house unless the plan says otherwise: longer than any season."""


def read_plan(texts: Texts, farm: Farm) -> Plan:
    """The plan in plan.toml. BadInput with every fault found."""
    return parse_plan(texts.read(PLAN_FILE), farm)


def read_shape(texts: Texts) -> None:
    """Look at the form of plan.toml alone, where there is no farm to hold it against. BadInput as above."""
    page = open_page(texts.read(PLAN_FILE))
    page.fits(PlanTable, {})
    page.done()


def parse_plan(text: Text, farm: Farm) -> Plan:
    """The plan that a text says. BadInput with every fault found."""
    page = open_page(text)
    given = page.fits(PlanTable, {"measures": farm.measures, "currency": farm.holding.currency})
    plan = None if given is None else _plan(page, farm, given)
    if plan is not None:
        look_through(page, farm, plan)
    page.done()
    return cast(Plan, plan)


def _plan(page: Page, farm: Farm, given: PlanTable) -> Plan | None:
    batches: dict[str, Batch | None] = {}
    places: dict[str, str] = {}
    for table, tables in (("set", given.sets), ("bought", given.bought), ("present", given.present)):
        for i, birds in enumerate(tables):
            path: Path = (table, i)
            if birds.id in batches:
                page.fault((*path, "id"), "id_twice", name=birds.id)
                continue
            line = farm.lines.get(birds.line)
            if line is None:
                page.refers((*path, "line"), birds.line, farm.lines, "line")
            batches[birds.id] = None if line is None else _batch(page, path, table, birds, line)
            if isinstance(birds, PresentTable) and birds.place is not None:
                places[birds.id] = birds.place
    known = {name: batch for name, batch in batches.items() if batch is not None}
    for table, names in (("stay", [s.batch for s in given.stay]), ("out", [o.batch for o in given.out])):
        for i, name in enumerate(names):
            page.refers((table, i, "batch"), name, batches, "batch")
    written = [_stay(s, known[s.batch], i) for i, s in enumerate(given.stay) if s.batch in known]
    present = [
        stay
        for name, place in places.items()
        if name in known
        for stay in _present_stays(farm, known[name], place, [s for s in written if s.batch == name])
    ]
    return Plan(
        batches=tuple(known.values()),
        stays=(*present, *written),
        outs=tuple(
            Out(o.batch, cast(date, _day(o.on, known[o.batch].hatched_on)), o.share)
            for o in given.out
            if o.batch in known
        ),
        first=given.first,
        last=given.last,
    )


def _batch(page: Page, path: Path, table: str, given: Any, line: Line) -> Batch | None:
    own: dict[str, Any] = {}
    if table == "set":
        hatched = given.on + timedelta(days=round(line.incubation_d.value))
        own = {
            "arrives_on": hatched,
            "set_on": given.on,
            "eggs": given.eggs,
            "stored_d": round(given.stored or 0),
            "incubator": given.incubator,
        }
    else:
        heads = _heads(page, path, given, line)
        hatch_day = _hatched(page, path, given)
        if heads is None or hatch_day is None:
            return None
        hatched = hatch_day
        own = {"arrives_on": given.on, "heads": heads}
    return Batch(
        id=given.id,
        line=given.line,
        origin=cast(Any, table),
        hatched_on=hatched,
        turnout_on=_day(given.turnout, hatched),
        sort_on=_day(given.sort, hatched),
        house_on=_day(given.to_house, hatched),
        drafts=tuple(Draft(cast(date, _day(k.on, hatched)), k.share) for k in given.kill),
        brooder=given.brooder,
        house=given.house,
        ring=given.ring,
        **own,
    )


def _day(when: date | int | None, hatched: date) -> date | None:
    """A date as written, or the day of an age."""
    return hatched + timedelta(days=when) if isinstance(when, int) else when


def _hatched(page: Page, path: Path, given: BoughtTable | PresentTable) -> date | None:
    if isinstance(given, BoughtTable):
        return given.on - timedelta(days=round(given.age or 0))
    if (given.hatched is None) == (given.age is None):
        page.fault(path, "present_age")
        return None
    return given.hatched or given.on - timedelta(days=round(given.age or 0))


def _heads(
    page: Page, path: Path, given: BoughtTable | PresentTable, line: Line
) -> Mapping[Sex, float] | None:
    pullets = given.pullets
    if isinstance(given, PresentTable) and given.hens is not None:
        if pullets is not None:
            page.fault((*path, "hens"), "hens_twice")
            return None
        pullets = given.hens
    chicks = given.chicks if isinstance(given, BoughtTable) else None
    if chicks is not None:
        if pullets is not None or given.cockerels is not None:
            page.fault((*path, "chicks"), "heads_twice")
            return None
        share = line.share_pullets.value
        return {"pullet": chicks * share, "cockerel": chicks * (1 - share)}
    if pullets is None and given.cockerels is None:
        page.fault(path, "heads_none")
        return None
    return {"pullet": pullets or 0.0, "cockerel": given.cockerels or 0.0}


def _present_stays(farm: Farm, batch: Batch, place: str, written: Sequence[Stay]) -> list[Stay]:
    """Birds present stay where they are until a stay in the plan takes them on, else until the step of
    their age that ends a time in such a place."""
    gone = batch.arrives_on + FOR_GOOD
    line = farm.lines[batch.line]
    stays = []
    for sex, heads in batch.heads.items():
        until = min((s.first for s in written if s.sex in (None, sex)), default=None)
        if until is None:
            until = _place_ends(farm, batch, place, line, sex) or gone
            until = until if until > batch.arrives_on else gone
        if heads > 0 and until > batch.arrives_on:
            stay = Stay(
                f"{batch.id}.{sex}.{place}", batch.id, sex, place, batch.arrives_on, until, heads=heads
            )
            stays.append(stay)
    return stays


def _place_ends(farm: Farm, batch: Batch, place: str, line: Line, sex: Sex) -> date | None:
    def step(day: date | None, age_d: float) -> date:
        return day or batch.hatched_on + timedelta(days=round(age_d))

    if place in farm.houses:
        return None
    if place in farm.brooders:
        return step(batch.turnout_on, line.turnout_d.value)
    if sex == "pullet":
        return step(batch.house_on, line.house_d.value)
    return max((d.on for d in batch.drafts), default=step(None, line.kill_d.value))


def _stay(given: StayTable, batch: Batch, index: int) -> Stay:
    return Stay(
        id=given.id or f"stay{index + 1}",
        batch=given.batch,
        sex=given.sex,
        place=given.place,
        first=cast(date, _day(given.since, batch.hatched_on)),
        until=cast(date, _day(given.until, batch.hatched_on)),
        heads=given.heads,
    )
