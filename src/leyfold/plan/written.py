"""An answer of the model as a plan to be edited: sets with their days, and who stands in which shelter."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from leyfold.nouns.plan import Batch, Out, Plan, Stay
from leyfold.plan.give_out import Run, give_out
from leyfold.plan.model import Choice, Model
from leyfold.plan.offers import as_batch
from leyfold.plan.problem import Problem, Sub
from leyfold.plan.share import cut, taken_joins
from leyfold.plan.steady import steady

__all__ = ["chosen_plan", "taken_ways"]

NAME = 34
"""Letters of a batch's name that go into those of its stays: names have no more than 40."""
MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Taken:
    """An offer taken up: its way of killing and the batch it becomes."""

    offer: int
    way: int
    batch: Batch


def taken_ways(model: Model, values: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """The offers that an answer takes up, each with its way of killing."""
    return tuple(
        (o, next(j for j, way in enumerate(model.cocks[o]) if values[way.taken]))
        for o, choice in enumerate(model.offers)
        if values[choice.taken]
    )


def chosen_plan(model: Model, values: Sequence[int], *, calm: bool = False) -> Plan:
    """What is fixed, with the sets chosen, every day of theirs and every shelter, and old hens' last day.
    `calm`: shelters are given out anew so that birds change theirs as seldom as can be, which takes longer.
    """
    p = model.problem
    used = {batch.id for batch in p.plan.batches}
    taken: dict[int, _Taken] = {}
    for o, way in taken_ways(model, values):
        name = _name(p, o, used)
        used.add(name)
        batch = as_batch(
            p.offers[o], p.offers[o].drafts[way], name, values[model.offers[o].trays] * model.tray, p.farm,
            incubator=_place(model.machine, o, values),
            brooder=_place(model.brooder, o, values),
            house=_place(model.house, o, values),
        )  # fmt: skip
        taken[o] = _Taken(o, way, batch)
    leaving = {batch.id for batch, _ in p.flocks}
    outs = [out for out in p.plan.outs if out.batch not in leaving]
    for (f, k), variable in model.flocks.items():
        batch, choices = p.flocks[f]
        day = choices[k].out
        if values[variable] and day is not None:
            outs.append(Out(batch.id, day))
    return replace(
        p.plan,
        batches=(*p.plan.batches, *(t.batch for t in taken.values())),
        stays=_named(
            [stay for stay in p.plan.stays if stay.batch in leaving],
            [*_kept(p), *_stays(model, values, taken, calm)],
        ),
        outs=tuple(outs),
        first=p.plan.first or p.span.first,
        last=p.plan.last or p.span.day(p.span.days - 1),
        origin="planner",
        completed=False,
    )


def _place(of: Mapping[tuple[int, str], Choice], o: int, values: Sequence[int]) -> str | None:
    return next((name for (i, name), c in of.items() if i == o and values[c.taken]), None)


def _kept(p: Problem) -> Iterator[Stay]:
    """Where birds that are fixed stand, as `season.complete` put them: nobody moves them for others."""
    for stay in p.fixed.stays:
        if stay.first < stay.until:
            yield replace(stay, share=1.0, weight_factor=1.0, heads=_heads(p, stay))


def _named(written: Sequence[Stay], stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """Stays called by batch and number, as the plan's file wants names; those written before as they are."""
    used, count = {stay.id for stay in written}, dict[str, int]()
    found = list(written)
    for stay in stays:
        while True:
            count[stay.batch] = count.get(stay.batch, 0) + 1
            name = f"{stay.batch[:NAME]}-{count[stay.batch]}"
            if name not in used:
                break
        used.add(name)
        found.append(replace(stay, id=name))
    return tuple(found)


def _heads(p: Problem, stay: Stay) -> float | None:
    """Heads of a stay that shares its birds with others, None where it holds them all."""
    together = [
        s
        for s in p.fixed.stays
        if s.batch == stay.batch
        and (s.sex == stay.sex or None in (s.sex, stay.sex))
        and s.first < stay.until
        and stay.first < s.until
    ]
    if len(together) == 1:
        return None
    at = p.span.clipped(stay.first)
    rows = [i for i, lot in enumerate(p.season.lots) if lot.stay == stay.id]
    return float(p.season.heads[rows, min(at, p.span.days - 1)].sum())


def _name(p: Problem, o: int, used: Collection[str]) -> str:
    """The month of the set, with the day where the month has more than one."""
    offer = p.offers[o]
    month = MONTHS[offer.set_on.month - 1]
    on = f"{month}-{offer.set_on.day}"
    tries = (month, on, f"{on}-{offer.line}", *(f"{on}-{i}" for i in range(2, 1000)))
    return next(name for name in tries if name not in used)


def _stays(model: Model, values: Sequence[int], taken: Mapping[int, _Taken], calm: bool) -> Iterator[Stay]:
    """Who is in which shelter: a party keeps its own as long as it may, and takes those left otherwise."""
    p = model.problem
    wanted: dict[int, Mapping[int, int]] = {}
    for (s, k), number in model.shelters.items():
        if values[number] and _there(p.subs[s], taken):
            wanted[s] = {**wanted.get(s, {}), k: values[number]}
    for s in model.one:
        if _there(p.subs[s], taken):
            wanted[s] = {}
    joins = taken_joins(model, values)
    p, wanted = cut(p, wanted, joins)
    runs = give_out(p, wanted, joins)
    if calm:
        many = {s: sum(counts.values()) or 1 for s, counts in wanted.items()}
        trays = {s: values[model.offers[p.subs[s].offer].trays] for s in wanted}
        runs = steady(p, many, trays, runs, joins)
    for run in runs:
        sub = p.subs[run.sub]
        mine = taken[sub.offer]
        heads = _heads_each(p, run, values[model.offers[sub.offer].trays])
        for name in run.names:
            yield Stay(
                "", mine.batch.id, sub.sex, name, p.span.day(run.first), p.span.day(run.until),
                heads=None if heads is None else heads[name],
            )  # fmt: skip


def _there(sub: Sub, taken: Mapping[int, _Taken]) -> bool:
    return sub.offer in taken and (sub.sex != "cockerel" or sub.way == taken[sub.offer].way)


def _heads_each(p: Problem, run: Run, trays: int) -> dict[str, float] | None:
    """Heads in each shelter on the first day there; None where they are spread by floor, which suits all but
    limits by head and shelters that move more or less often."""
    sub, names = p.subs[run.sub], run.names
    of = {name: k for k, kind in enumerate(p.classes) for name in kind.names if name in names}
    holds = {name: 1.0 / p.need(sub, of[name]) for name in names}
    per_m2 = [holds[name] / p.classes[of[name]].floor_m2 for name in names]
    if max(per_m2) - min(per_m2) < 1e-9 * max(per_m2):
        return None
    load = float(p.load(sub)[0, max(run.first - sub.first, 0)]) * trays
    return {name: round(load * holds[name] / sum(holds.values()), 2) for name in names}
