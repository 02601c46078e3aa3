"""`leyfold replan`: what became of the plan when something happened, and what to do before dark."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from leyfold.cli.answer import console, print_json, table, when
from leyfold.nouns.clock import wall
from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say
from leyfold.words.forms import day as spoken_day
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.console import RenderableType

    from leyfold.nouns.replanned import Alive, Mend, Replanned

__all__ = ["replan"]

MANY = 12
"""Rows of one table at most."""


def replan(
    farm: Path,
    *,
    what: Annotated[list[str] | None, Parameter(name="--if")] = None,
    at: str | None = None,
    out: Path | None = None,
    json: bool = False,
) -> int:
    """Who is alive where, which promise breaks first, what mends it at what price, and what to do today.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    what
        Something that happened or may happen, besides the records; as often as there are things:
        "dead 30 in s2", "s3 lost", "housing from 2027-06-01", "no killing 2027-06-14",
        "grass from 2027-05-20", "order o-2 cancelled", "hatch of march is 40", "no feed until 2027-06-10".
    at
        Look from this time instead of now: 2027-05-12T18:00, by the farm's clock unless it says an offset.
    out
        Write the plan of the first mend to this file, which must not be there yet.
    json
        Print one JSON object.
    """
    from leyfold.services.replan import replan_farm, write_mend
    from leyfold.services.replan_records import records

    answer = replan_farm(farm, datetime.now(UTC) if at is None else when(at, farm), what or ())
    found = answer.replanned
    if out is not None:
        if not found.mends:
            raise BadInput(
                Fault("leyfold replan", "--out", say("replan.out_none"), say("replan.out_none_mend"))
            )
        write_mend(found.mends[0], found.day, out)
    if json:
        print_json("replan", records(found), inputs_sha256=answer.inputs_sha256, seed=0)
        return 0
    page = console()
    for part in _page(found, told=bool(found.facts or answer.opened.records)):
        page.print(part, soft_wrap=isinstance(part, str), markup=False)
    if out is not None:
        page.print(say("replan.out_written", path=out), soft_wrap=True, markup=False)
    return 0


# --- the page ------------------------------------------------------------------------------------------


def _page(found: Replanned, *, told: bool) -> Iterator[RenderableType]:
    language = found.farm.holding.language
    yield say("replan.title", farm=found.farm.holding.name, day=spoken_day(found.day, language))
    if found.facts:
        yield say("replan.facts", facts="; ".join(found.facts))
    if not told:
        yield say("replan.nothing_told")
    yield ""
    yield from _first(found, told=told)
    yield from _listed(_by_dark(found), found.today)
    yield from _mends(found)
    yield from _listed(say("replan.head_numbers"), [n.said for n in found.numbers])
    yield from _alive(found)
    yield from _odds(found)
    yield from _listed(say("replan.head_learn"), found.learn)
    yield from _listed(say("replan.head_unsure"), found.unsure)
    yield from _listed(say("replan.head_cautions"), found.cautions)


def _first(found: Replanned, *, told: bool) -> Iterator[RenderableType]:
    from rich.text import Text

    language = found.farm.holding.language
    new = [b for b in found.broken if not b.before]
    if found.stop:
        yield Text(found.stop, "bold red")
    if found.first is None:
        if not found.stop:
            yield Text(say("replan.holds"), "bold green")
    elif new:
        on = spoken_day(found.first.first, language)
        yield Text(say("replan.first", on=on, said=found.first.said), "bold red")
    else:
        yield Text(say("replan.no_new"), "bold green")
    for one in [b for b in new if b is not found.first][:MANY]:
        yield say("replan.also", said=one.said)
    for one in [b for b in found.broken if b.before][:MANY]:
        yield say("replan.already", said=one.said)
    # Where nothing happened the two differ by whole birds for parts of birds alone.
    if told and found.lost is not None and not found.stop:
        key = "same" if abs(found.lost) < 0.5 else "lost" if found.lost >= 0 else "gained"
        yield say(
            f"replan.{key}", money=spoken(abs(found.lost), 0, language), currency=found.farm.holding.currency
        )
    yield ""


def _by_dark(found: Replanned) -> str:
    """The head over what must be done, with the sunset it must be done by."""
    if found.dark_at is None:
        return say("replan.head_today")
    clock = f"{wall(found.dark_at, found.farm.holding.zone):%H:%M}"
    return say("replan.head_before_dark" if found.at <= found.dark_at else "replan.head_tonight", at=clock)


def _listed(head: str, sentences: Sequence[str]) -> Iterator[RenderableType]:
    if sentences:
        from rich.text import Text

        yield Text(head, "bold")
        yield from (f"  - {sentence}" for sentence in sentences)
        yield ""


def _mends(found: Replanned) -> Iterator[RenderableType]:
    if not found.mends:
        if found.first is not None:
            yield say("replan.no_mend", tried=found.tried)
            yield ""
        return
    currency = found.farm.holding.currency
    heads = [
        (say("replan.column_mend"), False),
        (say("replan.column_cost", currency=currency), True),
        (say("replan.column_verified"), False),
        (say("replan.column_leaves"), False),
    ]
    page = table(say("replan.mends", tried=found.tried), heads)
    named = {b.id: b for b in found.broken}
    for m in found.mends:
        left = [i for i in m.leaves if not (i in named and named[i].before)]
        page.add_row(
            m.said,
            _cost(found, m),
            say("replan.not" if not m.verified else "replan.yes_first" if left else "replan.yes"),
            "; ".join(_left(left, m)) or "-",
        )
    yield page
    if any(t.guess for m in found.mends for t in m.terms):
        yield say("replan.guess_note")
        yield ""


def _left(left: Sequence[str], mend: Mend) -> Iterator[str]:
    """What a mend leaves broken, what it breaks, and what the checker finds in it, who tells of limits with
    their days."""
    from leyfold.plan.replan.told import promise

    yield from map(promise, left)
    broken = [one for one in mend.new if not (mend.found and one.startswith("limit:"))]
    yield from (say("replan.breaks", what=promise(one)) for one in broken)
    yield from mend.found


def _cost(found: Replanned, mend: Mend) -> str:
    if mend.cost is None:
        return say("replan.no_price")
    value = spoken(mend.cost, 0, found.farm.holding.language)
    return say("replan.guessed", cost=value) if any(t.guess for t in mend.terms) else value


def _alive(found: Replanned) -> Iterator[RenderableType]:
    language = found.farm.holding.language
    heads = [(say(f"replan.column_{name}"), name in ("heads", "age", "weight")) for name in ALIVE]
    page = table(say("replan.alive", heads=spoken(sum(a.heads for a in found.alive), 0, language)), heads)
    for a in found.alive:
        page.add_row(*_row(a, language))
    yield page


ALIVE = ("place", "batch", "sex", "heads", "age", "weight")


def _row(a: Alive, language: str) -> tuple[str, ...]:
    sex = say(f"replan.sex_{a.sex or 'unsorted'}")
    weight = spoken(a.weight_kg, 2, language)
    return a.place, a.batch, sex, spoken(a.heads, 0, language), spoken(a.age_d, 0, language), weight


def _odds(found: Replanned) -> Iterator[RenderableType]:
    if not found.odds:
        return
    best = next((m for m in found.mends if m.verified), None)
    after = {o.wish: o.now for o in best.odds} if best is not None else {}
    names = ("wish", "wished", "before", "now", "mended")
    page = table(say("replan.odds"), [(say(f"replan.column_{name}"), name != "wish") for name in names])
    for o in found.odds:
        chances = (o.wished, o.before, o.now, after.get(o.wish))
        page.add_row(o.wish, *("-" if c is None else f"{100 * c:.0f} %" for c in chances))
    yield page
