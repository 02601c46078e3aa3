"""Eggs gathered and feed given, beside what the birds of each place were due to lay and eat meanwhile.

Records of a place bound spans of days: eggs were laid since the gathering before, feed lasts until it is next
given. A span longer than the usual one of its place is left out: something was not written down.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Grown, Kept
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.record import BatchFacts, Count, State
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.bird import PerHead, per_head
from leyfold.season.course import Course, course, one_bird
from leyfold.season.dates import Window, dated
from leyfold.season.laying import laying

__all__ = ["Due", "Each", "due", "each_of", "heads_in"]

Floats = NDArray[np.float64]

_Sums = Mapping[str, Mapping[int, float]]
_ADDED: Grown[Count, _Sums] = Grown(12)
"""Eggs and feed added up before: they grow at their end, day by day."""


@dataclass(slots=True)
class Due:
    """Of one batch: eggs gathered and expected, and kg of feed given and expected while it grew. Where
    batches share a place, what was seen is parted between them as it was expected."""

    eggs: float = 0.0
    eggs_due: float = 0.0
    feed_kg: float = 0.0
    feed_kg_due: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Each:
    """The course of batches and what one bird of each row of it eats, drinks and lays; `ripe` [row, day]:
    past point of lay. How many are alive is not said."""

    run: Course
    each: PerHead
    ripe: NDArray[np.bool_]


_EACH: Kept[Each] = Kept(4)


@dataclass(frozen=True, slots=True, eq=False)
class Spans:
    """What was `counted` over the days from each start up to its stop [span]: in order, none in another."""

    counted: Floats
    starts: NDArray[np.int64]
    stops: NDArray[np.int64]

    def of(self, which: NDArray[np.bool_]) -> Spans:
        return Spans(self.counted[which], self.starts[which], self.stops[which])


def due(farm: Farm, state: State) -> Mapping[str, Due]:
    """By batch. Expected is what the farm's figures say of the birds that were there, in an average year.

    Feed counts only where all birds of the place are still growing: what hens eat follows from their weight
    and lay, and has no figure of its own to learn.
    """
    found: dict[str, Due] = {}
    one = each_of(farm, state)
    if one is None or not (state.eggs or state.fed_kg):
        return found
    run, each, ripe = one.run, one.each, one.ripe
    eggs, fed = by_place(state.eggs), by_place(state.fed_kg)
    for place in sorted({*eggs, *fed}):
        heads = heads_in(farm, run, state, place)
        here = np.flatnonzero(heads.any(axis=1))
        heads, names = heads[here], [run.rows[i].batch.id for i in here]
        growing = np.logical_not(np.any((heads > 0) & ripe[here], axis=0))
        spans = _spans(eggs.get(place, {}), state.day, run.window, backward=True)
        for batch, seen, was_due in _parts(names, heads * each.eggs[here], spans):
            it = found.setdefault(batch, Due())
            it.eggs += seen
            it.eggs_due += was_due
        spans = _spans(fed.get(place, {}), state.day, run.window, backward=False)
        old = np.cumsum(np.append(0, ~growing))
        spans = spans.of(old[spans.starts] == old[spans.stops])
        for batch, seen, was_due in _parts(names, heads * each.feed_kg[here], spans):
            it = found.setdefault(batch, Due())
            it.feed_kg += seen
            it.feed_kg_due += was_due
    return found


def by_place(counts: Sequence[Count]) -> _Sums:
    """What was counted by place and day (ordinal)."""
    return _ADDED.get(None, tuple(counts), {}, _added)


def _added(sums: _Sums, counts: Sequence[Count]) -> _Sums:
    made = {place: dict(days) for place, days in sums.items()}
    for count in counts:
        days = made.setdefault(count.place or "", {})
        on = count.on.toordinal()
        days[on] = days.get(on, 0.0) + count.number
    return made


def each_of(farm: Farm, state: State, since: date = date.min) -> Each | None:
    """Of the birds that were there on days from `since` on, by the days of their steps as they happened; None
    without any."""
    there = {spell.batch for spell in state.spells if spell.until > since}
    batches = [
        _batch(farm, state, facts)
        for facts in state.batches.values()
        if facts.hatched_on is not None and (since == date.min or facts.batch in there)
    ]
    if not batches or state.day is None:
        return None
    first = max(since, min(batch.arrives_on for batch in batches))
    monday = first - timedelta(days=first.weekday())
    weeks = (state.day - monday).days // 7 + 1
    # What one bird does hangs on no loss: so that a death leaves it as it was.
    farm = replace(farm, lines={name: one_bird(line) for name, line in farm.lines.items()})
    there_then, window = dated(farm, Plan(tuple(batches))), Window(monday, 7 * weeks)
    return _EACH.get((farm, there_then, window), lambda: _each(farm, there_then, window))


def _each(farm: Farm, batches: Sequence[Batch], window: Window) -> Each:
    run = course(farm, batches, window)
    each = per_head(farm, run, range(len(run.rows)), np.ones(len(run.rows)))
    return Each(run, each, laying(farm, run).ripe)


def _batch(farm: Farm, state: State, facts: BatchFacts) -> Batch:
    assert facts.hatched_on is not None
    spells = sorted((s for s in state.spells if s.batch == facts.batch), key=lambda s: s.first)
    outside = next((s.first for s in spells if s.place not in farm.brooders), None)
    housed = next((s for s in spells if s.place in farm.houses and s.sex != "cockerel"), None)
    return Batch(
        id=facts.batch,
        line=facts.line,
        origin="present",
        hatched_on=facts.hatched_on,
        arrives_on=facts.arrived_on or facts.hatched_on,
        heads=dict.fromkeys(SEXES, 1.0),
        turnout_on=outside,
        sort_on=None if outside is None or facts.sorted_on is None else max(facts.sorted_on, outside),
        house=None if housed is None else housed.place,
    )


def heads_in(farm: Farm, run: Course, state: State, place: str) -> Floats:
    """[row, day] birds in a place, unsorted ones by the share of their sex."""
    heads = np.zeros(run.age_d.shape)
    last = run.window.first
    for spell in state.spells:
        if spell.place == place and spell.until > last:
            pullets = farm.lines[state.batches[spell.batch].line].share_pullets.value
            shares: Mapping[Sex, float] = (
                {"pullet": pullets, "cockerel": 1.0 - pullets} if spell.sex is None else {spell.sex: 1.0}
            )
            days = slice(run.window.clipped(spell.first), run.window.clipped(spell.until))
            for sex, share in shares.items():
                heads[run.row(spell.batch, sex), days] += share * spell.heads
    return heads


def _spans(by_day: Mapping[int, float], day: date | None, window: Window, *, backward: bool) -> Spans:
    """What was counted and the days it is of, for spans no longer than usual that ended before `day`: what is
    gathered today is not all yet."""
    days = np.fromiter(by_day, dtype=np.int64, count=len(by_day))
    past = np.flatnonzero(days < (0 if day is None else day.toordinal()))
    order = past[np.argsort(days[past])]
    none = np.zeros(0, dtype=np.int64)
    if len(order) < 2:
        return Spans(np.zeros(0), none, none)
    on = days[order]
    counted = np.fromiter(by_day.values(), dtype=np.float64, count=len(by_day))[order]
    long = np.diff(on)
    edges = np.clip(on + (1 if backward else 0) - window.first.toordinal(), 0, window.days)
    usual = long <= np.median(long)
    spans = Spans(counted[1:] if backward else counted[:-1], edges[:-1], edges[1:])
    return spans.of(usual & (edges[:-1] < edges[1:]))


def _parts(batches: Sequence[str], expected: Floats, spans: Spans) -> list[tuple[str, float, float]]:
    """Batch, its part of what was seen in all spans, and what was due from it; nothing of a span in which
    nothing was due. `expected` is [row, day]."""
    if not len(spans.counted) or not len(expected):
        return []
    edges = np.stack((spans.starts, spans.stops), axis=1).ravel()
    # One column more, so that a span may end with the last day.
    padded = np.pad(expected, ((0, 0), (0, 1)))
    rows = np.add.reduceat(padded, edges, axis=1)[:, ::2]
    whole = rows.sum(axis=0)
    counted = whole > 0.0
    share = rows[:, counted] * (spans.counted[counted] / whole[counted])
    seen, was_due = share.sum(axis=1).tolist(), rows[:, counted].sum(axis=1).tolist()
    return [part for part in zip(batches, seen, was_due, strict=True) if part[2] > 0.0]
