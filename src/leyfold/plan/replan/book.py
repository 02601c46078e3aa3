"""The book of the day: the records, what the plan says of birds nobody wrote of, and what is supposed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from leyfold.feed.demand import demand
from leyfold.feed.orders import plan_orders
from leyfold.feed.stores import BAGS, stores
from leyfold.log.fold import fold
from leyfold.nature.growth import by_curve
from leyfold.nouns.clock import instant
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.record import Group, Record, State
from leyfold.nouns.replanned import Alive
from leyfold.nouns.season import Season
from leyfold.plan.replan.suppose import Supposed
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.words import say

__all__ = ["assumed", "folded", "standing"]

MIDNIGHT = time(0, 1)
BOOKED = ("dead", "missing", "killed", "sold", "hatch", "fertile", "cockerels")
"""Kinds that are entries of the book; the others change the farm, the plan or the days."""

PLAN = "plan"
"""Who writes what a plan says and nobody else has written."""
KINDS = {"dead": "found dead", "missing": "missing", "killed": "killed", "sold": "sold"}


def assumed(
    farm: Farm, plan: Plan, state: State, day: date, supposed: Sequence[Supposed]
) -> tuple[Record, ...]:
    """Records that say of every batch without any that it is where the plan has it before the work of `day`,
    in whole birds: what a farm that keeps no records goes by. A step of the plan is done when its day is
    over, so that the day's own are still to be done. Feed in store goes by the plan's own orders."""
    written = [b.id for b in plan.batches if b.id not in state.batches]
    if not written:
        return ()
    season = expect(farm, complete(farm, plan))
    first = min((s.first for s in supposed if s.kind in BOOKED), default=day)
    day = min(day, max(first, season.first))
    hatching = {s.batch for s in supposed if s.kind == "hatch"}
    cocks = {s.batch: (s.number or 0.0) / 100.0 for s in supposed if s.kind == "cockerels"}
    found = [
        made
        for batch in season.plan.batches
        if batch.id in written
        for made in _of_batch(farm, season, batch, day, batch.id in hatching, cocks.get(batch.id))
    ]
    if not state.batches:
        found += _of_stores(farm, season, day)
    at = instant(day, MIDNIGHT, farm.holding.zone)
    return tuple(
        _record(f"0-{i:06}", min(at, when or at), kind, data) for i, (when, kind, data) in enumerate(found)
    )


Made = tuple[datetime | None, str, dict[str, Any]]
Heads = dict[tuple[str | None, str], int]
"""Birds of one batch by sex (None: not sorted) and place."""


def _of_batch(
    farm: Farm, season: Season, batch: Batch, day: date, hatches: bool, cocks: float | None
) -> Iterator[Made]:
    if batch.set_on is not None and batch.set_on < day and (day <= batch.hatched_on or hatches):
        when = instant(batch.set_on, time(12), farm.holding.zone)
        data = {"batch": batch.id, "line": batch.line, "eggs": batch.eggs, "stored_d": batch.stored_d}
        yield when, "set", data | ({"incubator": batch.incubator} if batch.incubator else {})
        return
    if batch.arrives_on >= day:
        return
    sexed = batch.sort_on is not None and batch.sort_on < day
    heads, killed = _now(season, batch, day, sexed)
    # All that came of one batch must have come on one day: the first killing, where some are gone already.
    first = min((on for on, _, _ in killed), default=day)
    came = None if first >= day else instant(first, MIDNIGHT, farm.holding.zone)
    for _, place, number in killed:
        heads["cockerel", place] = heads.get(("cockerel", place), 0) + number
    if sexed and cocks is not None:
        heads = _sexed_as_told(heads, cocks)
    of = {"batch": batch.id, "line": batch.line, "hatched_on": batch.hatched_on}
    for (sex, place), number in heads.items():
        if number > 0:
            yield came, "present", of | {"heads": number, "place": place} | ({"sex": sex} if sex else {})
    for on, place, number in killed:
        data = {"batch": batch.id, "sex": "cockerel", "place": place, "heads": number}
        yield instant(on, time(12), farm.holding.zone), "killed", data


def _now(season: Season, batch: Batch, day: date, sexed: bool) -> tuple[Heads, list[tuple[date, str, int]]]:
    """Whole birds of a batch by sex and place as the day before `day` left them, and cockerels killed before
    it by day and place."""
    at = min(max(season.index(day), 1), season.days)
    heads: dict[tuple[str | None, str], float] = {}
    killed = []
    for i, lot in enumerate(season.lots):
        if lot.batch != batch.id:
            continue
        key = (lot.sex if sexed else None, lot.place)
        left = float(season.heads[i, at - 1] - season.dead[i, at - 1])
        heads[key] = heads.get(key, 0.0) + left
        if lot.sex == "cockerel":
            killed += [
                (season.day(int(d)), lot.place, round(float(season.killed[i, d])))
                for d in season.killed[i, :at].nonzero()[0]
            ]
    whole = {key: round(number) for key, number in heads.items()}
    return whole, sorted(k for k in killed if k[2] > 0)


def _sexed_as_told(heads: Heads, cocks: float) -> Heads:
    """The same birds, so many of them cockerels, each sex in its own places in the proportions of before."""
    total = sum(heads.values())
    wanted = {"cockerel": round(total * cocks)}
    wanted["pullet"] = total - wanted["cockerel"]
    found: Heads = {}
    for sex, number in wanted.items():
        own = {key: n for key, n in heads.items() if key[0] == sex}
        left, there = number, sum(own.values())
        for key, n in own.items():
            found[key] = round(left * n / there) if there else 0
            left, there = left - found[key], there - n
    return found


def _of_stores(farm: Farm, season: Season, day: date) -> Iterator[Made]:
    """What each feed's bins and bags hold on the day when it was ordered as the plan asks."""
    wanted = demand(season)
    for store in stores(farm, State(), wanted):
        stock = plan_orders(store, wanted, season.first).stock_kg
        at = season.index(day)
        if store.has_kg is None or not 0 <= at < season.days or not stock[at] >= 0:
            continue
        names = [one.id for one in store.bins] or [store.feed]
        for name in names:
            yield None, "feed read", {"bin": name, "kg": round(float(stock[at]) / len(names), 1)}
        if store.bins and BAGS in store.known:
            yield None, "feed read", {"bin": store.feed, "kg": 0.0}


