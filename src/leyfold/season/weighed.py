"""Growth curves moved by weighings: the most likely curves between the start curves and the birds weighed.

The grown weight and the pace of both sexes are free, the weight at hatch stays: chicks weigh what their eggs
let them. Each weighing's mean has the chance of its sample, and one luck of growth goes through a batch. As
the start curve always has its say, one weighing moves the level, and only weighings at several ages bend it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leyfold.nature import growth
from leyfold.nouns.stock import SEXES, Growth, Line, Sex
from leyfold.season.evidence import Taken
from leyfold.season.shrink import spread

__all__ = ["moved_curves", "moved_spread", "weight_kg"]

Floats = NDArray[np.float64]

STEPS = 60
SMALL = 1e-7
"""Step of the central differences, in the logarithm of a parameter."""


def weight_kg(curve: Growth, age_d: float) -> float:
    """Weight of the mean bird by a growth curve."""
    A, k, t = curve.mature_kg.value, curve.rate_per_d.value, curve.inflection_d.value
    if curve.model == "gompertz":
        return float(growth.gompertz(age_d, mature_kg=A, rate_per_d=k, inflection_d=t))
    if curve.model == "logistic":
        return float(growth.logistic(age_d, mature_kg=A, scale_d=1.0 / k, inflection_d=t))
    assert curve.shape is not None
    return float(growth.richards(age_d, mature_kg=A, rate_per_d=k, inflection_d=t, shape=curve.shape.value))


def _bent(curve: Growth, by: Floats) -> Growth:
    """The curve with grown weight and pace moved by logarithms `by`, through the same weight at hatch."""
    mature, pace = curve.mature_kg.value * np.exp(by[0]), curve.rate_per_d.value * np.exp(by[1])
    at_hatch = weight_kg(curve, 0.0)
    if curve.model == "gompertz":
        turn = np.log(np.log(mature / at_hatch)) / pace
    elif curve.model == "logistic":
        turn = np.log(mature / at_hatch - 1.0) / pace
    else:
        assert curve.shape is not None
        bend = curve.shape.value - 1.0
        if at_hatch > 0.0 and bend != 0.0:
            turn = np.log(((at_hatch / mature) ** -bend - 1.0) / bend) / pace
        elif at_hatch > 0.0:
            turn = np.log(np.log(mature / at_hatch)) / pace
        else:
            turn = curve.inflection_d.value * curve.rate_per_d.value / pace
    return replace(
        curve,
        mature_kg=replace(curve.mature_kg, value=float(mature)),
        rate_per_d=replace(curve.rate_per_d, value=float(pace)),
        inflection_d=replace(curve.inflection_d, value=float(turn)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Weighings:
    """Means of one batch's weighings: logarithms seen, and what they are worth."""

    taken: tuple[Taken, ...]
    log_kg: Floats
    precision: Floats


def moved_curves(line: Line, weighings: Sequence[Sequence[Taken]], prior_sd: float) -> Mapping[Sex, Growth]:
    """Both sexes' most likely curves after the weighings of each batch; the start curves where there are
    none. `prior_sd` > 0: how far grown weight and pace may lie from the start, in logarithms."""
    batches = [_worth(line, taken) for taken in weighings if taken]
    start = {sex: line.of(sex).growth for sex in SEXES}
    if not batches:
        return start

    def curves(by: Floats) -> dict[Sex, Growth]:
        return {sex: _bent(start[sex], by[2 * i : 2 * i + 2]) for i, sex in enumerate(SEXES)}

    def misses(by: Floats) -> list[Floats]:
        now = curves(by)
        return [b.log_kg - np.log([_mean_kg(line, now, t) for t in b.taken]) for b in batches]

    def badness(by: Floats) -> float:
        parts = (r @ b.precision @ r for r, b in zip(misses(by), batches, strict=True))
        return float(by @ by / prior_sd**2 + sum(parts))

    by = np.zeros(2 * len(SEXES))
    for _ in range(STEPS):
        slopes = _slopes(misses, by)
        pull = by / prior_sd**2
        curvature = np.eye(by.size) / prior_sd**2
        for miss, slope, batch in zip(misses(by), slopes, batches, strict=True):
            pull = pull + slope.T @ batch.precision @ miss
            curvature = curvature + slope.T @ batch.precision @ slope
        step = -np.linalg.solve(curvature, pull)
        while badness(by + step) > badness(by) and np.abs(step).max() > 1e-13:
            step = step / 2.0
        by = by + step
        if np.abs(step).max() < 1e-11:
            break
    return curves(by)


def _slopes(misses: Callable[[Floats], list[Floats]], by: Floats) -> list[Floats]:
    columns = []
    for i in range(by.size):
        nudge = np.zeros(by.size)
        nudge[i] = SMALL
        up, down = misses(by + nudge), misses(by - nudge)
        columns.append([(u - d) / (2.0 * SMALL) for u, d in zip(up, down, strict=True)])
    return [np.column_stack([column[b] for column in columns]) for b in range(len(columns[0]))]


def _worth(line: Line, taken: Sequence[Taken]) -> _Weighings:
    """Each mean varies by its sample, and all of a batch together by the luck of the batch."""
    start = {sex: line.of(sex).growth for sex in SEXES}
    alone = [_cv(line, start, t) ** 2 / len(t.weights_kg) for t in taken]
    luck = np.array([_batch_cv(line, t.sex) for t in taken])
    covariance = np.diag(alone) + np.outer(luck, luck)
    log_kg = np.log([np.mean(t.weights_kg) for t in taken])
    return _Weighings(tuple(taken), log_kg, np.linalg.inv(covariance))


def _mean_kg(line: Line, curves: Mapping[Sex, Growth], taken: Taken) -> float:
    if taken.sex is not None:
        return weight_kg(curves[taken.sex], taken.age_d)
    share = line.share_pullets.value
    return share * weight_kg(curves["pullet"], taken.age_d) + (1.0 - share) * weight_kg(
        curves["cockerel"], taken.age_d
    )


def _cv(line: Line, curves: Mapping[Sex, Growth], taken: Taken) -> float:
    """Spread of single birds; of unsorted ones that between the sexes too."""
    if taken.sex is not None:
        return max(line.of(taken.sex).weight_cv.value, 1e-6)
    share, mean = line.share_pullets.value, _mean_kg(line, curves, taken)
    parts: list[tuple[float, Sex]] = [(share, "pullet"), (1.0 - share, "cockerel")]
    second = sum(
        part * weight_kg(curves[sex], taken.age_d) ** 2 * (1.0 + line.of(sex).weight_cv.value ** 2)
        for part, sex in parts
    )
    return max(float(np.sqrt(max(second / mean**2 - 1.0, 0.0))), 1e-6)


def _batch_cv(line: Line, sex: Sex | None) -> float:
    if sex is not None:
        return line.of(sex).batch_weight_cv.value
    share = line.share_pullets.value
    return share * line.pullet.batch_weight_cv.value + (1.0 - share) * line.cockerel.batch_weight_cv.value


def moved_spread(prior: float, strength: float, weighings: Sequence[Taken]) -> float:
    """The spread of single birds of one sex, from the spreads about the mean of each weighing."""
    squares = freedom = 0.0
    for taken in weighings:
        weights = np.array(taken.weights_kg)
        squares += float(np.sum((weights / weights.mean() - 1.0) ** 2))
        freedom += weights.size - 1
    return spread(prior, strength, squares, freedom)
