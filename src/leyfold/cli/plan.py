"""`leyfold plan`: the best plan for a farm, its proof, the season it causes; or the clash in its way."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from errno import EISDIR, ENOENT
from os import strerror
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from leyfold.cli.answer import console, print_json, table, typed
from leyfold.nouns.errors import BadInput, Fault
from leyfold.units import outward
from leyfold.words import say
from leyfold.words.forms import day
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.nouns.farm import Holding
    from leyfold.nouns.plan import Batch
    from leyfold.nouns.planned import Clash, Planned
    from leyfold.plan.why import Forced
    from leyfold.services.grass import GrassTaken
    from leyfold.services.plan import PlanAnswer

__all__ = ["plan"]

NO_PLAN = 3


def plan(
    farm: Path,
    *,
    chance: float | None = None,
    seconds: float | None = None,
    out: Path | None = None,
    why: Annotated[list[str] | None, Parameter(negative=())] = None,
    at: datetime | None = None,
    json: bool = False,
) -> int:
    """Make the best plan: dates, eggs, places, killing days, kept within every limit and wish.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    chance
        How sure every wish must be, between 0 and 1; else as the farm wishes.
    seconds
        The most the search may take; the answer says when it was stopped by that.
    out
        Write the plan into this file; the farm's own plan.toml may be it.
    why
        A set of the plan by name: what a week earlier or later, or doing without, would cost.
    at
        Plan as of this instant, as 2027-02-01T08:00; else now.
    json
        Print one JSON object instead of tables.
    """
    from leyfold.farm.plan_file import PLAN_FILE
    from leyfold.nouns.planned import Clash
    from leyfold.plan.make import SECONDS
    from leyfold.services.plan import plan_for, save_plan

    instant = datetime.now(UTC) if at is None else at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)
    if out is not None:
        _refuse_nowhere(out)
    if sys.stderr.isatty():
        # Minutes without a word look like a fault.
        print(say("plan.begun", seconds=spoken(seconds or SECONDS, 0)), file=sys.stderr, flush=True)
    answer = plan_for(farm, instant, chance=chance, seconds=seconds, why=why or ())
    if out is not None and answer.text is not None:
        save_plan(answer, out)
    if json:
        _print_json(answer)
    else:
        page = console()
        clashed = isinstance(answer.outcome, Clash)
        for part in _clash(answer) if clashed else _planned(answer):
            page.print(part, soft_wrap=True, markup=False)
        for note in answer.notes:
            page.print(note, soft_wrap=True, markup=False)
        if answer.text is not None:
            own = answer.opened.texts.folder / PLAN_FILE
            page.print(_next(farm, own, out), soft_wrap=True, markup=False)
    return NO_PLAN if isinstance(answer.outcome, Clash) else 0


def _refuse_nowhere(out: Path) -> None:
    """BadInput before the search, not after it, where no file can be written at `out`."""
    wrong = ENOENT if not out.absolute().parent.is_dir() else EISDIR if out.is_dir() else None
    if wrong is not None:
        said = say("plan.out", out=out, error=strerror(wrong))
        raise BadInput(Fault("leyfold plan", "--out", said, say("plan.out_mend")))


def _next(farm: Path, own: Path, out: Path | None) -> str:
    """How to keep the plan, or where it is and how to look at it."""
    if out is None:
        return say("plan.keep", farm=typed(farm), plan=typed(own))
    if out.resolve() == own.resolve():
        return say("plan.written_own", out=out, farm=typed(farm))
    return say("plan.written", out=typed(out), farm=typed(farm))


def _clash(answer: PlanAnswer) -> Iterator[str]:
    from leyfold.cli.ways_page import ways_lines
    from leyfold.nouns.planned import Clash

    clash = answer.outcome
    assert isinstance(clash, Clash)
    yield _clash_head(clash)
    for one in clash.reasons:
        yield f"  {one.said}"
    if clash.hit_limit:
        yield say("plan.stopped")
    yield from ways_lines(clash, answer.farm)


def _clash_head(clash: Clash) -> str:
    from leyfold.plan.clash import OFFERS

    if not clash.reasons:
        return say("plan.not_found")
    if any(one.group == OFFERS for one in clash.reasons):
        return say("plan.clash_offers")
    return say("plan.clash" if clash.irreducible else "plan.clash_unsure")


def _planned(answer: PlanAnswer) -> Iterator[str | Table]:
    from leyfold.cli.season import said, weekly
    from leyfold.nouns.planned import Planned
    from leyfold.season.sums import sums
    from leyfold.season.weeks import weeks
    from leyfold.services.season import SeasonAnswer

    outcome = answer.outcome
    assert isinstance(outcome, Planned)
    assert answer.season is not None
    language = answer.farm.holding.language
    yield from _headline(answer, outcome)
    yield _sets(answer, outcome)
    for leaving in outcome.plan.outs:
        yield say("plan.leave", batch=leaving.batch, on=day(leaving.on, language))
    yield _wishes(answer, outcome)
    if answer.grass is not None:
        yield from _grass(answer.grass, answer.farm.holding)
    if outcome.binding:
        named = [g for g in outcome.binding if not g.startswith("wish:")]
        yield say("plan.binding")
        yield from (f"  {say(f'plan.group_{group}')}" for group in named)
    for one in answer.why:
        yield from _why(one, answer)
    season = answer.season
    caused = SeasonAnswer(answer.farm, season, weeks(season), sums(answer.farm, season), answer.opened.sha256)
    yield weekly(caused)
    yield from said(caused)


def _headline(answer: PlanAnswer, outcome: Planned) -> Iterator[str]:
    holding = answer.farm.holding

    def money(amount: float) -> str:
        return f"{spoken(amount, 2, holding.language)} {holding.currency}"

    yield say("plan.margin", margin=money(outcome.objective))
    if answer.without_hours is not None:
        yield say("plan.margin_without", margin=money(answer.without_hours))
    more, bound = money(abs(outcome.bound - outcome.objective)), money(outcome.bound)
    if outcome.gap == 0.0:
        yield say("plan.proven")
    elif outcome.gap < 0.0:
        yield say("plan.beyond", bound=bound, more=more)
    else:
        if outcome.gap < 1.0:
            yield say("plan.gap", bound=bound, gap=spoken(100 * outcome.gap, 1, holding.language), more=more)
        else:  # A share of next to nothing tells nobody anything.
            yield say("plan.gap_wide", bound=bound, more=more)
    if outcome.hit_limit:
        yield say("plan.stopped")


def _sets(answer: PlanAnswer, outcome: Planned) -> Table:
    language = answer.farm.holding.language
    several = len(answer.farm.lines) > 1
    steps = ("set", "eggs", "hatch", "incubator", "brooder", "turnout", "sort", "kill", "house")
    keys = ("batch", *(("line",) if several else ()), *steps)
    page = table(say("plan.sets"), [(say(f"plan.head_{key}"), key == "eggs") for key in keys])
    for batch in outcome.completed.batches:
        if batch.origin == "set" and batch.set_on is not None:
            page.add_row(
                batch.id,
                *((batch.line,) if several else ()),
                day(batch.set_on, language),
                str(batch.eggs),
                day(batch.hatched_on, language),
                batch.incubator or "",
                batch.brooder or "",
                *(day(on, language) if on else "" for on in (batch.turnout_on, batch.sort_on)),
                _killing(batch, language),
                f"{day(batch.house_on, language)} {batch.house}" if batch.house_on and batch.house else "",
            )
    return page


def _killing(batch: Batch, language: str) -> str:
    if len(batch.drafts) == 1:
        return day(batch.drafts[0].on, language)
    shares = [f"{spoken(100 * d.share)} %" if d.share < 1.0 else say("plan.rest") for d in batch.drafts]
    return ", ".join(f"{day(d.on, language)} ({s})" for d, s in zip(batch.drafts, shares, strict=True))


def _wishes(answer: PlanAnswer, outcome: Planned) -> Table:
    language = answer.farm.holding.language
    heads = [(say(f"plan.head_{key}"), key != "wish") for key in ("wish", "day", "chance", "asked", "mean")]
    page = table(say("plan.wishes"), heads)
    for wish, row in zip(answer.farm.wishes, outcome.chances, strict=True):
        page.add_row(
            wish.id,
            day(row.on, language),
            f"{spoken(100 * row.chance, 1, language)} %",
            f"{spoken(100 * wish.chance, 0, language)} %",
            spoken(row.mean, 1, language),
        )
    return page


def _grass(grass: GrassTaken, holding: Holding) -> Iterator[str]:
    def told(m2: float) -> str:
        return spoken(outward(m2, "m2", holding.lengths)[0], 0, holding.language)

    unit, takes = say(f"plan.area_{holding.lengths}"), told(grass.takes_m2)
    if grass.known is None or grass.there_m2 is None:
        yield say("plan.grass_unknown", takes=takes, unit=unit)
    else:
        yield say(f"plan.grass_{grass.known}", takes=takes, unit=unit, there=told(grass.there_m2))
    if grass.nets_m2:
        yield say("plan.grass_nets", nets=told(grass.nets_m2), unit=unit)


def _why(one: Forced, answer: PlanAnswer) -> Iterator[str]:
    holding = answer.farm.holding
    yield say("plan.why", batch=one.batch, on=day(one.on, holding.language))
    for other in one.others:
        on = day(other.on, holding.language) if other.on else ""
        how = say(f"plan.why_{other.how}", on=on)
        if other.costs is not None:
            amount = f"{spoken(abs(other.costs), 2, holding.language)} {holding.currency}"
            key = "why_more" if other.costs < 0 else "why_costs" if other.proven else "why_costs_about"
            yield f"  {how} {say(f'plan.{key}', amount=amount)}"
        elif other.reasons:
            yield f"  {how} {say('plan.why_clash')}"
            yield from (f"    {reason.said}" for reason in other.reasons)
        else:
            yield f"  {how} {say('plan.why_unsure')}"


def _print_json(answer: PlanAnswer) -> None:
    from dataclasses import asdict

    from leyfold.cli.ways_page import ways_data
    from leyfold.nouns.planned import Clash
    from leyfold.services.grass import inputs_sha256

    outcome = answer.outcome
    data: dict[str, Any]
    if isinstance(outcome, Clash):
        data = {
            "plan": None,
            "clash": {
                "said": _clash_head(outcome),
                "reasons": [asdict(reason) for reason in outcome.reasons],
                "irreducible": outcome.irreducible,
                "ways": ways_data(outcome),
            },
            "hit_limit": outcome.hit_limit,
        }
    else:
        data = {
            "plan": answer.text,
            "batches": [_plain(asdict(batch)) for batch in outcome.completed.batches],
            "stays": [_plain(asdict(stay)) for stay in outcome.completed.stays],
            "outs": [_plain(asdict(leaving)) for leaving in outcome.plan.outs],
            "margin": outcome.objective,
            "margin_without_own_hours": answer.without_hours,
            "bound": outcome.bound,
            "gap": outcome.gap,
            "hit_limit": outcome.hit_limit,
            "rounds": outcome.rounds,
            "seconds": outcome.seconds,
            "solver": outcome.solver,
            "binding": list(outcome.binding),
            "chances": [_plain(asdict(row)) for row in outcome.chances],
            "grass": None if answer.grass is None else asdict(answer.grass),
            "why": [_plain(asdict(one)) for one in answer.why],
        }
    data["notes"] = list(answer.notes)
    print_json("plan", data, inputs_sha256=inputs_sha256(answer.opened), seed=0)


def _plain(value: Any) -> Any:
    """Dates as ISO, tuples as lists."""
    from datetime import date

    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value