def _record(name: str, at: datetime, kind: str, data: Mapping[str, Any]) -> Record:
    return Record(name, PLAN, PLAN, at, at, kind, data)


def folded(
    farm: Farm, plan: Plan, records: Sequence[Record], supposed: Sequence[Supposed], at: datetime
) -> State:
    """The book at `at` with everything supposed of birds written into it. BadInput where it cannot be."""
    state = fold(farm, records, at)
    assumed_of = {str(one.data.get("batch")) for one in records if one.device == PLAN}
    for number, it in enumerate(s for s in supposed if s.kind in BOOKED):
        when = at if it.first == state.day else instant(it.first, time(12), farm.holding.zone)
        if when > at:
            fault = Fault(
                "leyfold replan", f'--if "{it.text}"', say("replan.not_yet"), say("replan.not_yet_mend")
            )
            raise BadInput(fault)
        made = [
            _record(f"~{number:03}-{i:03}", when, kind, data)
            for i, (kind, data) in enumerate(_said(farm, plan, state, it, it.batch in assumed_of))
        ]
        if it.kind == "hatch":
            made = [replace(one, at=_within_window(farm, plan, it, when)) for one in made]
        records = (*records, *made)
        state = fold(farm, records, at)
        ids = {one.id for one in made}
        asked = [q for q in state.questions if ids & set(q.about)]
        if asked:
            raise BadInput(*(Fault("leyfold replan", f'--if "{it.text}"', q.said, q.mend) for q in asked))
    return state


