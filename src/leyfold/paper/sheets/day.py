"""The day sheet: a line for each place of the round, with boxes for the pencil, in the order of entry."""

from __future__ import annotations

from collections.abc import Iterator

from leyfold.nouns.farm import Farm
from leyfold.nouns.round import Call, Check, Round
from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    beside,
    cautions,
    cell,
    fitted,
    heading,
    items,
    lines,
    says,
    table,
    ticks,
    title,
    together,
)
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["day", "stopped", "warned"]

BOX_MM = 13.0
NUMBER_MM = 11.0


def day(farm: Farm, morning: Round, evening: Round) -> Sheet:
    """The morning round above, the shut-in beneath it, on one page where that can be read."""
    shown = Shown(farm)
    name = say("paper.day", day=shown.weekday(morning.day))
    return Sheet(
        title=name,
        foot=say("paper.foot", farm=farm.holding.name, sheet=say("paper.day_kind")),
        blocks=(
            title(name, say("paper.day_sub", farm=farm.holding.name, light=morning.light_said)),
            *stopped(morning),
            fitted(*_page(shown, morning, evening), least_pt=6.5, most_pt=11.0),
        ),
    )


def stopped(one: Round) -> Iterator[Block]:
    """Stop-orders, above all else."""
    if one.stops:
        yield cautions(say("ahead.title_stops"), [f"{stop.said} {stop.act}" for stop in one.stops])


def warned(one: Round) -> Iterator[Block]:
    """At most three warnings."""
    if one.warnings:
        yield items(say("paper.day_warning", short=w.short, act=w.act) for w in one.warnings)


def _page(shown: Shown, morning: Round, evening: Round) -> Iterator[Block]:
    yield from warned(morning)
    yield heading(say("paper.day_morning", at=say("paper.day_at"), who=say("paper.day_who")))
    yield table(
        _morning_columns(), [_morning_row(shown, n, c) for n, c in enumerate(morning.calls, 1)], grid=True
    )
    yield from _nets(morning)
    # Nobody turns a sheet over at the door of the third shelter in the dusk.
    yield together(
        heading(say("paper.day_evening", at=say("paper.day_at"), who=say("paper.day_who"))),
        says(evening.light_said, soft=True),
        table(
            [
                Column("", "l"), Column(say("paper.head_place"), "l", "1fr"),
                Column(say("paper.head_heads"), "c", BOX_MM),
                Column(say("paper.head_look"), "l", "3fr"), Column(say("paper.head_second"), "c", BOX_MM),
            ],
            [_evening_row(shown, n, c) for n, c in enumerate(evening.calls, 1)], grid=True,
        ),
    )  # fmt: skip
    today = [f"{call.name}: {what}" for call in (*morning.calls, *evening.calls) for what in call.today]
    due = [
        say("paper.dated", day=shown.weekday(d.day), what=d.said) for d in morning.due if d.day > morning.day
    ]
    left = [heading(say("paper.due_today")), ticks(dict.fromkeys(today))] if today else []
    yield beside(
        (*left, heading(say("paper.day_soon")), items(due)) if due else (*left, says("")),
        (heading(say("paper.notes")), lines(5)),
    )


def _nets(morning: Round) -> Iterator[Block]:
    """How a net due today is set out, and what a live one asks for."""
    for fence in (call.fence for call in morning.calls if call.fence is not None):
        told = [part for part in (fence.size, fence.walk, *fence.cautions) if part]
        if told:
            yield cautions(say("paper.day_net", net=fence.net), told)


def _morning_columns() -> list[Column]:
    return [
        Column("", "l"), Column(say("paper.head_place"), "l", "2fr"), Column(say("paper.head_birds")),
        Column(say("paper.head_counted"), "c", BOX_MM), Column(say("paper.head_dead"), "c", NUMBER_MM),
        Column(say("paper.head_missing"), "c", NUMBER_MM), Column(say("paper.head_move"), "l", "3fr"),
        Column(say("paper.head_feed"), "l", "2fr"), Column(say("paper.head_water"), "l", "1fr"),
        Column(say("paper.head_more"), "l", "1fr"),
    ]  # fmt: skip


def _morning_row(shown: Shown, nth: int, call: Call) -> list[Cell]:
    """Boxes are left out where nothing is asked."""
    birds = call.kind not in ("incubator", "cattle")
    heads = shown.n(call.eggs or 0) if call.kind == "incubator" else shown.n(call.heads)
    return [
        shown.n(nth),
        cell(bold=call.number, sub=call.who),
        cell(large=heads, sub=say("paper.day_eggs_in") if call.kind == "incubator" else None),
        "" if birds else "·",
        "" if birds else "·",
        "" if birds else "·",
        {"parts": [*_moves(call)]} if call.fence is not None else next(_moves(call), ""),
        {"parts": [cell(feed.said, tick=1) for feed in call.feeds]} if call.feeds else "",
        "" if call.water is None else cell(call.water.said, tick=1),
        {"parts": [*_more(shown, call)]},
    ]


def _moves(call: Call) -> Iterator[Cell]:
    """The move of a shelter or house, gaps where it is set down, and its net's where that is due."""
    if call.move is not None:
        said = " ".join((call.move.said, *call.move.boards))
        yield cell(said, tick=call.move.times) if call.move.times else said
    if call.fence is not None:
        yield cell(call.fence.said, tick=0 if call.fence.kind == "none" else 1)


def _more(shown: Shown, call: Call) -> Iterator[Cell]:
    """What else is read at the place: eggs, warmth, kV."""
    if call.kind == "house" and call.eggs is not None:
        yield cell(say("paper.day_eggs", due=shown.n(call.eggs)), write_mm=BOX_MM)
    for check in call.checks:
        if check.ask == "number":
            yield cell(say(f"paper.read_{check.key.lower()}"), write_mm=BOX_MM)
        elif check.key not in ("drinker", "water"):
            yield cell(say(f"paper.tick_{check.key}"), tick=1)


def _evening_row(shown: Shown, nth: int, call: Call) -> list[Cell]:
    expected = next((c.expected for c in call.checks if c.key == "heads"), None)
    return [
        shown.n(nth),
        cell(bold=call.number, sub=call.who),
        "·"
        if expected is None
        else cell(sub=say("paper.day_of", heads=shown.n(expected)), write_mm=NUMBER_MM),
        {"row": [_look(check) for check in call.checks if check.key != "heads"]},
        cell(tick=1),
    ]


def _look(check: Check) -> Cell:
    if check.ask == "number":
        return cell(say(f"paper.read_{check.key.lower()}"), write_mm=NUMBER_MM)
    return cell(say(f"paper.tick_{check.key}"), tick=1)
