"""Room for birds: another shelter, the barn, the house sooner, old hens out, nets, more floor."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import ceil

import numpy as np

from leyfold.nouns.plan import Batch, Out, Stay
from leyfold.nouns.replanned import Broken, Term
from leyfold.nouns.stock import SEXES, Sex
from leyfold.plan.replan.course import bent, stood_in
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending.idea import A_DAY, Idea, batches_in, price, put, tell
from leyfold.plan.ways.kit import barn_more, shelter_cost, shelter_more
from leyfold.season.filling.indoors import floor_need_m2
from leyfold.words import say

__all__ = ["for_brooder", "for_house", "for_roof", "for_shelter"]

HARDEN = timedelta(days=7)
"""Nights before turnout without lamps, and two to spare. Common practice."""
NET_H = 2.0
"""Hours to close the sides of one shelter with fine mesh. A guess."""
OUT_LEAST_D = 21
"""Nobody goes out younger than three weeks, whatever the barn is like (common practice)."""
HOUSE_LEAST_D = 84
"""No pullet goes among hens younger than twelve weeks. Common practice."""
SOMEBODY = 0.5
MOST_FLOOR_M2 = 400.0
"""More floor than this nobody clears in a week."""


def for_shelter(now: Look, broken: Broken) -> Iterator[Idea]:
    """Too much in one shelter: another shelter, one that is free, the barn, pullets to the house sooner."""
    place, on = broken.where or "", broken.first
    for batch in batches_in(now, place, on)[:1]:
        sexes = _sexes(now, batch, place, on)
        if sexes:
            yield from _another(now, batch, sexes, place, broken)
            yield from _free_one(now, batch, sexes, place, broken)
            yield from _barn(now, batch, sexes, place, broken)
        yield from _house_sooner(now, batch, on)


def _another(now: Look, batch: Batch, sexes: Sequence[Sex], place: str, broken: Broken) -> Iterator[Idea]:
    case = now.case
    # What presses tonight asks for one that can be borrowed tonight.
    since = max(broken.first, case.day)
    farm, name = shelter_more(case.farm, since, place)
    until = _until(now, batch, sexes, since, max(broken.last, since))
    stays = _moved(now, batch, sexes, [*([place] if place else []), name], since, until)
    said = say("replan.mend_shelter", on=tell(case).day(since), batch=batch.id)
    plan = replace(now.plan, stays=stays)
    yield Idea(
        "shelter",
        said,
        replace(case, farm=farm),
        plan,
        shelter_cost(farm),
        2,
        (say("replan.today_shelter"),),
    )


def _free_one(now: Look, batch: Batch, sexes: Sequence[Sex], place: str, broken: Broken) -> Iterator[Idea]:
    case, on = now.case, broken.first
    for free in _free(now, on, broken.last)[:1]:
        stays = _moved(now, batch, sexes, [place, free], on, _until(now, batch, sexes, on, broken.last))
        said = say("replan.mend_free_shelter", batch=batch.id, to=free, on=tell(case).day(on))
        soon = on <= case.day + A_DAY
        today = [say("replan.today_carry", batch=batch.id, to=free)] if soon else []
        yield Idea("free_shelter", said, case, replace(now.plan, stays=stays), today=tuple(today))


def _floor_more(now: Look) -> float:
    """Floor [m2] to add so that no room is over its floor on any day: birds brought in stand in all rooms by
    their floor, the chicks brooded in one stay there."""
    season, brooders = now.season, now.case.farm.brooders
    turnout = {b.id: b.turnout_on for b in season.plan.batches}
    need = floor_need_m2(now.case.farm, season.heads, season.age_d)
    day = np.arange(season.days)
    brooded = {n: np.zeros(season.days) for n in brooders}
    brought = np.zeros(season.days)
    for i, lot in enumerate(season.lots):
        if lot.place in brooders:
            out = turnout[lot.batch]
            still = day < (season.days if out is None else season.index(out))
            brooded[lot.place] += need[i] * still
            brought += need[i] * ~still
    floor = sum(kit.floor_m2 for kit in brooders.values())
    more = 0.0
    for name, kit in brooders.items():
        free = np.maximum(kit.floor_m2 - brooded[name], 1e-9)
        more = max(more, float((brought * kit.floor_m2 / free).max()) - floor)
    return more


def _barn(now: Look, batch: Batch, sexes: Sequence[Sex], place: str, broken: Broken) -> Iterator[Idea]:
    """The birds of a batch that press in one place, held in an empty brooder until it has passed."""
    case, on, last = now.case, broken.first, broken.last
    days = slice(max(now.season.index(on), 0), max(now.season.index(last), 0) + 1)
    for room, kit in case.farm.brooders.items():
        if kit.owned(on) and float(now.season.places[room].heads[days].max(initial=0.0)) < SOMEBODY:
            stays = _moved(now, batch, sexes, [place, room], on, _until(now, batch, sexes, on, last))
            told = tell(case)
            said = say("replan.mend_barn", batch=batch.id, to=room, first=told.day(on), last=told.day(last))
            yield Idea("barn", said, case, replace(now.plan, stays=stays), moved=2)
            return


def _house_sooner(now: Look, batch: Batch, on: date) -> Iterator[Idea]:
    case = now.case
    old_enough = (on - batch.hatched_on).days >= HOUSE_LEAST_D and on > case.day
    if batch.house_on is None or on >= batch.house_on or not case.farm.houses or not old_enough:
        return
    hers = [s for s in now.plan.stays if s.batch == batch.id and s.sex == "pullet"]
    rest = [s for s in now.plan.stays if s not in hers]
    cut = [replace(s, until=min(s.until, on)) for s in hers if s.first < on]
    plan = put(replace(now.plan, stays=(*rest, *cut)), replace(batch, house_on=on))
    said = say("replan.mend_house_sooner", batch=batch.id, on=tell(case).day(on))
    yield Idea("house_sooner", said, case, plan)


def for_brooder(now: Look, broken: Broken) -> Iterator[Idea]:
    """Too little brooder floor: out sooner, the other brooder, more floor."""
    there = batches_in(now, broken.where or "", broken.first)
    for batch in there:
        yield from _out_sooner(now, batch, broken.first)
        if batch.turnout_on is not None and batch.turnout_on <= broken.first and not now.case.of("housing"):
            sexes = _sexes(now, batch, broken.where or "", broken.first)
            if sexes:
                yield from _another(now, batch, sexes, "", broken)
        if batch.arrives_on > now.case.day:
            yield from _other_brooder(now, batch, broken)
    if there and broken.where in now.case.farm.brooders:
        yield _more_floor(now, there, broken)


def _out_sooner(now: Look, batch: Batch, on: date) -> Iterator[Idea]:
    case = now.case
    soonest = max(on, batch.hatched_on + timedelta(days=OUT_LEAST_D), case.day + A_DAY)
    kept_in = any(s.holds(soonest) for s in case.of("housing", "no_grass"))
    if batch.turnout_on is None or not on <= soonest < batch.turnout_on or kept_in:
        return
    stays = tuple(
        replace(s, until=min(s.until, soonest)) if s.batch == batch.id and s.first < soonest else s
        for s in now.plan.stays
    )
    plan = put(replace(now.plan, stays=stays), replace(batch, turnout_on=soonest))
    said = say("replan.mend_out_sooner", batch=batch.id, on=tell(case).day(soonest))
    soon = batch.hatched_on <= case.day and soonest <= case.day + HARDEN
    today = (say("replan.today_harden", batch=batch.id),) if soon else ()
    yield Idea("out_sooner", said, case, plan, today=today)


def _other_brooder(now: Look, batch: Batch, broken: Broken) -> Iterator[Idea]:
    case = now.case
    for other, kit in case.farm.brooders.items():
        if other != broken.where and kit.owned(broken.first):
            said = say("replan.mend_other_brooder", batch=batch.id, to=other)
            yield Idea("other_brooder", said, case, put(now.plan, replace(batch, brooder=other)))


def _more_floor(now: Look, there: Sequence[Batch], broken: Broken) -> Idea:
    """All who stand in the room spread over more floor besides."""
    case, where, on = now.case, broken.where or "", broken.first
    floor = case.farm.brooders[where].floor_m2
    more = ceil(floor * (broken.has / max(broken.wanted, 1e-9) - 1.0) + 0.999)
    farm, name, terms = barn_more(case.farm, float(more), on)
    plan = now.plan
    for batch in there:
        for sex in SEXES:
            if _heads(now, batch, sex, where, on) >= SOMEBODY:
                until = min(_leaves(now, batch, sex, where, on), broken.last + A_DAY)
                stays = _moved(replace(now, plan=plan), batch, [sex], [where, name], on, until)
                plan = replace(plan, stays=stays)
    who = ", ".join(batch.id for batch in there)
    said = say("replan.mend_barn_more", m2=more, on=tell(case).day(on), batch=who)
    today = (say("replan.today_barn_more", m2=more),)
    return Idea("barn_more", said, replace(case, farm=farm), plan, terms, 2, today)


def for_house(now: Look, broken: Broken) -> Iterator[Idea]:
    """Too many hens in the house: the oldest flock out sooner."""
    case, on = now.case, max(broken.first, now.case.day + A_DAY)
    there = sorted(batches_in(now, broken.where or "", broken.first), key=lambda b: b.hatched_on)
    for batch in there[:1]:
        outs = tuple(o for o in now.plan.outs if o.batch != batch.id or o.on < on)
        said = say("replan.mend_hens_out", batch=batch.id, on=tell(case).day(on))
        plan = replace(now.plan, outs=(*outs, Out(batch.id, on)))
        yield Idea("hens_out", said, case, plan, today=(say("replan.today_hens_out", batch=batch.id),))


def for_roof(now: Look) -> Iterator[Idea]:
    """A housing order: the roofed shelters closed with mesh where the authority takes that for housed, so
    that birds stay where they are."""
    case = now.case
    if case.netted:
        return
    netted = replace(case, netted=True)
    plan = bent(netted)
    kept = {b.id: b for b in now.plan.batches}
    plan = replace(plan, batches=tuple(kept.get(b.id, b) for b in plan.batches))
    order = min(case.of("housing"), key=lambda s: s.first)
    used = {
        lot.place
        for i, lot in enumerate(now.season.lots)
        if lot.place in case.farm.shelters and now.season.heads[i].any()
    }
    used |= {g.place for g in case.state.groups if g.place in case.farm.shelters}
    hour = price(case, "labour")
    n = max(len(used), 1)
    term = Term("netting", None if hour is None else hour * NET_H * n, guess=True)
    said = say("replan.mend_net", n=n, on=tell(case).day(max(order.first, case.day)))
    yield Idea("net", said, netted, plan, (term,), n, (say("replan.today_net"),))
    yield from _all_inside(now, order.first, kept)


def _all_inside(now: Look, first: date, kept: Mapping[str, Batch]) -> Iterator[Idea]:
    """As much floor more under a roof as the birds that come in want on the worst day."""
    case = now.case
    more = _floor_more(now)
    if not 0.0 < more < MOST_FLOOR_M2:
        return
    m2 = ceil(more)
    since = max(first, case.day + A_DAY)
    farm, _, terms = barn_more(case.farm, float(m2), min(since, first) if first > case.day else case.day)
    wider = replace(case, farm=farm)
    plan = bent(wider)
    plan = replace(plan, batches=tuple(kept.get(b.id, b) for b in plan.batches))
    said = say("replan.mend_all_inside", m2=m2, on=tell(case).day(since))
    today = (say("replan.today_barn_more", m2=m2),)
    yield Idea("barn_more", said, wider, plan, terms, 2, today)


def _heads(now: Look, batch: Batch, sex: Sex, place: str, on: date) -> float:
    at = now.season.index(on)
    return sum(
        float(now.season.heads[i, at])
        for i, x in enumerate(now.season.lots)
        if x.batch == batch.id and x.sex == sex and x.place == place
    )


def _leaves(now: Look, batch: Batch, sex: Sex, place: str, on: date) -> date:
    """The first day from `on` on when none of them stands in a place any more."""
    last = now.season.day(now.season.days)
    while on < last and _heads(now, batch, sex, place, on) >= SOMEBODY:
        on += A_DAY
    return on


def _sexes(now: Look, batch: Batch, place: str, on: date) -> tuple[Sex, ...]:
    """Those of a batch in a place who go on together: both before they are sorted, else the sex with more
    heads there."""
    heads = {sex: _heads(now, batch, sex, place, on) for sex in SEXES}
    there = sorted((s for s in SEXES if heads[s] >= SOMEBODY), key=lambda s: -heads[s])
    sorting = next((b.sort_on for b in now.season.plan.batches if b.id == batch.id), None)
    return SEXES if there and (sorting is None or on < sorting) else tuple(there[:1])


def _free(now: Look, first: date, last: date) -> list[str]:
    """Shelters with nobody in them from `first` to `last`, the largest first."""
    season = now.season
    days = slice(max(season.index(first), 0), max(season.index(last), 0) + 1)
    names = [
        n
        for n, kit in now.case.farm.shelters.items()
        if kit.owned(first) and kit.owned(last) and season.places[n].heads[days].max(initial=0.0) < SOMEBODY
    ]
    return sorted(names, key=lambda n: -now.case.farm.shelters[n].floor_m2)


def _moved(
    now: Look, batch: Batch, sexes: Sequence[Sex], to: list[str], first: date, until: date
) -> tuple[Stay, ...]:
    """The stays of the plan with some sexes of a batch spread over their places and those in `to`, by floor,
    from `first` until `until`. Where they stand is taken from the season."""
    at, stays = now.season.index(first), now.plan.stays
    for sex in sexes:
        own = [
            x.place
            for i, x in enumerate(now.season.lots)
            if x.batch == batch.id
            and x.sex == sex
            and 0 <= at < now.season.days
            and now.season.heads[i, at] > 0
        ]
        stays = stood_in(stays, batch.id, sex, list(dict.fromkeys((*own, *to))), first, until)
    return stays


def _until(now: Look, batch: Batch, sexes: Sequence[Sex], first: date, last: date) -> date:
    """The day until which birds are moved from what passes a limit up to `last`: those not sorted yet until
    they are, at the longest."""
    sorting = next((b.sort_on for b in now.season.plan.batches if b.id == batch.id), None)
    until = last + A_DAY
    return min(until, sorting) if len(sexes) > 1 and sorting is not None and first < sorting else until
