"""A pencilled day sheet typed in: one line a place, in the order of the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.round import Call
from leyfold.words import say

__all__ = ["entered"]

_WORD = re.compile(r"([a-z])(\d+(?:[.,]\d+)?)")
_COUNTED = {"d": "found dead", "m": "missing", "c": "counted", "g": "glance"}
DONE = "."


def entered(call: Call, line: str) -> tuple[tuple[str, dict[str, str]], ...]:
    """The records (kind, data) of one line of the sheet. Words: `.` moved, fed, watered as said; `d2` dead,
    `m1` missing, `c65` counted by hand, `g66` a glance, `f3.5` measures of feed given, `e38` eggs, `k4.2` kV.
    An empty line is nothing looked at. BadInput for anything else, and for what is not asked of the place."""
    found: list[tuple[str, dict[str, str]]] = []
    for word in line.split():
        if word == DONE:
            found += _as_said(call)
            continue
        fits = _WORD.fullmatch(word)
        made = None if fits is None else _one(call, fits[1], fits[2].replace(",", "."))
        if made is None:
            wrong = say("round.no_word", word=word, place=call.name)
            raise BadInput(Fault("leyfold enter", call.id, wrong, say("round.no_word_mend")))
        found.append(made)
    return tuple(found)


def _as_said(call: Call) -> Iterator[tuple[str, dict[str, str]]]:
    if call.kind == "cattle":
        yield "break opened", {"cattle": call.id}
        return
    if call.kind == "incubator":
        return
    if call.move is not None and call.move.times:
        yield "shelter moved", {"place": call.id} | ({"to": call.move.stand} if call.move.stand else {})
    if call.fence is not None and call.fence.kind != "none":
        to = {"to": call.fence.paddock} if call.fence.paddock else {}
        at = ",".join(map(str, call.fence.corners_deg))
        yield "fence shifted", {"net": call.fence.net} | to | ({"corners_deg": at} if at else {})
    for feed in call.feeds:
        given = (
            {"kg": f"{feed.kg:.2f}"}
            if feed.measure is None
            else {"measure": feed.measure, "measures": f"{feed.measures:g}"}
        )
        yield "fed", {"place": call.id, "feed": feed.feed} | given
    yield "watered", {"place": call.id}


def _one(call: Call, letter: str, number: str) -> tuple[str, dict[str, str]] | None:
    """One word, or None where the place has no such thing."""
    if call.kind in ("incubator", "cattle"):
        return None
    if letter in _COUNTED and number.isdigit() and (int(number) or letter in "cg"):
        return _COUNTED[letter], {"place": call.id, "heads": number}
    if letter == "e" and call.kind == "house" and number.isdigit():
        return "eggs", {"place": call.id, "eggs": number}
    if letter == "k" and call.net is not None:
        return "fence voltage", {"net": call.net, "kV": number}
    if letter == "f" and len(call.feeds) == 1 and call.feeds[0].measure is not None and float(number):
        feed = call.feeds[0]
        return "fed", {"place": call.id, "feed": feed.feed, "measure": str(feed.measure), "measures": number}
    return None
