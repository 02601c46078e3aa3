"""A round as one page of words: what stands above all, the places as they are walked, then what is dated."""

from __future__ import annotations

from collections.abc import Iterator

from leyfold.nouns.farm import Farm
from leyfold.nouns.round import Call, Check, Evening, Fence, Round, Warning
from leyfold.paper.ahead_page import Sheet
from leyfold.round.fences import moved
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["round_page"]


def round_page(farm: Farm, one: Round) -> tuple[Sheet, ...]:
    """All parts of a morning or an evening, in the order in which they are read."""
    shown = Shown(farm)
    parts = [_stops(one), _warnings(one), _morning(shown, one) if one.part == "morning" else _shut_in(one)]
    parts += [_beside(one), *(_page(one.evening) if one.evening is not None else ()), _due(shown, one)]
    return tuple(part for part in parts if part is not None)


def _stops(one: Round) -> Sheet | None:
    if not one.stops:
        return None
    return Sheet(say("ahead.title_stops"), tuple(f"{stop.said} {stop.act}" for stop in one.stops))


def _warnings(one: Round) -> Sheet:
    if not one.warnings:
        return Sheet(say("ahead.title_cautions"), (say("ahead.no_caution"),))
    lines = [
        say("ahead.caution", nth=i, heads=w.heads, said=_why(w), act=w.act)
        for i, w in enumerate(one.warnings, start=1)
    ]
    if one.more:
        lines.append(say("round.more", n=one.more))
    return Sheet(say("ahead.title_cautions"), tuple(lines))


def _columns(*names: str) -> tuple[tuple[str, bool], ...]:
    return tuple((say(f"round.column_{name}"), name in ("nth", "heads", "ring_at")) for name in names)


def _morning(shown: Shown, one: Round) -> Sheet:
    rows = [
        (
            str(nth), call.name, _heads(shown, call), call.who, moved(call),
            ", ".join(feed.said for feed in call.feeds), "" if call.water is None else call.water.said,
            "" if call.ring_at is None else str(call.ring_at),
        )
        for nth, call in enumerate(one.calls, start=1)
    ]  # fmt: skip
    columns = _columns("nth", "place", "heads", "who", "move", "feed", "water", "ring_at")
    return Sheet(say("round.page_walk"), (), columns, tuple(rows))


def _shut_in(one: Round) -> Sheet:
    rows = [
        (str(nth), call.name, call.who, "; ".join(map(_check, call.checks)))
        for nth, call in enumerate(one.calls, start=1)
    ]
    return Sheet(say("round.page_shut_in"), (), _columns("nth", "place", "who", "look"), tuple(rows))


def _heads(shown: Shown, call: Call) -> str:
    return (
        say("round.eggs_in", eggs=shown.n(call.eggs or 0))
        if call.kind == "incubator"
        else shown.n(call.heads)
    )


def _check(check: Check) -> str:
    return (
        check.said
        if check.key != "heads"
        else say("round.look_heads", what=check.said, n=f"{check.expected:g}")
    )


def _beside(one: Round) -> Sheet | None:
    """What is done or watched at a place beside the daily round."""
    lines = [
        say("round.beside", place=call.name, what="; ".join((*call.today, *call.cautions)))
        for call in one.calls
        if call.today or call.cautions
    ]
    lines += [
        say("round.beside", place=call.name, what=say("round.eggs_due", eggs=call.eggs))
        for call in one.calls
        if call.kind == "house" and call.eggs
    ]
    lines += [line for call in one.calls if call.fence is not None for line in _net(call.fence)]
    return Sheet(say("round.page_beside"), tuple(lines)) if lines else None


def _net(fence: Fence) -> Iterator[str]:
    """How a net is set out, and what a live one asks for."""
    told = " ".join(part for part in (fence.size, fence.walk, *fence.cautions) if part)
    if told:
        yield f"{fence.net}: {told}"


def _page(page: Evening) -> Iterator[Sheet]:
    yield Sheet(
        say("round.page_tonight"),
        (page.night_said, *(c.said for c in page.cold), *(g.said for g in page.gusts)),
    )
    day = page.tomorrow
    shade = () if day.shade is None else (day.shade,)
    tank = () if page.tank is None else (page.tank.said,)
    hands = say("round.hands", who=", ".join(hand.name for hand in page.hands) or "-")
    yield Sheet(say("round.page_tomorrow"), (day.said, *day.fills, *shade, *tank, hands))
    yield Sheet(say("round.page_left"), (*(g.said for g in page.ground), *(f.said for f in page.feed)))


def _due(shown: Shown, one: Round) -> Sheet:
    lines = tuple(say("paper.dated", day=shown.weekday(d.day), what=d.said) for d in one.due)
    return Sheet(say("round.page_due"), lines or (say("round.due_nothing"),))


def _why(w: Warning) -> str:
    """What it is and why; the only place is named once."""
    rest = w.said.removeprefix(f"{w.where[0]}: ") if len(w.where) == 1 else w.said
    return f"{w.short}. {rest}" if rest == w.said else f"{w.short}; {rest}"
