"""The luck of one batch: chicks out of the eggs, sexes, growth, and the day each bird dies.

Every draw of a batch comes from streams of its own (`season.chances.streams`).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.losses import alive_share
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.stock import Line
from leyfold.season.chances.foxes import nightly_survival
from leyfold.season.chances.grass import Segment, nights
from leyfold.season.chances.streams import stream
from leyfold.season.course import YEAR_D, Row, stages, storage

__all__ = [
    "NEVER",
    "Stage",
    "chicks",
    "death_days",
    "growth",
    "hatch_chance",
    "pullets",
    "stages_of",
    "without_foxes",
]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

NEVER = np.iinfo(np.int16).max
"""Day of death of a bird that outlives its last stage."""


@dataclass(frozen=True, slots=True)
class Stage:
    """Days `first` until `until` (indices of the window, which may lie outside it) over which the share
    `survival` lives. `own`: the batch is sorted, so that each sex has its own luck."""

    name: int
    first: int
    until: int
    survival: float
    own: bool


def hatch_chance(batch: Batch, line: Line) -> tuple[int, float]:
    """Eggs that may hatch, and the chance of each: all that were set, or those found fertile."""
    rate = line.hatch_of_fertile.value * storage(batch, line)
    if batch.fertile is not None:
        return batch.fertile, rate
    assert batch.eggs is not None, "a set has eggs"
    return batch.eggs, rate * line.fertility.value


def chicks(batch: Batch, line: Line, *, n: int, seed: int, shared: bool) -> Ints:
    """[draw] birds that come: a beta-binomial hatch, or the heads bought or there before.

    `shared`: one fault or fortune goes through all batches, each hatching at the same point of its own
    spread. Heads that are not whole are rounded up or down by chance.
    """
    if batch.origin != "set":
        total = sum(batch.heads.values())
        whole = np.floor(total)
        return np.asarray(whole + (stream(seed, batch.id, "heads").random(n) < total - whole), dtype=np.int64)
    eggs, chance = hatch_chance(batch, line)
    steady = line.hatch_concentration.value
    if chance in (0.0, 1.0):
        rate = np.full(n, chance)
    elif shared:
        from scipy.special import betaincinv

        point = stream(seed, "hatch of all").random(n)
        rate = betaincinv(steady * chance, steady * (1.0 - chance), point)
    else:
        rate = stream(seed, batch.id, "hatch rate").beta(steady * chance, steady * (1.0 - chance), n)
    return stream(seed, batch.id, "hatch").binomial(eggs, rate)


def pullets(batch: Batch, line: Line, came: Ints, *, seed: int) -> Ints:
    """[draw] pullets among the birds that came. Nobody knows the sexes before sorting: until then they fall
    by chance, in the proportion of the heads where those are given."""
    if batch.origin == "set":
        share = line.share_pullets.value
    else:
        total = sum(batch.heads.values())
        share = batch.heads.get("pullet", 0.0) / total if total else 0.0
        if batch.sort_on is not None and batch.sort_on <= batch.arrives_on:
            known = share * came
            whole = np.floor(known)
            up = stream(seed, batch.id, "sexes").random(came.size) < known - whole
            return np.asarray(whole + up, dtype=np.int64)
    return stream(seed, batch.id, "sexes").binomial(came, share)


def growth(batch: Batch, *, n: int, seed: int) -> NDArray[np.float32]:
    """[draw] standard normal, one for the whole batch."""
    return stream(seed, batch.id, "growth").standard_normal(n, dtype=np.float32)


def stages_of(row: Row, arrives: int, until: int) -> tuple[Stage, ...]:
    """The stages the row still has before it on the day it arrives, the last going on to day `until`."""
    age = (row.batch.arrives_on - row.batch.hatched_on).days
    ends, survivals = stages(row)
    assert row.batch.sort_on is not None
    sorted_at = (row.batch.sort_on - row.batch.hatched_on).days
    # Past the last end whole years follow, so that nothing depends on where the window closes.
    later = range(YEAR_D, max(until - arrives + age - round(ends[-1]), 0) + YEAR_D, YEAR_D)
    edges = sorted(
        {age, *(round(e) for e in ends if e > age), *(max(round(ends[-1]), age) + d for d in later)}
    )
    share = alive_share(np.array(edges), ends_d=ends, survivals=survivals)
    return tuple(
        Stage(
            int(np.searchsorted(ends, a, side="right")) + a // YEAR_D,
            arrives + a - age,
            arrives + b - age,
            float(share[i + 1] / share[i]),
            a >= sorted_at,
        )
        for i, (a, b) in enumerate(pairwise(edges))
    )


def without_foxes(
    farm: Farm, stages: tuple[Stage, ...], spans: tuple[Segment, ...], day_0: int
) -> tuple[float, ...]:
    """The survival of each stage with what foxes cost on average left out, by the nights in shelters; at
    most 1. `day_0`: the ordinal from which the days of the stages count."""
    nightly = nightly_survival(farm)
    return tuple(
        min(s.survival / nightly ** nights(spans, day_0 + s.first, day_0 + s.until), 1.0) for s in stages
    )


def death_days(
    row: Row, stages: tuple[Stage, ...], base: tuple[float, ...], came: Ints, *, seed: int
) -> NDArray[np.int16]:
    """[bird, draw] day index on which each bird dies, NEVER if after the last stage; -1 for birds that
    never were. `base` is the survival of each stage, foxes left out.

    How many die in a stage is beta-binomial (the line's concentration), the sexes sharing their luck until
    they are sorted; when in it follows the constant daily rate of the mean, so that on every day the mean
    of the draws is the expected course.
    """
    n = came.size
    birds = int(came.max(initial=0))
    steady = row.line.loss_concentration.value
    edges = np.ones((len(stages) + 1, n), dtype=np.float32)
    for i, (stage, survival) in enumerate(zip(stages, base, strict=True)):
        edges[i + 1] = edges[i] * survival
        if 0.0 < survival < 1.0:
            whose = (row.batch.id, row.sex) if stage.own else (row.batch.id,)
            luck = stream(seed, *whose, "losses", stage.name)
            edges[i + 1] = edges[i] * luck.beta(steady * survival, steady * (1.0 - survival), n)
    fate = stream(seed, row.batch.id, row.sex, "deaths").random((birds, n), dtype=np.float32)
    days = np.full((birds, n), NEVER, dtype=np.int16)
    dying = np.flatnonzero(fate >= edges[-1])
    at, draw = fate.reshape(-1)[dying], dying % n
    lived = np.zeros(dying.size, dtype=np.intp)
    for edge in edges[1:-1]:
        lived += at < edge[draw]
    upper, lower = edges[lived, draw], edges[lived + 1, draw]
    part = np.clip((upper - at) / np.maximum(upper - lower, 1e-9), 0.0, 1.0)
    first = np.array([s.first for s in stages])
    length = np.array([s.until - s.first for s in stages])
    lost = 1.0 - np.array(base)
    # A constant daily rate, turned round; with none left it is even over the stage.
    pace = np.array([-1.0 / np.log(b) if 0.0 < b < 1.0 else 0.0 for b in base])
    when = np.where(
        lost[lived] < 1.0, -np.log1p(-part * np.minimum(lost[lived], 0.999999999)) * pace[lived], part
    )
    day = first[lived] + np.minimum((when * length[lived]).astype(np.int64), length[lived] - 1)
    days.reshape(-1)[dying] = day
    days[np.arange(birds)[:, None] >= came] = -1
    return days
