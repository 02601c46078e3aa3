"""An answer of the model as a plan to be edited: sets with their days, and who stands in which shelter."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import cast

from leyfold.nouns.plan import Batch, Out, Plan, Stay
from leyfold.nouns.stock import Sex
from leyfold.plan.model import Choice, Model
from leyfold.plan.offers import as_batch
from leyfold.plan.problem import Problem, Sub

__all__ = ["chosen_plan", "taken_offers"]

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


def taken_offers(model: Model, values: Sequence[int]) -> tuple[int, ...]:
    """The offers that an answer takes up."""
    return tuple(o for o, choice in enumerate(model.offers) if values[choice.taken])


def chosen_plan(model: Model, values: Sequence[int]) -> Plan:
    """What is fixed, with the sets chosen, every day of theirs and every shelter, and old hens' last day."""
    p = model.problem
    used = {batch.id for batch in p.plan.batches}
    taken: dict[int, _Taken] = {}
    for o in taken_offers(model, values):
        name = _name(p, o, used)
        used.add(name)
        way = next(j for j, choice in enumerate(model.cocks[o]) if values[choice.taken])
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
            [*_kept(p), *_stays(model, values, taken)],
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


def _stays(model: Model, values: Sequence[int], taken: Mapping[int, _Taken]) -> list[Stay]:
    """Shelters of a class given out in order of day: a party that goes on keeps its own."""
    p = model.problem
    stays: list[Stay] = []
    for s, places in _give_out(model, values, taken).items():
        sub = p.subs[s]
        mine = taken[sub.offer]
        way = mine.way if sub.sex == "cockerel" else sub.ways[0]
        floors = {name: p.classes[k].floor_m2 for name, k in places}
        # Spread by floor, unless a class holds more or less than its floor says (heads, fewer moves).
        holds = {name: _holds(p, sub, way, k) for name, k in places}
        per_m2 = [holds[name] / floors[name] for name in holds]
        alike = max(per_m2) - min(per_m2) < 1e-9 * max(per_m2)
        load = float(p.load(sub, way)[0, 0]) * values[model.offers[sub.offer].trays]
        for name in holds:
            first, until = p.span.day(sub.first), p.span.day(sub.until)
            stays.append(
                Stay(
                    f"{mine.batch.id}-{sub.sex or 'all'}-{name}-{first:%m%d}",
                    mine.batch.id,
                    cast("Sex | None", sub.sex),
                    name,
                    first,
                    until,
                    heads=None if alike else round(load * holds[name] / sum(holds.values()), 2),
                )
            )
    return list(_joined(stays))


def _joined(stays: Sequence[Stay]) -> Iterator[Stay]:
    """Stays that follow one another with the same companions are one."""
    together: dict[tuple[object, ...], frozenset[tuple[str, float | None]]] = {}
    for stay in stays:
        span = (stay.batch, stay.sex, stay.first, stay.until)
        together[span] = together.get(span, frozenset()) | {(stay.place, stay.heads)}
    open_: dict[tuple[object, ...], Stay] = {}
    with_: dict[tuple[object, ...], frozenset[tuple[str, float | None]]] = {}
    for stay in sorted(stays, key=lambda s: (s.first, s.batch, s.sex or "", s.place)):
        key = (stay.batch, stay.sex, stay.place)
        mates = together[stay.batch, stay.sex, stay.first, stay.until]
        last = open_.get(key)
        plain = all(heads is None for _, heads in mates)
        if last is not None and last.until == stay.first and with_[key] == mates and plain:
            open_[key] = replace(last, until=stay.until)
        else:
            if last is not None:
                yield last
            open_[key] = stay
        with_[key] = mates
    yield from open_.values()


def _holds(p: Problem, sub: Sub, way: int, k: int) -> float:
    """Trays that one shelter of a class holds."""
    return 1.0 / p.need(sub, way, k)


def _give_out(
    model: Model, values: Sequence[int], taken: Mapping[int, _Taken]
) -> dict[int, list[tuple[str, int]]]:
    p = model.problem
    wanted: dict[int, dict[int, int]] = {}
    for (s, k), number in model.shelters.items():
        sub = p.subs[s]
        gone = sub.offer in taken and sub.sex == "cockerel" and taken[sub.offer].way not in sub.ways
        if values[number] and sub.offer in taken and not gone:
            wanted.setdefault(s, {})[k] = values[number]
    free_from = {name: 0 for kind in p.classes for name in kind.names}
    given: dict[int, list[tuple[str, int]]] = {}

    def before(s: int) -> list[str]:
        """Shelters that the party, or the one it was parted from, has had up to now."""
        sub = p.subs[s]
        return [
            name
            for other, places in given.items()
            if p.subs[other].until == sub.first
            and p.subs[other].offer == sub.offer
            and p.subs[other].sex in (None, sub.sex)
            for name, _ in places
        ]

    for s in sorted(wanted, key=lambda s: (p.subs[s].first, not _goes_on(p, wanted, s), s)):
        sub = p.subs[s]
        own = before(s)
        places: list[tuple[str, int]] = []
        for k, count in wanted[s].items():
            kind = p.classes[k]
            free = [
                name
                for name, there in zip(kind.names, kind.free, strict=True)
                if free_from[name] <= sub.first and there[sub.first : sub.until].all()
            ]
            free.sort(key=lambda name: name not in own)
            assert len(free) >= count, "the model gave out more shelters than there are"
            places += [(name, k) for name in free[:count]]
        for name, _ in places:
            free_from[name] = sub.until
        given[s] = places
    return given


def _goes_on(p: Problem, wanted: Collection[int], s: int) -> bool:
    """Whether a party was at grass the day before: it chooses first, to keep what it has."""
    sub = p.subs[s]
    return any(
        p.subs[o].until == sub.first and p.subs[o].offer == sub.offer and p.subs[o].sex in (None, sub.sex)
        for o in wanted
    )
