"""Which numbers which trouble asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from leyfold.nouns.replanned import Number
from leyfold.plan.replan.numbers.barn import kept_in_longer, sets_free, weeks_inside
from leyfold.plan.replan.numbers.birds import fox_night, hatched, held_up, sick, sorted_wrong
from leyfold.plan.replan.numbers.grass import cattle_fed, ground_left, water_drawn
from leyfold.plan.replan.numbers.hands import due_meanwhile, last_heard
from leyfold.plan.replan.numbers.killing import kept_alive, unsold
from leyfold.plan.replan.numbers.power import machine_lost, mains_off
from leyfold.plan.replan.numbers.roof import under_a_roof
from leyfold.plan.replan.numbers.stores import feed_left, water_seen
from leyfold.plan.replan.numbers.view import View
from leyfold.plan.replan.suppose import Kind

__all__ = ["numbers"]

Reckons = Callable[[View], Iterator[Number]]
NUMBERS: Mapping[Kind, tuple[Reckons, ...]] = {
    "dead": (fox_night,),
    "missing": (fox_night,),
    "hatch": (hatched,),
    "fertile": (hatched,),
    "cockerels": (sorted_wrong,),
    "lost": (machine_lost, weeks_inside),
    "housing": (under_a_roof,),
    "no_killing": (kept_alive,),
    "cancelled": (unsold,),
    "no_grass": (weeks_inside, kept_in_longer, sets_free),
    "drought": (ground_left, cattle_fed, water_drawn, sets_free),
    "no_feed": (feed_left,),
    "no_water": (water_seen,),
    "wrong_feed": (held_up, kept_alive),
    "withdrawal": (held_up, kept_alive),
    "sick": (sick, held_up, kept_alive),
    "power_off": (mains_off,),
    "away": (due_meanwhile,),
    "phone_lost": (last_heard,),
}
"""Most telling first. Signs of a disease that the law fights ask for no number; birds loose or carried are
counted where they stand."""


def numbers(view: View) -> tuple[Number, ...]:
    """The numbers of everything that happened, in its order, none twice."""
    kinds = dict.fromkeys(s.kind for s in view.case.supposed)
    reckons = dict.fromkeys(one for kind in kinds for one in NUMBERS.get(kind, ()))
    return tuple(number for one in reckons for number in one(view))
