"""Ways out of a clash, for people and for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from leyfold.words import say
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from leyfold.nouns.farm import Farm
    from leyfold.nouns.planned import Clash, WayOut

__all__ = ["ways_data", "ways_lines"]


def ways_lines(clash: Clash, farm: Farm) -> Iterator[str]:
    """A line a way, with what it costs itself: first those after which a plan fits, with its margin."""
    if clash.reasons and not clash.ways:
        yield say("ways.none")
    fit = [way for way in clash.ways if way.planned is not None]
    shut = [way for way in clash.ways if way.shut]
    rest = [way for way in clash.ways if way.planned is None and not way.shut]
    for head, ways in (("head", fit), ("head_open", rest), ("head_shut", shut)):
        if ways:
            yield say(f"ways.{head}")
            yield from (f"  {_line(way, farm)}" for way in ways)
        if ways is fit and fit:
            yield say("ways.margin_note")
    if any(way.guess for way in clash.ways):
        yield say("ways.guess_note")


def _line(way: WayOut, farm: Farm) -> str:
    """Of a way that costs nothing but what the plan costs, no cost is said."""
    language, currency = farm.holding.language, farm.holding.currency
    parts = [way.said]
    if way.costs is None:
        parts.append(say("ways.unpriced"))
    elif way.costs:
        key = "ways.guessed" if way.guess else "ways.costs"
        parts.append(say(key, money=spoken(way.costs, 0, language), currency=currency))
    if way.planned is not None:
        net = spoken(way.planned.objective - (way.costs or 0.0), 0, language)
        parts.append(say("ways.verified", money=net, currency=currency))
    return "; ".join(parts)


def ways_data(clash: Clash) -> list[dict[str, Any]]:
    """The same as plain values."""
    return [
        {
            "id": way.id,
            "said": way.said,
            "costs": way.costs,
            "guess": way.guess,
            "verified": way.verified,
            "shut": way.shut,
            "margin": None if way.planned is None else way.planned.objective,
        }
        for way in clash.ways
    ]
