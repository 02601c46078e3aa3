"""Which mends may help which promise, in the order in which they are tried."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from leyfold.nouns.replanned import Broken
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending import birds, killing, others, room
from leyfold.plan.replan.mending.idea import Idea

__all__ = ["ideas"]


def ideas(now: Look, broken: Sequence[Broken]) -> Iterator[Idea]:
    """Mends for the promises in `broken`, the first broken first; none twice."""
    seen = set[str]()
    for one in broken:
        for idea in _for(now, one):
            if idea.said not in seen:
                seen.add(idea.said)
                yield idea


def _for(now: Look, one: Broken) -> Iterator[Idea]:
    farm = now.case.farm
    match one.promise:
        case "limit":
            if now.case.of("housing"):
                yield from room.for_roof(now)
                yield from killing.sooner_by(now, 14)
            if one.where in farm.shelters:
                yield from room.for_shelter(now, one)
            elif one.where in farm.brooders:
                yield from room.for_brooder(now, one)
            elif one.where in farm.houses:
                yield from room.for_house(now, one)
            yield from killing.for_shelter(now, one)
            yield from birds.swapped(now)
            yield from birds.fewer_eggs(now, one)
        case "wish":
            yield from birds.for_wish(now, one)
            yield from birds.swapped(now)
            if one.what == "table birds":
                yield from killing.for_order(now, one)
        case "order":
            yield from killing.for_order(now, one)
            yield from others.for_order(now, one)
        case "killing":
            yield from killing.for_killing(now, one)
        case "feed":
            yield from others.for_feed(now, one)
            yield from killing.sooner_by(now, 7)
        case "cover":
            yield from room.for_roof(now)
        case "water":
            yield from others.for_water(now, one)
        case "hands":
            yield from others.for_hands(now, one)
            for batch in birds.not_yet_set(now):
                yield birds.cancelled(now, batch)
        case "ground":
            for days in (7, 14, 21):
                yield from killing.sooner_by(now, days)
            for batch in reversed(birds.not_yet_set(now)):
                yield birds.cancelled(now, batch)
