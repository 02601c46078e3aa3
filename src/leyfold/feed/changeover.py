"""From one feed to the next: by weight, not by age, and mixed over some days."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nature.growth import by_curve
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, FeedPhase, Line, Sex

__all__ = ["Change", "changes", "mixing", "reaches"]

Floats = NDArray[np.float64]

CLOSE = 1e-3
"""Of a weight: less than any scale for birds tells, and more than the sexes' losses move a mean."""


@dataclass(frozen=True, slots=True)
class Change:
    """The birds of `batch` (of `sex`, or all where None) go over to `feed`: planned by age on `by_age`, and
    begun on `on`, the day they weigh `weighs_kg`. `on` is None where they never do while they are here.
    Feed with the lime of layers goes by age alone, and `weighs_kg` is None."""

    batch: str
    sex: Sex | None
    feed: str
    by_age: date
    on: date | None
    weighs_kg: float | None
    shares: tuple[tuple[date, float], ...]
    """The share of the new feed on each day of mixing; the day after the last it is the only one."""


def mixing(days: int) -> tuple[float, ...]:
    """The share of the new feed on each of `days` days of mixing, in even steps: 1/5, 2/5, 3/5, 4/5 over
    four. ValueError below zero."""
    if days < 0:
        raise ValueError("days are 0 or more")
    return tuple(k / (days + 1) for k in range(1, days + 1))


def reaches(weight_kg: Floats, heads: Floats, wanted_kg: float) -> int | None:
    """The first day on which the mean bird weighs `wanted_kg`; `weight_kg` of one bird and `heads`, [lot,
    day]. None where that day does not come while any are here."""
    there = heads.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(there > 0, (heads * weight_kg).sum(axis=0) / there, 0.0)
    days = np.flatnonzero(mean >= wanted_kg * (1 - CLOSE))
    return int(days[0]) if len(days) else None


def changes(farm: Farm, described: Farm, season: Season, state: State) -> tuple[Change, ...]:
    """Every change of feed in the season, by batch and then by day.

    The weight it is meant for is the one the farm says, else what birds of that age weigh by the line as it
    was written (`described`): birds that grow ahead of it change early, and those behind it late. The last
    weighing of a batch moves its course of weights in proportion.
    """
    found = [
        change for batch in season.plan.batches for change in _of_batch(farm, described, season, state, batch)
    ]
    return tuple(found)


def _of_batch(farm: Farm, described: Farm, season: Season, state: State, batch: Batch) -> Iterator[Change]:
    line, days = farm.lines[batch.line], round(figure("feeding.change_over_d").value)
    bears = figure("feeding.calcium_grower_most").value
    for phase in sorted(line.feeding, key=lambda p: p.from_d):
        if phase.from_d == 0:
            continue
        rows = [
            i
            for i, lot in enumerate(season.lots)
            if lot.batch == batch.id and phase.sex in (None, lot.sex) and season.heads[i].any()
        ]
        if not rows:
            continue
        first = int(np.argmax(season.heads[rows].any(axis=0)))
        by_age = batch.hatched_on + timedelta(days=phase.from_d)
        calcium = farm.feeds[phase.feed].calcium
        if calcium is not None and calcium.value > bears:
            wanted: float | None = None
            on: date | None = by_age
        else:
            wanted = _meant_kg(described.lines[batch.line], phase, season, rows, first)
            weights = season.weight_kg[rows] * _weighed(season, state, batch.id, rows)
            day = reaches(weights, season.heads[rows], wanted)
            on = None if day is None else season.day(day)
            if on is not None and day == first:  # heavy enough when they came: the change was made before
                on = min(on, by_age)
        shares = tuple((on + timedelta(days=k), share) for k, share in enumerate(mixing(days))) if on else ()
        yield Change(batch.id, phase.sex, phase.feed, by_age, on, wanted, shares)


def _meant_kg(line: Line, phase: FeedPhase, season: Season, rows: list[int], first: int) -> float:
    """The weight a change is meant for: of the sexes that make it, by their heads on day `first`."""
    if phase.weighs_kg is not None:
        return phase.weighs_kg
    heads: Mapping[Sex, float] = {
        sex: sum(float(season.heads[i, first]) for i in rows if season.lots[i].sex == sex) for sex in SEXES
    }
    whole = sum(heads.values())
    return sum(heads[sex] / whole * float(by_curve(line.of(sex).growth, phase.from_d)) for sex in SEXES)


def _weighed(season: Season, state: State, batch: str, rows: list[int]) -> float:
    """What the birds weighed last against what was expected of them that day; 1 where none were."""
    facts = state.batches.get(batch)
    for weighing in reversed(facts.weighings if facts is not None else ()):
        day = season.index(weighing.on)
        of = [i for i in rows if weighing.sex in (None, season.lots[i].sex)]
        if not 0 <= day < season.days or not of:
            continue
        heads = season.heads[of, day]
        if heads.sum() > 0:
            expected = float((heads * season.weight_kg[of, day]).sum() / heads.sum())
            return float(np.mean(weighing.weights_kg)) / expected
    return 1.0