def _within_window(farm: Farm, plan: Plan, it: Supposed, when: datetime) -> datetime:
    """A hatch that is long past is written on its due day."""
    due = next(b.hatched_on for b in plan.batches if b.id == it.batch)
    return min(when, instant(due + timedelta(days=1), time(12), farm.holding.zone))


def _said(
    farm: Farm, plan: Plan, state: State, it: Supposed, assumed: bool
) -> Iterator[tuple[str, dict[str, Any]]]:
    number = round(it.number or 0)
    of: dict[str, Any] = {"batch": it.batch} if it.batch else {}
    if it.kind in KINDS:
        yield from _taken(state, it, KINDS[it.kind], number)
    elif it.kind == "hatch":
        batch = next((b for b in plan.batches if b.id == it.batch), None)
        brooder = (batch and batch.brooder) or next(iter(farm.brooders), None)
        yield "hatched", of | {"chicks": number, "place": it.places[0] if it.places else brooder}
    elif it.kind == "fertile":
        yield "candled", of | {"fertile": number}
    elif it.kind == "cockerels":
        own = [g for g in state.groups if g.batch == it.batch]
        if not own or not (assumed or any(g.sex is None for g in own)):
            name = "sorted_out" if own else "none_there"
            said = say(f"replan.{name}", batch=it.batch)
            raise BadInput(Fault("leyfold replan", f'--if "{it.text}"', said, say(f"replan.{name}_mend")))
        for group in own:
            if group.sex is None:
                cocks = round(group.heads * number / 100.0)
                pullets = group.heads - cocks
                yield "sorted", of | {"pullets": pullets, "cockerels": cocks, "place": group.place}


def _taken(state: State, it: Supposed, kind: str, number: int) -> Iterator[tuple[str, dict[str, Any]]]:
    """Birds taken from the groups that fit, in proportion to their heads, largest remainder first."""
    groups = [
        g
        for g in state.groups
        if (not it.places or g.place in it.places) and it.batch in (None, g.batch) and g.heads > 0
    ]
    heads = sum(g.heads for g in groups)
    if heads < number:
        where = ", ".join((*it.places, *((it.batch,) if it.batch else ())))
        fault = Fault(
            "leyfold replan",
            f'--if "{it.text}"',
            say("replan.too_many", number=number, heads=heads, where=where),
            say("replan.too_many_mend"),
        )
        raise BadInput(fault)
    exact = [number * g.heads / heads for g in groups]
    taken = [int(x) for x in exact]
    for i in sorted(range(len(groups)), key=lambda i: int(exact[i]) - exact[i])[: number - sum(taken)]:
        taken[i] += 1
    for group, n in zip(groups, taken, strict=True):
        if n > 0:
            of: dict[str, Any] = {"batch": group.batch, "place": group.place, "heads": n}
            yield kind, of | ({"sex": group.sex} if group.sex else {})


def standing(farm: Farm, state: State, day: date) -> tuple[Alive, ...]:
    """Who is alive where, youngest first, by the book."""
    kinds = (
        ("brooder", farm.brooders),
        ("shelter", farm.shelters),
        ("house", farm.houses),
        ("pen", farm.pens),
    )
    found = []
    for group in state.groups:
        if group.heads > 0:
            facts = state.batches[group.batch]
            age = 0 if facts.hatched_on is None else (day - facts.hatched_on).days
            kind = next((kind for kind, kits in kinds if group.place in kits), "pen")
            kg = _weight(farm, facts.line, group, age)
            found.append(Alive(group.place, kind, group.batch, group.sex, group.heads, age, kg))
    return tuple(sorted(found, key=lambda s: (s.age_d, s.place, s.batch, s.sex or "")))


def _weight(farm: Farm, line: str, group: Group, age_d: int) -> float:
    of = farm.lines[line]
    if group.sex is not None:
        return float(by_curve(of.of(group.sex).growth, age_d))
    pullets = of.share_pullets.value
    return pullets * float(by_curve(of.pullet.growth, age_d)) + (1.0 - pullets) * float(
        by_curve(of.cockerel.growth, age_d)
    )
