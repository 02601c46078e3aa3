"""The chance of each wish of the farm under a plan."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.draws import Draws, WishChance
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import State
from leyfold.season.chance import number_by
from leyfold.season.complete import complete
from leyfold.season.draw import draw

__all__ = ["killed_by_line", "wish_chances"]

DRAWS = 400
WEEK = 7


def killed_by_line(state: State, since: date | None) -> dict[str, int]:
    """Birds for the table that the records say were killed on day `since` or later, by line."""
    killed: dict[str, int] = {}
    for facts in state.batches.values():
        birds = (c.number for c in facts.killed if c.sex != "pullet" and (since is None or c.on >= since))
        killed[facts.line] = killed.get(facts.line, 0) + round(sum(birds))
    return killed


def wish_chances(
    farm: Farm,
    plan: Plan,
    draws: Draws | None = None,
    *,
    seed: int = 0,
    killed: Mapping[str, int] | None = None,
) -> tuple[WishChance, ...]:
    """One row a wish, in the order of the farm file. Table birds already `killed` (by line) count towards the
    wishes that do not come back: a plan from the middle of a season knows only the birds that are left.

    Pullets and table birds are reckoned exactly. One that comes back every so many days, until its last day
    or the end of the plan, wants its number each time anew: the day on which it is likeliest to be missed
    stands for it. Eggs a day are read off `draws` (400 are made where none are given and the farm has such
    a wish): the lowest mean of seven days within the wish's span counts.
    """
    plan = complete(farm, plan)
    if draws is None and any(wish.what == "eggs a day" for wish in farm.wishes):
        draws = draw(farm, plan, n=DRAWS, seed=seed)
    rows = []
    for wish in farm.wishes:
        if wish.what != "eggs a day":
            rows.append(_birds(farm, plan, wish, killed or {}))
        elif draws is not None:
            rows.append(_eggs(draws, wish))
    return tuple(rows)


def _birds(farm: Farm, plan: Plan, wish: Wish, killed: Mapping[str, int]) -> WishChance:
    assert wish.what != "eggs a day"
    there = 0
    if wish.what == "table birds" and not wish.every_d:
        there = sum(birds for line, birds in killed.items() if wish.line in (None, line))
    worst: WishChance | None = None
    for times, on in enumerate(_days(plan, wish), start=1):
        birds = number_by(farm, plan, wish.what, on, line=wish.line, aged_d=wish.aged_d)
        chance = birds.at_least(max(times * wish.number - there, 0))
        if worst is None or chance < worst.chance:
            worst = WishChance(
                wish.id,
                on,
                chance,
                there + birds.mean,
                there + birds.quantile(0.05),
                there + birds.quantile(0.95),
                there + birds.safe(),
                chance < wish.chance,
            )
    assert worst is not None
    return worst


def _days(plan: Plan, wish: Wish) -> list[date]:
    """The day of the wish, and those on which it comes back."""
    days = [wish.on]
    end = wish.until or plan.last
    while wish.every_d and end is not None and days[-1] + timedelta(days=wish.every_d) <= end:
        days.append(days[-1] + timedelta(days=wish.every_d))
    return days


def _eggs(draws: Draws, wish: Wish) -> WishChance:
    # Before the plan begins nobody knows what was laid: those days are no eggs missed.
    begun = max(wish.on, draws.plan.first or draws.first)
    first = min(max(draws.index(begun), 0), draws.days - 1)
    last = draws.days if wish.until is None else min(draws.index(wish.until) + 1, draws.days)
    laid = np.cumsum(draws.eggs[:, first : max(last, first + 1)], axis=1, dtype=np.float64)
    width = min(WEEK, laid.shape[1])
    weeks = np.concatenate((laid[:, width - 1 : width], laid[:, width:] - laid[:, :-width]), axis=1) / width
    lowest = weeks.min(axis=1)
    low, high = np.percentile(lowest, (5, 95))
    chance = float((lowest >= wish.number).mean())
    on = draws.day(first + int(np.argmin(weeks.mean(axis=0))))
    return WishChance(
        wish.id, on, chance, float(lowest.mean()), float(low), float(high), float(low), chance < wish.chance
    )
