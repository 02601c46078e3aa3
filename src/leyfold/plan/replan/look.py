"""A plan looked at: its season, its money, its chances, and every promise that does not hold."""

from __future__ import annotations

from dataclasses import dataclass

from leyfold.nouns.draws import WishChance
from leyfold.nouns.errors import BadInput
from leyfold.nouns.plan import Plan
from leyfold.nouns.replanned import Broken, Promise
from leyfold.nouns.season import Season
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.needs import cover, feed, ground, hands, water
from leyfold.plan.replan.promises import chances_of, killing, limits_of, orders_of, wishes_of
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.expect import expect

__all__ = ["Look", "look"]

N_DRAWS = 200
URGENT: tuple[Promise, ...] = (
    "water", "feed", "cover", "limit", "hands", "killing", "order", "wish", "ground",
)  # fmt: skip
"""Of promises that break on one day, what the birds cannot wait for first."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """`plan` as given, `season` of it completed. `money`: what is still to come, own hours paid: the margin
    without the worth of what is there at first; None where prices are lacking: their keys, `unpriced`.
    `broken` by day."""

    case: Case
    plan: Plan
    season: Season
    money: float | None
    chances: tuple[WishChance, ...]
    broken: tuple[Broken, ...]
    unpriced: tuple[str, ...] = ()

    @property
    def ids(self) -> dict[str, Broken]:
        return {b.id: b for b in self.broken}

    def chance(self, wish: str) -> float | None:
        return next((c.chance for c in self.chances if c.wish == wish), None)


def look(case: Case, plan: Plan, *, drawn: bool) -> Look:
    """`plan` (not completed) on the farm and in the trouble of `case`. `drawn`: orders by what is safe to
    promise and eggs by chance, from 200 seasons; else by the mean, which is fast.

    BadInput where the plan cannot be followed at all.
    """
    season = expect(case.farm, complete(case.farm, plan))
    draws = draw(case.farm, season.plan, n=N_DRAWS, seed=0) if drawn and _random(case) else None
    chances = tuple(chances_of(case, season, draws))
    found = [
        *limits_of(case, season),
        *wishes_of(case, chances),
        *orders_of(case, season, draws),
        *killing(case, season),
        *feed(case, season),
        *cover(case, season),
        *water(case, season),
        *hands(case, season),
        *ground(case, season),
    ]
    broken = tuple(sorted(found, key=lambda b: (b.first, URGENT.index(b.promise), b.id)))
    try:
        money = reckon(case.farm, season)
    except BadInput as wrong:
        return Look(case, plan, season, None, chances, broken, tuple(f.field for f in wrong.faults))
    # Birds and eggs there at first are there, whatever is done; what the week brought before the day is past.
    since = max(season.index(case.day), 0)
    kept = (e for e in money.entries if not e.rate.id.startswith("first."))
    to_come = sum(float(e.money[since:].sum()) for e in kept)
    return Look(case, plan, season, to_come, chances, broken)


def _random(case: Case) -> bool:
    return bool(case.farm.orders) or any(w.what == "eggs a day" for w in case.farm.wishes)
