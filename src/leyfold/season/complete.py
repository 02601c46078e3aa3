"""A plan in full: every date, every place, every share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm, Kit
from leyfold.nouns.plan import Batch, Plan, Stay
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, dated, window
from leyfold.season.filling.explicit import by_batch, uncovered, written
from leyfold.season.filling.fill import Fill, nowhere
from leyfold.season.filling.indoors import Rooms, floor_need_m2, house_size
from leyfold.season.party import Leg, Load, Party, all_takes, loads, row_legs
from leyfold.season.sound import PLAN, sound
from leyfold.words import say

__all__ = ["complete"]


def complete(farm: Farm, plan: Plan) -> Plan:
    """Fills what `plan` leaves open: dates by the ages of the line, incubators, brooders, shelters and
    houses by the rules of `season.filling`; splits a party on the day a limit is passed.
    Stays written in the plan stand as they are. A completed plan is returned as it is.

    Raises BadInput where the plan contradicts itself or the farm, eggs are set on a farm without an
    incubator, or birds come to one without a place that could take them.
    """
    if plan.completed:
        return plan
    sound(farm, plan)
    batches = dated(farm, plan)
    span = window(replace(plan, batches=batches))
    batches = _incubated(farm, batches, span)
    run = course(farm, batches, span)
    drafts = all_takes(run.rows, plan.outs)
    legs = [row_legs(run, drafts, i) for i in range(len(run.rows))]
    ways = _Ways(by_batch(plan.stays), run, legs, loads(farm, run, legs))
    batches = _housed(farm, ways, _brooded(farm, ways, batches))
    fill = Fill(farm, span, plan.stays)
    for batch in batches:
        fill.indoors(ways.brooding(batch))
        fill.indoors(ways.housing(batch))
    fill.at_grass([party for batch in batches for party in ways.at_grass(batch)])
    filled = [part for stay in fill.stays for part in _by_sex(run, legs, stay)]
    stays = [*written(farm, plan.stays, run, legs), *filled]
    stays += _gone_at_once(farm, batches, run, legs, stays)
    stays.sort(key=lambda s: (s.first, s.batch, s.sex or "", s.place))
    return replace(plan, batches=batches, stays=tuple(stays), completed=True)


def _by_sex(run: Course, legs: Sequence[tuple[Leg, ...]], stay: Stay) -> Iterator[Stay]:
    """A stay of unsorted birds as it is, or one for each sex once some of either have been taken."""
    first = run.window.index(stay.first)
    own = {} if stay.sex is not None else {sex: _leg(legs[run.row(stay.batch, sex)], first) for sex in SEXES}
    if all(leg is not None and leg.share == 1.0 for leg in own.values()):
        yield stay
        return
    for sex, leg in own.items():
        if leg is not None:
            yield replace(
                stay,
                id=f"{stay.batch}.{sex}.{stay.place}.{stay.first}",
                sex=sex,
                share=stay.share * leg.share,
                weight_factor=leg.factor,
            )


def _leg(legs: Sequence[Leg], day: int) -> Leg | None:
    return next((leg for leg in legs if leg.first <= day < leg.until), None)


def _gone_at_once(
    farm: Farm, batches: Sequence[Batch], run: Course, legs: Sequence[tuple[Leg, ...]], stays: Sequence[Stay]
) -> Iterator[Stay]:
    """A stay of no day for birds that leave on the day they come and whose place is not written down."""
    roomed = {batch.id: batch for batch in batches}
    placed = {(stay.batch, stay.sex, stay.first) for stay in stays if stay.first == stay.until}
    for i, (leg, *_) in ((i, own) for i, own in enumerate(legs) if own):
        row, day = run.rows[i], run.window.day(leg.first)
        come = run.alive[i, min(leg.first, run.window.days - 1)] > 0
        if leg.first == leg.until and come and (row.batch.id, row.sex, day) not in placed:
            batch = roomed[row.batch.id]
            house = batch.house if row.sex == "pullet" else None
            place = house or batch.brooder or next(iter(farm.shelters), None)
            if place is None:
                raise nowhere(row.batch.id, day)
            name = f"{row.batch.id}.{row.sex}.{place}.{day}.gone"
            yield Stay(name, row.batch.id, row.sex, place, day, day)


def _incubated(farm: Farm, batches: Sequence[Batch], span: Window) -> tuple[Batch, ...]:
    rooms = Rooms({name: kit.eggs for name, kit in farm.incubators.items()}, span.days)
    result = []
    for batch in batches:
        if batch.set_on is not None and batch.eggs is not None:
            need = np.zeros(span.days)
            need[span.clipped(batch.set_on) : span.clipped(batch.hatched_on)] = batch.eggs
            name = rooms.take(need, batch.incubator, _owned(farm.incubators, batch.set_on))
            if name is None:
                raise BadInput(
                    _fault(batch, say("season.no_incubator", batch=batch.id), say("season.no_incubator_mend"))
                )
            batch = replace(batch, incubator=name)
        result.append(batch)
    return tuple(result)


def _brooded(farm: Farm, ways: _Ways, batches: Sequence[Batch]) -> tuple[Batch, ...]:
    rooms = Rooms({name: kit.floor_m2 for name, kit in farm.brooders.items()}, ways.run.window.days)
    result = []
    for batch in batches:
        need = np.zeros(ways.run.window.days)
        for party in ways.brooding(batch):
            days = slice(party.first, party.until)
            need[days] = floor_need_m2(farm, party.load.heads, ways.age(batch))[days]
        name = rooms.take(need, batch.brooder, _owned(farm.brooders, batch.arrives_on))
        if name is None and need.any():
            raise BadInput(
                _fault(batch, say("season.no_brooder", batch=batch.id), say("season.no_brooder_mend"))
            )
        result.append(replace(batch, brooder=name))
    return tuple(result)


def _housed(farm: Farm, ways: _Ways, batches: Sequence[Batch]) -> tuple[Batch, ...]:
    rooms = Rooms({name: house_size(farm, name) for name in farm.houses}, ways.run.window.days)
    result = []
    for batch in batches:
        need = np.zeros(ways.run.window.days)
        for party in ways.hens(batch):
            need[party.first : party.until] = party.load.heads[party.first : party.until]
        on = max(batch.house_on or batch.arrives_on, batch.arrives_on)
        result.append(replace(batch, house=rooms.take(need, batch.house, _owned(farm.houses, on))))
    return tuple(result)


def _owned(kits: Mapping[str, Kit], on: date) -> Callable[[str], bool]:
    return lambda name: kits[name].owned(on)


def _fault(batch: Batch, wrong: str, mend: str) -> Fault:
    return Fault(PLAN, batch.id, wrong, mend)


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """The parties of each batch from step to step, where the farmer has not written their stays."""

    stays: Mapping[str, Sequence[Stay]]
    run: Course
    legs: Sequence[tuple[Leg, ...]]
    loads: Sequence[Load]

    def age(self, batch: Batch) -> NDArray[np.int64]:
        age: NDArray[np.int64] = self.run.age_d[self.run.row(batch.id, "pullet")]
        return age

    def brooding(self, batch: Batch) -> list[Party]:
        return list(self._together(batch, batch.arrives_on, batch.turnout_on, batch.brooder))

    def at_grass(self, batch: Batch) -> list[Party]:
        whole = list(self._together(batch, batch.turnout_on, batch.sort_on, batch.brooder))
        parted = [
            replace(
                party,
                before=next((w for w in whole if w.until == party.first and w.sex in (None, sex)), None),
            )
            for sex in SEXES
            for party in self._apart(batch, sex, batch.sort_on, self._leaves_grass(batch, sex), batch.brooder)
        ]
        return [*whole, *parted]

    def hens(self, batch: Batch) -> list[Party]:
        """From the day of housing on, be there a house or not."""
        return list(self._apart(batch, "pullet", batch.house_on, None, batch.house))

    def housing(self, batch: Batch) -> list[Party]:
        return [] if batch.house is None else self.hens(batch)

    def _leaves_grass(self, batch: Batch, sex: Sex) -> date | None:
        return None if sex == "cockerel" or batch.house is None else batch.house_on

    def _together(
        self, batch: Batch, first: date | None, until: date | None, former: str | None
    ) -> Iterator[Party]:
        """Both sexes as one party, unless the farmer has placed them differently."""
        spans = [self._open(batch, sex, first, until) for sex in SEXES]
        if spans[0] != spans[1]:
            for sex in SEXES:
                yield from self._apart(batch, sex, first, until, former)
            return
        if not spans[0]:
            return
        rows = [self.run.row(batch.id, sex) for sex in SEXES]
        load = Load(*(np.sum([getattr(self.loads[r], x) for r in rows], axis=0) for x in Load.__slots__))
        edges = sorted({day for r in rows for leg in self.legs[r] for day in (leg.first, leg.until)})
        whole = [Leg(start, end, 1.0, 1.0) for start, end in pairwise(edges)]
        for span in spans[0]:
            yield from self._party(batch, None, span, whole, load, former)

    def _apart(
        self, batch: Batch, sex: Sex, first: date | None, until: date | None, former: str | None
    ) -> Iterator[Party]:
        row = self.run.row(batch.id, sex)
        for span in self._open(batch, sex, first, until):
            yield from self._party(batch, sex, span, self.legs[row], self.loads[row], former)

    def _open(self, batch: Batch, sex: Sex, first: date | None, until: date | None) -> list[tuple[int, int]]:
        """Day spans of first..until, from arrival on, that no written stay covers."""
        window = self.run.window
        start = window.clipped(max(first or batch.arrives_on, batch.arrives_on))
        end = window.days if until is None else window.clipped(until)
        return uncovered(self.stays.get(batch.id, ()), sex, window, start, end)

    def _party(
        self,
        batch: Batch,
        sex: Sex | None,
        span: tuple[int, int],
        legs: Sequence[Leg],
        load: Load,
        former: str | None,
    ) -> Iterator[Party]:
        cut = [
            replace(leg, first=max(leg.first, span[0]), until=min(leg.until, span[1]))
            for leg in legs
            if max(leg.first, span[0]) < min(leg.until, span[1])
        ]
        if cut and load.heads[cut[0].first] > 0:
            yield Party(batch.id, sex, tuple(cut), load, (former,) if former else ())
