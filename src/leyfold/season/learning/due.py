"""Eggs gathered and feed given, beside what the birds of each place were due to lay and eat meanwhile.

Records of a place bound spans of days: eggs were laid since the gathering before, feed lasts until it is next
given. A span longer than the usual one of its place is left out: something was not written down.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.record import BatchFacts, Count, State
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.bird import per_head
from leyfold.season.course import Course, course
from leyfold.season.dates import Window, dated
from leyfold.season.laying import laying

__all__ = ["Due", "due", "heads_in", "ran"]

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Due:
    """Of one batch: eggs gathered and expected, and kg of feed given and expected while it grew. Where
    batches share a place, what was seen is parted between them as it was expected."""

    eggs: float = 0.0
    eggs_due: float = 0.0
    feed_kg: float = 0.0
    feed_kg_due: float = 0.0


def due(farm: Farm, state: State) -> Mapping[str, Due]:
    """By batch. Expected is what the farm's figures say of the birds that were there, in an average year.

    Feed counts only where all birds of the place are still growing: what hens eat follows from their weight
    and lay, and has no figure of its own to learn.
    """
    found: dict[str, Due] = {}
    run = ran(farm, state)
    if run is None or not (state.eggs or state.fed_kg):
        return found
    each = per_head(farm, run, range(len(run.rows)), np.ones(len(run.rows)))
    ripe = laying(farm, run).ripe
    for place in sorted({count.place or "" for count in (*state.eggs, *state.fed_kg)}):
        heads = heads_in(farm, run, state, place)
        here = np.flatnonzero(heads.any(axis=1))
        heads, names = heads[here], [run.rows[i].batch.id for i in here]
        growing = np.logical_not(np.any((heads > 0) & ripe[here], axis=0))
        for number, span in _spans(state.eggs, place, state.day, run.window, backward=True):
            for batch, seen, was_due in _parts(names, heads[:, span] * each.eggs[here, span], number):
                it = found.setdefault(batch, Due())
                it.eggs += seen
                it.eggs_due += was_due
        for number, span in _spans(state.fed_kg, place, state.day, run.window, backward=False):
            if np.all(growing[span]):
                for batch, seen, was_due in _parts(names, heads[:, span] * each.feed_kg[here, span], number):
                    it = found.setdefault(batch, Due())
                    it.feed_kg += seen
                    it.feed_kg_due += was_due
    return found


def ran(farm: Farm, state: State, since: date = date.min) -> Course | None:
    """The course of the birds that were there on days from `since` on, by the days of their steps as they
    happened; None without any."""
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
    return course(farm, dated(farm, Plan(tuple(batches))), Window(monday, 7 * weeks))


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


def _spans(
    counts: Sequence[Count], place: str, day: date | None, window: Window, *, backward: bool
) -> list[tuple[float, slice]]:
    """What was counted and the days it is of, for spans no longer than usual, before `day`."""
    by_day: dict[date, float] = {}
    for count in counts:
        if count.place == place:
            by_day[count.on] = by_day.get(count.on, 0.0) + count.number
    days = sorted(by_day)
    spans = list(pairwise(days))
    if not spans or day is None:
        return []
    usual = median((b - a).days for a, b in spans)
    shift = timedelta(days=1 if backward else 0)
    return [
        (by_day[b if backward else a], slice(window.clipped(a + shift), window.clipped(b + shift)))
        for a, b in spans
        if (b - a).days <= usual and b + shift <= day
    ]


def _parts(batches: Sequence[str], expected: Floats, number: float) -> list[tuple[str, float, float]]:
    """Batch, its part of what was seen, and what was due from it; nothing where nothing was due. `expected`
    is [row, day of the span]."""
    rows = expected.sum(axis=1)
    whole = float(rows.sum())
    if whole <= 0.0:
        return []
    return [
        (batch, number * float(was_due) / whole, float(was_due))
        for batch, was_due in zip(batches, rows, strict=True)
        if was_due > 0.0
    ]
