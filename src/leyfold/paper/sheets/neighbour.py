"""One page from which a neighbour can run the farm tomorrow."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from leyfold.nature import cautions as harm
from leyfold.nouns.round import Call
from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    beside,
    big,
    cautions,
    cell,
    fitted,
    heading,
    items,
    says,
    table,
    ticks,
    title,
)
from leyfold.paper.sheets.day import stopped, warned
from leyfold.paper.sheets.ready import Party, Ready, foot
from leyfold.paper.sheets.week import fed, moves_of
from leyfold.round.fences import moved
from leyfold.round.shown import Shown
from leyfold.season.alarms import dead_in_a_day
from leyfold.words import say

__all__ = ["neighbour"]

STEPS = ("look", "move", "feed", "water", "dead")
STEPS_HENS = ("let_out", "eggs", "fence")
EVENING = ("doors", "count", "weather")
RING = ("dead", "signs", "water", "fox", "blown", "unsure")


def neighbour(ready: Ready) -> Sheet:
    """Work of the sheet's day, in walking order: the youngest first."""
    shown = ready.shown
    parties = ready.parties(ready.on)
    name = say("paper.neighbour", day=shown.weekday(ready.on))
    return Sheet(
        title=name,
        foot=foot(ready, say("paper.neighbour_kind")),
        blocks=(
            title(name, say("paper.neighbour_sub", farm=ready.farm.holding.name)),
            big(*_sums(ready, parties)),
            *(stopped(ready.morning) if ready.morning is not None else ()),
            fitted(*_round(ready, parties), least_pt=7.0),
        ),
    )


def _sums(ready: Ready, parties: list[Party]) -> Iterator[tuple[str, str]]:
    """What the table beneath adds up to: birds, their places, their water and feed."""
    shown = ready.shown
    if ready.morning is None:
        birds = sum(p.heads for p in parties)
        places = len(parties)
        water_l = sum(p.water_l for p in parties)
        feed_kg = sum(kg for p in parties for _, kg in p.feeds)
    else:
        calls = [c for c in ready.morning.calls if c.parties]
        birds, places = sum(c.heads for c in calls), len(calls)
        water_l = sum(c.water.litres for c in calls if c.water is not None)
        feed_kg = sum(feed.kg for c in calls for feed in c.feeds)
    yield shown.heads(birds), say("paper.big_birds")
    yield shown.n(places), say("paper.big_places")
    yield shown.water(water_l), say("paper.big_water_day")
    yield shown.mass(feed_kg), say("paper.big_feed_day")


def _round(ready: Ready, parties: list[Party]) -> Iterator[Block]:
    shown = ready.shown
    if ready.morning is not None:
        yield from warned(ready.morning)
    if not parties:
        yield says(say("paper.nobody"))
    else:
        yield heading(say("paper.walk"))
        yield table(
            [
                Column("", "l"),
                Column(say("paper.head_place"), "l", "2fr"),
                Column(say("paper.head_birds")),
                # Long words get a share of the page: as wide as they like they push the others together.
                Column(say("paper.head_move"), "c")
                if ready.morning is None
                else Column(say("paper.head_move"), "l", "3fr"),
                Column(say("paper.head_feed"), "l"),
                Column(say("paper.head_water"), "l"),
                Column(say("paper.head_ring_from")),
            ],
            [_row(ready, i, p) for i, p in enumerate(parties, 1)]
            if ready.morning is None
            else [_called(shown, i, c) for i, c in enumerate(ready.morning.calls, 1)],
        )
    due = ready.due(ready.on, ready.on + timedelta(days=1))
    if due:
        yield heading(say("paper.due_today"))
        yield ticks(ready.told(task, dated=False) for task in due)
    # Feed is off birds that are to be killed: where nobody comes, somebody has to know.
    killing = ("kill",) if any(task.kind == "kill" for task in due) else ()
    hens = STEPS_HENS if any(p.kind == "house" for p in parties) else ()
    yield beside(
        (
            heading(say("paper.each_place")),
            ticks(say(f"paper.step_{step}") for step in (*STEPS, *hens)),
            heading(say("paper.evening")),
            ticks(say(f"paper.step_{step}") for step in EVENING),
        ),
        (
            heading(say("paper.ring")),
            items(say(f"paper.ring_{why}") for why in (*killing, *RING)),
            table(
                [Column("", "l"), Column("", "l", "1fr")],
                [[say(f"paper.phone_{who}"), ""] for who in ("farm", "vet", "power")],
            ),
            cautions(
                say("paper.cautions"),
                (say(harm.STOP_ORDER), say("paper.caution_move"), say("paper.caution_fence")),
            ),
        ),
    )


def _row(ready: Ready, number: int, p: Party) -> list[Cell]:
    shown, moves = ready.shown, moves_of(ready, p)
    batch = next(
        b
        for b in ready.season.plan.batches
        if b.id in {lot.batch for lot in ready.season.lots if lot.place == p.place}
    )
    alarm = dead_in_a_day(ready.farm, batch, p.heads, p.youngest_d)
    return [
        shown.n(number),
        cell(bold=p.place, sub=p.who),
        cell(large=shown.heads(p.heads)),
        cell(tick=moves) if moves else "",
        fed(ready, p),
        cell(shown.water(p.water_l), tick=1),
        "" if alarm is None else say("paper.dead_from", number=alarm),
    ]


def _called(shown: Shown, number: int, call: Call) -> list[Cell]:
    """The same of a place on the round: where its birds stand before the day's work, and where it goes."""
    eggs = call.kind == "incubator"
    return [
        shown.n(number),
        cell(bold=call.number, sub=call.who),
        cell(
            large=shown.n((call.eggs if eggs else call.heads) or 0),
            sub=say("paper.day_eggs_in") if eggs else None,
        ),
        {"parts": [cell(check.said, tick=1) for check in call.checks]}
        if eggs
        else cell(tick=1 if call.move is None else call.move.times, sub=moved(call))
        if moved(call)
        else "",
        {"parts": [cell(feed.said, tick=1) for feed in call.feeds]} if call.feeds else "",
        "" if call.water is None else cell(call.water.said, tick=1),
        "" if call.ring_at is None else say("paper.dead_from", number=call.ring_at),
    ]
