"""The week sheet: what is due, then a table a day with boxes for the pencil."""

from __future__ import annotations

from datetime import date, timedelta

from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    big,
    cell,
    heading,
    lines,
    page_break,
    says,
    table,
    ticks,
    title,
    together,
)
from leyfold.paper.sheets.ready import Party, Ready, foot
from leyfold.words import say

__all__ = ["fed", "moves_of", "week"]

DAYS = 7


def week(ready: Ready) -> Sheet:
    """The week, Monday to Sunday, in which the sheet's day lies."""
    shown, monday = ready.shown, ready.monday
    sunday = monday + timedelta(days=DAYS - 1)
    name = say("paper.week", monday=shown.day(monday), sunday=shown.day(sunday))
    due = ready.due(monday, monday + timedelta(days=DAYS))
    days = [monday + timedelta(days=i) for i in range(DAYS)]
    ahead = ready.due(monday + timedelta(days=DAYS), monday + timedelta(days=2 * DAYS))
    return Sheet(
        title=name,
        foot=foot(ready, name),
        blocks=(
            title(name, ready.farm.holding.name),
            _numbers(ready),
            heading(say("paper.due")),
            ticks(map(ready.told, due)) if due else says(say("paper.due_nothing")),
            *((heading(say("paper.due_next")), ticks(map(ready.told, ahead))) if ahead else ()),
            heading(say("paper.notes")),
            lines(4),
            page_break(),
            *(_day(ready, day) for day in days),
        ),
    )


def _numbers(ready: Ready) -> Block:
    shown = ready.shown
    week = next(w for w in ready.weeks if w.monday == ready.monday)
    return big(
        (shown.heads(week.heads), say("paper.big_birds")),
        (str(week.shelters), say("paper.big_shelters")),
        (shown.mass(sum(week.feed_kg.values())), say("paper.big_feed")),
        (shown.water(week.water_l / DAYS), say("paper.big_water")),
        (shown.heads(week.eggs), say("paper.big_eggs")),
    )


def _day(ready: Ready, day: date) -> Block:
    parties = ready.parties(day)
    due = [ready.told(task, dated=False) for task in ready.due(day, day + timedelta(days=1))]
    shown = [
        Column(say("paper.head_place"), "l", "1fr"),
        Column(say("paper.head_birds")),
        Column(say("paper.head_move"), "c"),
        Column(say("paper.head_dead"), "c", 15),
        Column(say("paper.head_feed"), "l"),
        Column(say("paper.head_water"), "l"),
        Column(say("paper.head_notes"), "l", "1fr"),
    ]
    inside = [table(shown, [_row(ready, party) for party in parties], grid=True)] if parties else []
    if not parties:
        inside = [says(say("paper.nobody"), soft=True)]
    return together(heading(ready.shown.weekday(day)), *([ticks(due)] if due else []), *inside)


def _row(ready: Ready, p: Party) -> list[Cell]:
    shown = ready.shown
    moves = moves_of(ready, p)
    return [
        cell(bold=p.place, sub=p.who),
        cell(large=shown.heads(p.heads)),
        cell(tick=moves) if moves else "",
        "",
        fed(ready, p),
        cell(shown.water(p.water_l), tick=1),
        {"parts": [cell(say("paper.eggs_box"), write_mm=14), cell(say("paper.kv_box"), write_mm=14)]}
        if p.kind == "house"
        else "",
    ]


def fed(ready: Ready, p: Party) -> Cell:
    """A box to tick, then each feed in the farm's measure, its kind and weight beneath."""
    parts = []
    for kind, kg in p.feeds:
        measure, weight = ready.shown.feed(kg)
        small = (
            say("paper.feed_of", kind=kind)
            if measure == weight
            else say("paper.feed_is", kind=kind, kg=weight)
        )
        parts.append(cell(measure, tick=1, sub=small))
    return {"parts": parts}


def moves_of(ready: Ready, p: Party) -> int:
    """How often the place is pulled on in a day; 0 where it stands."""
    shelter = ready.farm.shelters.get(p.place)
    return 0 if shelter is None else max(round(shelter.moves_per_day), 1)
