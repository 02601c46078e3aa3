"""A plan made for a farm: what is written in plan.toml, the season it causes, and what binds its choices."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from leyfold.farm.plan_file import PLAN_FILE
from leyfold.farm.plan_write import plan_text, write_plan
from leyfold.farm.schema import FarmTable
from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.season import Season
from leyfold.plan.answer import Answer
from leyfold.plan.asked import horizon
from leyfold.plan.make import solved
from leyfold.plan.unpriced import unpriced
from leyfold.plan.ways.out import LEAST_S as LEAST_WAYS_S
from leyfold.plan.ways.out import SECONDS as WAYS_S
from leyfold.plan.ways.out import ways_out
from leyfold.plan.why import Forced, forced
from leyfold.reckoning.reckon import reckon
from leyfold.season.expect import expect
from leyfold.services.grass import GrassTaken, on_grass, own_grass
from leyfold.services.opened import Opened, open_farm
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

NAME = 40
FAR_MORE = 2.0
"""Times a wish from which it is said that the plan brings more of it."""
LEAST_S = 0.05
"""Seconds for planning once more, on the grass there is, where the cap has been reached."""

__all__ = ["PlanAnswer", "plan_for", "save_plan", "written_plan"]


@dataclass(frozen=True, slots=True)
class PlanAnswer:
    """`season` and `grass` are None where no plan fits; `why` answers the choices asked about; `notes` say
    what the farm file does not, and the plan is therefore not held to. `without_hours`: the margin were own
    work free; None where no hour has a price."""

    farm: Farm
    outcome: Planned | Clash
    season: Season | None
    why: tuple[Forced, ...]
    text: str | None
    opened: Opened
    notes: tuple[str, ...] = ()
    grass: GrassTaken | None = None
    without_hours: float | None = None


def plan_for(
    where: Path,
    at: datetime,
    *,
    chance: float | None = None,
    seconds: float | None = None,
    seed: int = 0,
    why: Sequence[str] = (),
) -> PlanAnswer:
    """The best plan of the farm in `where` from the instant `at` on, with every wish at `chance` where given.

    BadInput for files that cannot be read, a farm that lacks what any plan needs, a `chance` or `seconds`
    that is none, or a choice in `why` that the plan does not have.
    """
    if chance is not None and not 0.0 < chance < 1.0:
        raise BadInput(Fault("leyfold plan", "--chance", say("plan.chance"), say("plan.chance_mend")))
    if seconds is not None and not 0.0 < seconds < float("inf"):
        raise BadInput(Fault("leyfold plan", "--seconds", say("plan.seconds"), say("plan.seconds_mend")))
    opened = open_farm(where, at)
    farm = own_grass(opened)
    if chance is not None:
        farm = replace(farm, wishes=tuple(replace(wish, chance=chance) for wish in farm.wishes))
    began = time.monotonic()

    def ask(farm: Farm) -> Answer:
        left = None if seconds is None else max(seconds - (time.monotonic() - began), LEAST_S)
        return solved(farm, opened.state, opened.ahead, at, seconds=left, seed=seed)

    try:
        farm, answer, grass = on_grass(opened, farm, ask)
    except BadInput as wrong:
        raise BadInput(*_all_lacking(farm, opened, at, wrong.faults)) from None
    outcome = answer.outcome
    if isinstance(outcome, Clash):
        allowed = WAYS_S if seconds is None else seconds
        left = max(allowed - (time.monotonic() - began), min(allowed, LEAST_WAYS_S))
        capped = seconds is not None
        ways = ways_out(farm, opened.state, opened.ahead, at, answer, seconds=left, capped=capped, seed=seed)
        return PlanAnswer(farm, replace(outcome, ways=ways), None, (), None, opened, _notes(farm))
    alone = written_plan(opened, outcome.plan)
    # Where a batch is present, its place is said by `place` in the farmer's file, by a stay of its own here.
    alone = replace(alone, stays=tuple(replace(s, id=s.id.replace(".", "-")[:NAME]) for s in alone.stays))
    text = plan_text(farm, alone, say("plan.head", farm=farm.holding.name))
    reasons = tuple(forced(answer, choice, seconds=seconds, seed=seed) for choice in why)
    season = expect(farm, outcome.completed)
    free = reckon(farm, season, own_hours=False).total() if "labour" in farm.prices else None
    notes = *_notes(farm), *_far_more(farm, outcome)
    return PlanAnswer(farm, outcome, season, reasons, text, opened, notes, grass, free)


def _notes(farm: Farm) -> tuple[str, ...]:
    notes = []
    if not farm.wishes:
        notes.append(say("plan.note_wishes"))
    elif not farm.houses and any(wish.what != "table birds" for wish in farm.wishes):
        notes.append(say("plan.note_house"))
    if all(person.hours_per_day is None for person in farm.people.values()):
        notes.append(say("plan.note_hours"))
    return tuple(notes)


def _far_more(farm: Farm, outcome: Planned) -> Iterator[str]:
    """Wishes of which the plan brings so many that somebody must ask who takes the rest."""
    for wish, row in zip(farm.wishes, outcome.chances, strict=True):
        again = (row.on - wish.on).days // wish.every_d if wish.every_d and wish.what != "eggs a day" else 0
        wanted = wish.number * (1 + again)
        if row.mean > FAR_MORE * wanted:
            key = "plan.note_more_table" if wish.what == "table birds" else "plan.note_more_hens"
            on = spoken_day(row.on, farm.holding.language)
            yield say(key, wish=wish.id, mean=round(row.mean), number=wanted, on=on)


def _all_lacking(farm: Farm, opened: Opened, at: datetime, faults: Sequence[Fault]) -> list[Fault]:
    """What stopped the planner and every price it would ask for next, in the order of the farm file."""
    prices = unpriced(farm, horizon(farm, opened.ahead, civil(at, farm.holding.zone)))
    tables = list(FarmTable.model_fields)

    def place(fault: Fault) -> tuple[str, int]:
        table = fault.field.partition(".")[0].partition("[")[0]
        return fault.file, tables.index(table) if table in tables else len(tables)

    return sorted(dict.fromkeys((*faults, *prices)), key=place)


def written_plan(opened: Opened, planned: Plan) -> Plan:
    """What plan.toml is to say: the farmer's own words on birds and eggs that are there, and the plan for all
    days to come."""
    day = opened.state.day
    if day is None:
        return planned
    own = {batch.id: batch for batch in opened.plan.batches}
    # Flocks that stay where they are keep the words of the farmer, which name no stay by number.
    as_said = {stay.batch for stay in planned.stays if "." in stay.id}
    there = {batch.id for batch in planned.batches} - as_said
    past = [
        replace(stay, until=min(stay.until, day))
        for stay in opened.plan.stays
        if stay.batch in there and stay.first < day
    ]
    return replace(
        planned,
        batches=tuple(own.get(batch.id, batch) for batch in planned.batches),
        stays=(
            *(stay for stay in opened.plan.stays if stay.batch in as_said),
            *past,
            *(stay for stay in planned.stays if stay.batch not in as_said),
        ),
        first=opened.plan.first,
    )


def save_plan(answer: PlanAnswer, out: Path) -> None:
    """Write the plan into `out`; the farm's own plan.toml keeps its comments, and its former version is
    kept beside it. BadInput where nothing can be written there, or the file has changed since."""
    assert isinstance(answer.outcome, Planned)
    assert answer.text is not None
    opened = answer.opened
    own = opened.texts.folder / PLAN_FILE
    if out.resolve() == own.resolve():
        sha = opened.texts.read(PLAN_FILE).sha
        write_plan(opened.texts, answer.farm, written_plan(opened, answer.outcome.plan), sha)
        return
    try:
        out.write_text(answer.text, encoding="utf-8")
    except OSError as error:
        wrong = say("plan.out", out=out, error=error.strerror or error)
        raise BadInput(Fault("leyfold plan", "--out", wrong, say("plan.out_mend"))) from None
