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
    """A line a way: what it is, what it costs itself, and whether a plan fits after it."""
    if clash.reasons:
        yield say("ways.head" if clash.ways else "ways.none")
    for way in clash.ways:
        yield f"  {say('ways.way', said=way.said, costs=_costs(way, farm), then=_then(way, farm))}"
    if any(way.guess for way in clash.ways):
        yield say("ways.guess_note")


def _costs(way: WayOut, farm: Farm) -> str:
    if way.costs is None:
        return say("ways.unpriced")
    if way.costs == 0.0:
        return say("ways.free")
    money = spoken(way.costs, 0, farm.holding.language)
    return say("ways.guessed" if way.guess else "ways.costs", money=money, currency=farm.holding.currency)


def _then(way: WayOut, farm: Farm) -> str:
    if way.planned is None:
        return say("ways.unverified")
    net = way.planned.objective - (way.costs or 0.0)
    money = spoken(net, 0, farm.holding.language)
    return say("ways.verified", money=money, currency=farm.holding.currency)


def ways_data(clash: Clash) -> list[dict[str, Any]]:
    """The same as plain values."""
    return [
        {
            "id": way.id,
            "said": way.said,
            "costs": way.costs,
            "guess": way.guess,
            "verified": way.verified,
            "margin": None if way.planned is None else way.planned.objective,
        }
        for way in clash.ways
    ]
