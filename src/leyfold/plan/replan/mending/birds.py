"""More birds or fewer: eggs in the sets not yet set, day-olds, pullets near lay, hens kept on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from math import ceil

from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.replanned import Broken, Term
from leyfold.nouns.stock import Sex
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending.idea import A_DAY, Idea, batches_in, put, tell
from leyfold.season.chance import Counting
from leyfold.season.complete import complete
from leyfold.words import say

__all__ = ["cancelled", "fewer_eggs", "for_wish", "not_yet_set", "swap", "swapped"]

DAY_OLD_LEAD_D = 14
"""Days from asking for day-olds to their coming. A guess: some hatcheries are sold out for months."""
PULLET_LEAD_D = 10
BEFORE_LAY_D = 7
MOST_BOUGHT = 400
DOZEN = 12
LAY = 0.75
"""Eggs a day that a pullet bought is counted for. A guess."""


def for_wish(now: Look, broken: Broken) -> Iterator[Idea]:
    """A wish below its chance: more eggs in a set to come, day-olds, pullets near lay, old hens kept."""
    wish = next((w for w in now.case.farm.wishes if f"wish:{w.id}" == broken.id), None)
    if wish is None:
        return
    if wish.what == "eggs a day":
        yield from _for_eggs(now, wish, broken)
        return
    yield from _more_eggs(now, wish, broken.first)
    yield from _day_olds(now, wish, broken.first)
    if wish.what == "pullets":
        yield from _near_lay(now, wish, broken.first)


def swapped(now: Look) -> Iterator[Idea]:
    """Sorted the wrong way about: as many of the one sex for the other of the same week as puts it even, with
    neighbours, nothing paid."""
    case = now.case
    for it in case.of("cockerels"):
        batch = next((b for b in now.plan.batches if b.id == it.batch), None)
        if batch is None or not {"pullet", "cockerel"} <= batch.heads.keys():
            continue
        line = case.farm.lines[batch.line]
        n = swap(batch.heads["cockerel"], batch.heads["pullet"], line.share_pullets.value)
        if n == 0:
            continue
        heads: dict[Sex, float] = {
            "pullet": batch.heads["pullet"] + n,
            "cockerel": batch.heads["cockerel"] - n,
        }
        gives, gets = ("cockerels", "pullets") if n > 0 else ("pullets", "cockerels")
        words = {
            "n": abs(n), "batch": batch.id, "gives": say(f"replan.what_{gives}"),
            "gets": say(f"replan.what_{gets}"),
        }  # fmt: skip
        # Those who came stand where those stood who went.
        stays = tuple(replace(s, heads=None) if s.batch == batch.id else s for s in now.plan.stays)
        plan = put(replace(now.plan, stays=stays), replace(batch, heads=heads))
        said, today = say("replan.mend_swap", **words), say("replan.today_swap", **words)
        # Whether anybody has such birds, and wants nothing for them, is a guess.
        yield Idea("swap", said, case, plan, (Term("swap", 0.0, guess=True),), 2, (today,))


def swap(cockerels: float, pullets: float, share_pullets: float) -> int:
    """Cockerels to be given for as many pullets so that the sexes are as they should be; below nought the
    other way about."""
    return round(cockerels - (cockerels + pullets) * (1.0 - share_pullets))


def not_yet_set(now: Look) -> list[Batch]:
    """Sets whose eggs are still free: set tomorrow or later."""
    return [b for b in now.plan.batches if b.set_on is not None and b.set_on > now.case.day and b.eggs]


def fewer_eggs(now: Look, broken: Broken) -> Iterator[Idea]:
    """Too many birds in a place, or eggs in a machine: the set behind it smaller, or not set at all. Only
    eggs not yet set are free."""
    free = {b.id: b for b in not_yet_set(now)}
    there = [b.id for b in batches_in(now, broken.where or "", broken.first)]
    if broken.what == "eggs":
        there = [
            b.id
            for b in now.season.plan.batches
            if b.incubator == broken.where and b.set_on is not None and b.set_on <= broken.last < b.hatched_on
        ]
    for batch in (free[name] for name in there if name in free):
        assert batch.eggs is not None
        fits = int(batch.eggs * broken.wanted / broken.has) if broken.has > 0 else 0
        if 0 < fits < batch.eggs:
            said = say("replan.mend_fewer_eggs", batch=batch.id, eggs=fits, planned=batch.eggs)
            yield Idea("fewer_eggs", said, now.case, put(now.plan, replace(batch, eggs=fits)))
        yield cancelled(now, batch)


def cancelled(now: Look, batch: Batch) -> Idea:
    """A set that is not set."""
    plan = replace(
        now.plan,
        batches=tuple(b for b in now.plan.batches if b.id != batch.id),
        stays=tuple(s for s in now.plan.stays if s.batch != batch.id),
        outs=tuple(o for o in now.plan.outs if o.batch != batch.id),
    )
    return Idea("cancel_set", say("replan.mend_cancel_set", batch=batch.id), now.case, plan, moved=2)


def _more_eggs(now: Look, wish: Wish, on: date) -> Iterator[Idea]:
    """The smallest set, in whole trays, that brings the chance back; one idea for each set still to come."""
    case, plan = now.case, complete(now.case.farm, now.plan)
    counting = Counting(case.farm, plan, wish.what, on, line=wish.line, aged_d=wish.aged_d)  # type: ignore[arg-type]
    counted = {b.id for b in counting.batches}
    tray = max(case.farm.planning.tray, 1)
    for batch in not_yet_set(now):
        if batch.id not in counted or batch.eggs is None:
            continue
        places = _places(case.farm, batch, plan)

        def enough(eggs: int, batch: Batch = batch) -> bool:
            return counting.number({batch.id: eggs}).at_least(wish.number) >= wish.chance

        eggs = _least(enough, batch.eggs, places, tray)
        if eggs is not None and eggs > batch.eggs:
            told = tell(case)
            said = say(
                "replan.mend_more_eggs", batch=batch.id, eggs=eggs, planned=batch.eggs,
                on=told.day(batch.set_on) if batch.set_on else "",
            )  # fmt: skip
            kept_from = (batch.set_on or case.day) - timedelta(days=max(batch.stored_d, 1))
            due = kept_from <= case.day + A_DAY
            asked = say("replan.today_more_eggs", eggs=eggs - batch.eggs, batch=batch.id)
            today = (asked,) if due else ()
            yield Idea("more_eggs", said, case, put(now.plan, replace(batch, eggs=eggs)), today=today)


def _places(farm: Farm, batch: Batch, plan: Plan) -> int:
    """Eggs that the machine of a set, or the largest there is, could hold beside what else is in it."""
    of = next((b.incubator for b in plan.batches if b.id == batch.id), batch.incubator)
    if of is None or of not in farm.incubators:
        return max((kit.eggs for kit in farm.incubators.values()), default=0)
    others = sum(
        b.eggs or 0
        for b in plan.batches
        if b.id != batch.id
        and b.incubator == of
        and b.set_on is not None
        and batch.set_on is not None
        and b.set_on < batch.hatched_on
        and batch.set_on < b.hatched_on
    )
    return farm.incubators[of].eggs - others


def _least(enough: Callable[[int], bool], start: int, most: int, step: int) -> int | None:
    """The least number from `start` on, in steps, that is enough; None where `most` is not."""
    steps = (most - start) // step
    if steps < 1 or not enough(start + steps * step):
        return None
    low, high = 0, steps
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(start + middle * step) else (middle, high)
    return start + high * step


def _day_olds(now: Look, wish: Wish, on: date) -> Iterator[Idea]:
    """Day-olds as hatched, where they can still grow up by the day."""
    case = now.case
    line = wish.line or (now.plan.batches[0].line if now.plan.batches else next(iter(case.farm.lines)))
    comes = case.day + timedelta(days=DAY_OLD_LEAD_D)
    if wish.what == "table birds" and comes + timedelta(days=round(case.farm.lines[line].kill_d.value)) > on:
        return
    if comes >= on:
        return
    name = _new_name(now.plan, "day-olds")
    share = case.farm.lines[line].share_pullets.value

    def batch(chicks: int) -> Batch:
        heads = {"pullet": chicks * share, "cockerel": chicks * (1.0 - share)}
        return Batch(name, line, "bought", comes, comes, heads=heads)  # type: ignore[arg-type]

    chicks = _least(lambda n: _enough(now, wish, on, batch(n)), 0, MOST_BOUGHT, DOZEN)
    if chicks is not None and chicks > 0:
        told = tell(case)
        said = say("replan.mend_day_olds", chicks=chicks, on=told.day(comes))
        today = (say("replan.today_day_olds", chicks=chicks, on=told.day(comes)),)
        yield _with(now, "day_olds", said, batch(chicks), today)


def _near_lay(now: Look, wish: Wish, on: date) -> Iterator[Idea]:
    """Pullets bought a week before they lay."""
    case = now.case
    line = wish.line or (now.plan.batches[0].line if now.plan.batches else next(iter(case.farm.lines)))
    comes = max(on - timedelta(days=BEFORE_LAY_D), case.day + timedelta(days=PULLET_LEAD_D))
    if comes > on:
        return
    number = _least(lambda n: _enough(now, wish, on, _pullets(now, line, comes, n)), 0, MOST_BOUGHT, 1)
    if number is not None and number > 0:
        yield _of_pullets(now, _pullets(now, line, comes, number), number, comes)


def _pullets(now: Look, line: str, comes: date, number: int) -> Batch:
    lays = round(now.case.farm.lines[line].point_of_lay_d.value)
    hatched = comes - timedelta(days=lays - BEFORE_LAY_D)
    house = next((n for n, kit in now.case.farm.houses.items() if kit.owned(comes)), None)
    name = _new_name(now.plan, "pullets")
    return Batch(
        name, line, "bought", hatched, comes, heads={"pullet": float(number), "cockerel": 0.0},
        turnout_on=comes, sort_on=comes, house_on=comes, house=house,
    )  # fmt: skip


def _of_pullets(now: Look, batch: Batch, number: int, comes: date) -> Idea:
    told = tell(now.case)
    said = say("replan.mend_pullets", number=number, on=told.day(comes))
    today = (say("replan.today_pullets", number=number, on=told.day(comes)),)
    return _with(now, "pullets", said, batch, today)


def _with(now: Look, kind: str, said: str, batch: Batch, today: tuple[str, ...]) -> Idea:
    return Idea(
        kind, said, now.case, replace(now.plan, batches=(*now.plan.batches, batch)), moved=2, today=today
    )


def _enough(now: Look, wish: Wish, on: date, batch: Batch) -> bool:
    """Whether the wish has its chance with one batch more; that batch alone is counted anew."""
    plan = replace(now.plan, batches=(*now.plan.batches, batch))
    case: Case = now.case
    done = complete(case.farm, plan)
    counting = Counting(case.farm, done, wish.what, on, line=wish.line, aged_d=wish.aged_d)  # type: ignore[arg-type]
    return counting.number().at_least(wish.number) >= wish.chance


def _for_eggs(now: Look, wish: Wish, broken: Broken) -> Iterator[Idea]:
    case = now.case
    worst = next((c.mean for c in now.chances if c.wish == wish.id), 0.0)
    for weeks in (4, 12):
        outs = tuple(
            replace(o, on=o.on + timedelta(weeks=weeks)) if case.day < o.on <= broken.last else o
            for o in now.plan.outs
        )
        if outs != now.plan.outs:
            said = say("replan.mend_keep_hens", weeks=weeks)
            yield Idea("keep_hens", said, case, replace(now.plan, outs=outs))
    line = wish.line or (now.plan.batches[0].line if now.plan.batches else next(iter(case.farm.lines)))
    number = ceil(max(wish.number - worst, 1.0) / LAY)
    comes = max(broken.first - timedelta(weeks=4), case.day + timedelta(days=PULLET_LEAD_D))
    yield _of_pullets(now, _pullets(now, line, comes, number), number, comes)


def _new_name(plan: Plan, name: str) -> str:
    there = {b.id for b in plan.batches}
    return next(n for n in (name, *(f"{name}-{i}" for i in range(2, 99))) if n not in there)
