"""Killing on another day: sooner, later, in two drafts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from leyfold.nouns.plan import Batch, Draft
from leyfold.nouns.replanned import Broken
from leyfold.plan.replan.course import merged
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending.idea import A_DAY, Idea, batches_in, open_days, put, tell, to_come
from leyfold.words import say

__all__ = ["for_killing", "for_order", "for_shelter", "sooner_by"]

LATER_D = 21
"""No later than three weeks after the day that was planned."""
YOUNGEST_AFTER_SORT_D = 14
"""Nobody is killed sooner than a fortnight after sorting: there is nothing on him yet. A guess."""
SOON_D = 7
"""A killing within a week is rung about today."""


def for_killing(now: Look, broken: Broken) -> Iterator[Idea]:
    """A killing day that cannot be held: the open days nearest before and after it, and one half on each."""
    case, batch = now.case, _batch(now, broken.what)
    if batch is None:
        return
    planned = broken.first
    first, last = max(case.day + A_DAY, _youngest(batch)), planned + timedelta(days=LATER_D)
    days = list(open_days(case, batch.id, planned, first=first, last=last))
    before = next((d for d in days if d < planned), None)
    after = next((d for d in days if d > planned), None)
    week_after = next((d for d in days if d >= planned + timedelta(days=7)), None)
    for on in dict.fromkeys(d for d in (before, after, week_after) if d is not None):
        yield _whole(now, batch, on)
    if before is not None and after is not None:
        yield _split(now, batch, before, after)
    elif after is not None and week_after is not None and week_after != after:
        yield _split(now, batch, after, week_after)


def for_shelter(now: Look, broken: Broken) -> Iterator[Idea]:
    """Too much on a stand or in a room: its cockerels killed before it is, all or the heavier half."""
    case = now.case
    for batch in batches_in(now, broken.where or "", broken.first):
        drafts = to_come(batch, case.day)
        if not drafts or not _cocks(now, batch, broken.first):
            continue
        first = max(case.day + A_DAY, _youngest(batch))
        days = list(open_days(case, batch.id, broken.first, first=first, last=max(broken.first, first)))
        if days and days[0] < drafts[-1].on:
            yield _whole(now, batch, days[0])
            yield _split(now, batch, days[0], drafts[-1].on)


def for_order(now: Look, broken: Broken) -> Iterator[Idea]:
    """Carcasses short by a day: the next batch killed by then, all or the heavier half."""
    case = now.case
    for batch in sorted(now.plan.batches, key=lambda b: min((d.on for d in b.drafts), default=date.max)):
        drafts = [d for d in to_come(batch, case.day) if d.on > broken.first]
        if not drafts or not _cocks(now, batch, broken.first):
            continue
        first = max(case.day + A_DAY, _youngest(batch))
        days = list(open_days(case, batch.id, broken.first, first=first, last=broken.first))
        if days:
            yield _whole(now, batch, days[0])
            if days[0] < drafts[-1].on:
                yield _split(now, batch, days[0], drafts[-1].on)


def sooner_by(now: Look, days: int) -> Iterator[Idea]:
    """Every killing still to come so many days sooner: less feed, water and ground."""
    case, plan, moved = now.case, now.plan, 0
    for batch in now.plan.batches:
        drafts = []
        for draft in batch.drafts:
            near = draft.on - timedelta(days=days)
            first = max(case.day + A_DAY, _youngest(batch))
            on = next(open_days(case, batch.id, near, first=min(first, draft.on), last=draft.on), draft.on)
            if draft.on > case.day and draft.share > 0 and on != draft.on:
                moved += 1
                draft = replace(draft, on=on)
            drafts.append(draft)
        plan = put(plan, replace(batch, drafts=merged(drafts)))
    if moved:
        yield Idea("all_sooner", say("replan.mend_all_sooner", days=days), case, plan, moved=moved)


def _batch(now: Look, name: str) -> Batch | None:
    return next((b for b in now.plan.batches if b.id == name), None)


def _youngest(batch: Batch) -> date:
    return (batch.sort_on or batch.arrives_on) + timedelta(days=YOUNGEST_AFTER_SORT_D)


def _cocks(now: Look, batch: Batch, on: date) -> bool:
    at = now.season.index(on)
    rows = [i for i, x in enumerate(now.season.lots) if x.batch == batch.id and x.sex == "cockerel"]
    return bool(rows) and 0 <= at < now.season.days and float(now.season.heads[rows, at].sum()) >= 1.0


def _whole(now: Look, batch: Batch, on: date) -> Idea:
    past = tuple(d for d in batch.drafts if d not in to_come(batch, now.case.day))
    plan = put(now.plan, replace(batch, drafts=(*past, Draft(on, 1.0))))
    told = tell(now.case)
    said = say("replan.mend_kill", batch=batch.id, on=told.day(on))
    return Idea("kill", said, now.case, plan, moved=1, today=_ring(now, batch, on))


def _split(now: Look, batch: Batch, first: date, last: date) -> Idea:
    past = tuple(d for d in batch.drafts if d not in to_come(batch, now.case.day))
    plan = put(now.plan, replace(batch, drafts=(*past, Draft(first, 0.5), Draft(last, 1.0))))
    told = tell(now.case)
    said = say("replan.mend_split", batch=batch.id, first=told.day(first), last=told.day(last))
    return Idea("split", said, now.case, plan, moved=2, today=_ring(now, batch, first))


def _ring(now: Look, batch: Batch, on: date) -> tuple[str, ...]:
    """What a killing asks of today."""
    on_day = tell(now.case).day(on)
    found = [say("replan.today_kill", batch=batch.id, on=on_day)]
    if (on - now.case.day).days <= 1:
        found.append(say("replan.today_feed_off", batch=batch.id, on=on_day))
    return tuple(found)
