"""What the records say of each batch, in the terms of the figures they bear on. Counts only: what of them is
believed is for `season.learn`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import accumulate, pairwise

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import BatchFacts, State
from leyfold.nouns.stock import SEXES, Line, Sex
from leyfold.season.course import FIRST_WEEK_D, storage

__all__ = ["STAGES", "Seen", "Stage", "Taken", "Through", "seen"]

Stage = tuple[str, Sex | None]
"""A survival figure, and whose it is: None before sorting."""
STAGES: tuple[Stage, ...] = (
    ("survival_first_week", None),
    ("survival_brooder", None),
    ("survival_shelter", None),
    ("survival_grower", "pullet"),
    ("survival_grower", "cockerel"),
    ("survival_hen_year", "pullet"),
)
LOSSES = ("found dead", "culled", "missing", "found alive")
"""Those found alive again count below zero."""


@dataclass(slots=True)
class Through:
    """Birds of one batch in one stage: bird-days at risk, how many were lost, and the most there at once.
    Unsorted growers count in parts for each sex."""

    bird_days: float = 0.0
    lost: float = 0.0
    most: float = 0.0


@dataclass(frozen=True, slots=True)
class Taken:
    """One weighing: age, sex (None unsorted) and the weights."""

    age_d: int
    sex: Sex | None
    weights_kg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """One batch. `year` is that of its hatch, or of its setting before that; `fresh` the share of its hatch
    left by the storing of the eggs. None where nothing was written down."""

    batch: str
    line: str
    year: int
    fresh: float
    eggs: int | None
    fertile: int | None
    chicks: int | None
    pullets: int | None
    cockerels: int | None
    through: Mapping[Stage, Through] = field(default_factory=dict)
    weighings: tuple[Taken, ...] = ()


def seen(farm: Farm, state: State) -> tuple[Seen, ...]:
    """Every batch of which anything was written down, in the order of the records."""
    return tuple(_of(farm, state, facts) for facts in state.batches.values())


def _of(farm: Farm, state: State, facts: BatchFacts) -> Seen:
    line = farm.lines[facts.line]
    begun = facts.hatched_on or facts.set_on
    assert begun is not None, "a batch begins with its setting or its birds"
    hatched = facts.hatched_on
    weighings = () if hatched is None else facts.weighings
    return Seen(
        batch=facts.batch,
        line=facts.line,
        year=begun.year,
        fresh=storage(
            Batch(facts.batch, facts.line, "set", begun, begun, stored_d=facts.stored_d or 0), line
        ),
        eggs=facts.eggs,
        fertile=facts.fertile,
        chicks=facts.chicks if facts.origin == "set" else None,
        pullets=facts.pullets_at_sorting,
        cockerels=facts.cockerels_at_sorting,
        through={} if hatched is None else _through(farm, line, state, facts, hatched),
        weighings=tuple(Taken((w.on - hatched).days, w.sex, w.weights_kg) for w in weighings if hatched),
    )


def _through(
    farm: Farm, line: Line, state: State, facts: BatchFacts, hatched: date
) -> Mapping[Stage, Through]:
    found: dict[Stage, Through] = {}
    end = _last_look(state, facts)
    sorting = facts.sorted_on or hatched + timedelta(days=round(line.sort_d.value))
    edges = (hatched + timedelta(days=FIRST_WEEK_D), sorting)
    changes: dict[Stage, dict[date, float]] = {}
    for spell in state.spells:
        if spell.batch != facts.batch or spell.first >= end:
            continue
        last = min(spell.until, end)
        cuts = sorted({spell.first, last, *(e for e in edges if spell.first < e < last)})
        for first, until in pairwise(cuts):
            for stage, part in _stages(farm, line, edges, first, spell.place, spell.sex):
                heads = spell.heads * part
                found.setdefault(stage, Through()).bird_days += heads * (until - first).days
                change = changes.setdefault(stage, {})
                change[first] = change.get(first, 0.0) + heads
                change[until] = change.get(until, 0.0) - heads
    for stage, change in changes.items():
        found[stage].most = max(accumulate(change[day] for day in sorted(change)))
    for count in (*facts.dead, *facts.gone):
        if count.kind in LOSSES and state.day is not None and count.on < state.day:
            for stage, part in _stages(farm, line, edges, count.on, count.place or "", count.sex):
                found.setdefault(stage, Through()).lost += count.number * part
    return found


def _last_look(state: State, facts: BatchFacts) -> date:
    """The day after birds of the batch were last found lost, sent off, sorted or counted by hand. Later days
    do not count: that no loss is written down is no proof that none happened."""
    stood = {(s.place, s.first, s.until) for s in state.spells if s.batch == facts.batch}
    looks = [count.on for count in (*facts.dead, *facts.killed, *facts.gone)]
    looks += [facts.sorted_on] if facts.sorted_on else []
    looks += [
        count.on
        for count in state.head_counts
        if count.batch == facts.batch
        or (count.batch is None and any(p == count.place and a <= count.on < b for p, a, b in stood))
    ]
    return max(looks, default=date.min) + timedelta(days=1)


def _stages(
    farm: Farm, line: Line, edges: tuple[date, date], on: date, place: str, sex: Sex | None
) -> Iterator[tuple[Stage, float]]:
    """The stage of birds in a place on a day; of unsorted growers each sex by its share."""
    week, sorting = edges
    if on < week:
        yield ("survival_first_week", None), 1.0
    elif place in farm.brooders:
        yield ("survival_brooder", None), 1.0
    elif on < sorting:
        yield ("survival_shelter", None), 1.0
    else:
        pullets = line.share_pullets.value
        shares = {"pullet": pullets, "cockerel": 1.0 - pullets} if sex is None else {sex: 1.0}
        for each in SEXES:
            if each in shares:
                housed = each == "pullet" and place in (*farm.houses, *farm.pens)
                yield ("survival_hen_year" if housed else "survival_grower", each), shares[each]
