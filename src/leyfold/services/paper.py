"""Sheets for the barn wall, the calendar and the workbook of a farm's season."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, cast

from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.plan import Batch
from leyfold.nouns.season import Season
from leyfold.round.make import MOST_DAYS
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.kill_day import killing_days
from leyfold.season.weeks import weeks
from leyfold.season.work import work
from leyfold.services.opened import Opened, open_farm
from leyfold.services.round import rounds_of
from leyfold.words import say

if TYPE_CHECKING:
    from leyfold.paper.sheets.blocks import Sheet
    from leyfold.paper.sheets.ready import Ready

__all__ = ["KINDS", "Printed", "paper_of"]

KINDS: Mapping[str, str] = {
    **dict.fromkeys(("wall", "week", "shelter", "brooder", "kill", "vet", "neighbour", "day", "mix"), ".pdf"),
    "calendar": ".ics",
    "workbook": ".xlsx",
}
"""What can be made, and the ending of its file."""
SIZES = ("a4", "letter")


@dataclass(frozen=True, slots=True)
class Printed:
    content: bytes
    name: str
    """What the file is called where nobody says otherwise."""
    inputs_sha256: str


def paper_of(
    where: Path,
    kind: str,
    at: datetime,
    *,
    on: date | None = None,
    batch: str | None = None,
    ration: str | None = None,
    size: str = "a4",
) -> Printed:
    """One of `KINDS` for the farm in `where`, as of the instant `at`.

    `on` is a day of the season (else today, or the nearest of its days); `batch` one of its batches; `ration`
    the one to mix (else the farm's first). The same files, day and options give the same bytes. BadInput for
    anything else, and for the farm's own faults.
    """
    _among("kind", kind, KINDS)
    _among("--size", size, SIZES)
    opened = open_farm(where, at)
    farm = opened.farm
    season = expect(farm, complete(farm, opened.ahead))
    day = _day(season, on, civil(at, farm.holding.zone))
    chosen = None if batch is None else _batch(season, batch)
    tasks = work(farm, season)
    name = f"{kind}{KINDS[kind]}"
    if kind == "calendar":
        from leyfold.paper.calendar import calendar

        return Printed(calendar(farm, season, tasks), name, opened.sha256)
    if kind == "workbook":
        from leyfold.paper.workbook import workbook

        return Printed(workbook(farm, season, weeks(season), tasks), name, opened.sha256)
    from leyfold.paper.sheets.printed import Size, pdf
    from leyfold.paper.sheets.ready import Ready

    if kind == "vet" and chosen is None:
        raise _fault("--batch", "no_batch", batches=_names(season))
    if kind == "kill" and not any(d >= day for d in killing_days(tasks, batch)):
        raise _fault("--on", "no_killing", on=day.isoformat())
    ready = Ready(farm, season, weeks(season), tasks, opened.state, day, chosen)
    if kind == "mix":
        return Printed(pdf(_mixed(ready, ration), cast(Size, size)), name, opened.sha256)
    if kind == "day":
        return Printed(pdf(_day_sheet(opened, at, day), cast(Size, size)), name, opened.sha256)
    if kind == "neighbour" and 0 <= (day - civil(at, farm.holding.zone)).days <= MOST_DAYS:
        ready = replace(ready, morning=rounds_of(opened, at, first=day).rounds[0])
    make: Callable[[Ready], Sheet] = getattr(import_module(f"leyfold.paper.sheets.{kind}"), kind)
    return Printed(pdf(make(ready), cast(Size, size)), name, opened.sha256)


def _day_sheet(opened: Opened, at: datetime, on: date) -> Sheet:
    """The sheet of one day. BadInput for a day past or too far ahead."""
    from leyfold.paper.sheets.day import day

    ahead = (on - civil(at, opened.farm.holding.zone)).days
    if not 0 <= ahead <= MOST_DAYS:
        raise _fault("--on", "day_past", on=on.isoformat(), most=str(MOST_DAYS))
    answer = rounds_of(opened, at, first=on)
    morning, evening = answer.rounds
    return day(answer.farm, morning, evening)


def _mixed(ready: Ready, ration: str | None) -> Sheet:
    """The mixing sheet of a ration. BadInput for one there is not, and where no mix fits."""
    from leyfold.paper.ration_sheet import clash_said
    from leyfold.paper.sheets.mix import mix
    from leyfold.services.feed import mixed

    farm = ready.farm
    if ration is None and not farm.rations:
        raise _fault("--ration", "no_ration")
    answer = mixed(farm, ration or next(iter(farm.rations)))
    if answer.batch is None:
        assert answer.clash is not None
        wrong = clash_said(answer.clash, tuple(farm.ingredients.values()), farm.holding.language)
        raise BadInput(Fault("leyfold paper", "--ration", wrong, say("paper.no_mix_mend")))
    return mix(ready, answer.ration.id, answer.batch, answer.needs)


def _day(season: Season, on: date | None, today: date) -> date:
    last = season.day(season.days - 1)
    if on is None:
        return min(max(today, season.first), last)
    if not season.first <= on <= last:
        raise _fault(
            "--on", "outside", on=on.isoformat(), first=season.first.isoformat(), last=last.isoformat()
        )
    return on


def _batch(season: Season, name: str) -> Batch:
    by_name = {b.id: b for b in season.plan.batches}
    _among("--batch", name, by_name)
    return by_name[name]


def _names(season: Season) -> str:
    return ", ".join(b.id for b in season.plan.batches)


def _among(option: str, given: str, there: Iterable[str]) -> None:
    """BadInput, with the nearest of them first, where `given` is none of those `there`."""
    import difflib

    names = list(there)
    if given in names:
        return
    near = difflib.get_close_matches(given, names, n=1, cutoff=0.4)
    wrong = say("paper.unknown", given=given)
    mend = (
        say("paper.unknown_near", near=near[0], names=", ".join(names))
        if near
        else say("paper.unknown_mend", names=", ".join(names))
    )
    raise BadInput(Fault("leyfold paper", option, wrong, mend))


def _fault(option: str, key: str, **words: str) -> BadInput:
    return BadInput(
        Fault("leyfold paper", option, say(f"paper.{key}", **words), say(f"paper.{key}_mend", **words))
    )
