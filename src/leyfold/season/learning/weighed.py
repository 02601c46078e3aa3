"""Growth curves moved by weighings: the most likely curves between the start curves and the birds weighed.

The grown weight and the pace of both sexes are free, the weight at hatch stays: chicks weigh what their eggs
let them. Each weighing's mean has the chance of its sample, and one luck of growth goes through a batch. As
the start curve always has its say, one weighing moves the level, and only weighings at several ages bend it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.growth import by_curve, weight_kg
from leyfold.nouns.kept import Kept
from leyfold.nouns.stock import SEXES, Growth, Line, Sex
from leyfold.season.learning.evidence import Taken
from leyfold.season.learning.shrink import spread

__all__ = ["moved_curves", "moved_spread"]

Floats = NDArray[np.float64]

STEPS = 60
SMALL = 1e-7
"""Step of the central differences, in the logarithm of a parameter."""
FURTHEST = 0.5
"""Longest step at a time, so that absurd weighings do not throw the search out of the world."""
DONE = 1e-11
GROWN = 1.5
LEAST = 1e-12
"""Birds that do not differ at all would make one weighing certain."""

_CURVES: Kept[Mapping[Sex, Growth]] = Kept(8)


def _bent(curve: Growth, by: Floats) -> tuple[Floats, Floats, Floats]:
    """Grown weight, pace and turn [try] of the curve moved by logarithms `by` [try, 2] of the first two,
    through the same weight at hatch."""
    at_hatch = float(by_curve(curve, 0.0))
    # Whatever the scales said, grown birds weigh more than chicks: without that there is no curve.
    mature = np.maximum(curve.mature_kg.value * np.exp(by[:, 0]), GROWN * at_hatch)
    pace = curve.rate_per_d.value * np.exp(by[:, 1])
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
    return mature, pace, turn


def _moved(curve: Growth, by: Floats) -> Growth:
    """The curve as `by` [2] bends it."""
    mature, pace, turn = (float(of[0]) for of in _bent(curve, by[None]))
    return replace(
        curve,
        mature_kg=replace(curve.mature_kg, value=mature),
        rate_per_d=replace(curve.rate_per_d, value=pace),
        inflection_d=replace(curve.inflection_d, value=turn),
    )


def _tried_kg(curve: Growth, by: Floats, ages_d: Floats) -> Floats:
    """[try, age] weight by the curve as each `by` [try, 2] bends it."""
    mature, pace, turn = (of[:, None] for of in _bent(curve, by))
    shape = None if curve.shape is None else curve.shape.value
    return weight_kg(curve.model, ages_d, mature_kg=mature, rate_per_d=pace, inflection_d=turn, shape=shape)


def moved_curves(line: Line, weighings: Sequence[Sequence[Taken]], prior_sd: float) -> Mapping[Sex, Growth]:
    """Both sexes' most likely curves after the weighings of each batch; the start curves where there are
    none. `prior_sd` > 0: how far grown weight and pace may lie from the start, in logarithms."""
    batches = tuple(tuple(batch) for batch in weighings if batch)
    if not batches:
        return {sex: line.of(sex).growth for sex in SEXES}
    return _CURVES.get((line, batches, prior_sd), lambda: _most_likely(line, batches, prior_sd))


def _most_likely(line: Line, weighings: Sequence[Sequence[Taken]], prior_sd: float) -> Mapping[Sex, Growth]:
    start = {sex: line.of(sex).growth for sex in SEXES}
    taken = [t for batch in weighings for t in batch]
    seen = np.log([np.mean(t.weights_kg) for t in taken])
    precision = _precision(line, start, weighings)
    many = 2 * len(SEXES)
    stiffness, nudges = np.eye(many) / prior_sd**2, SMALL * np.eye(many)
    ages, shares = np.array([float(t.age_d) for t in taken]), _shares(line, taken)

    def missed(tries: Floats) -> Floats:
        """[try, weighing]."""
        by_sex = [_tried_kg(start[sex], tries[:, 2 * i : 2 * i + 2], ages) for i, sex in enumerate(SEXES)]
        kg = sum(share * own for share, own in zip(shares, by_sex, strict=True))
        return np.asarray(seen - np.log(kg))

    def badness(by: Floats, miss: Floats) -> float:
        return float(by @ stiffness @ by + miss @ precision @ miss)

    by = np.zeros(many)
    for _ in range(STEPS):
        tried = missed(np.concatenate((by[None], by + nudges, by - nudges)))
        miss, more, less = tried[0], tried[1 : many + 1], tried[many + 1 :]
        slope = (more - less).T / (2.0 * SMALL)
        pull = stiffness @ by + slope.T @ precision @ miss
        step = -np.linalg.solve(stiffness + slope.T @ precision @ slope, pull)
        step = step * min(1.0, FURTHEST / max(float(np.abs(step).max()), DONE))
        bad = badness(by, miss)
        while np.abs(step).max() > DONE and badness(by + step, missed((by + step)[None])[0]) > bad:
            step = step / 2.0
        by = by + step
        if np.abs(step).max() <= DONE:
            break
    return {sex: _moved(start[sex], by[2 * i : 2 * i + 2]) for i, sex in enumerate(SEXES)}


def _precision(line: Line, start: Mapping[Sex, Growth], weighings: Sequence[Sequence[Taken]]) -> Floats:
    """Inverse covariance of the logarithms of the means: each varies by its sample, and all of one batch
    together by the luck of the batch."""
    blocks = []
    for taken in weighings:
        if taken:
            numbers = np.array([len(t.weights_kg) for t in taken])
            shares = _shares(line, taken)
            luck = np.array([line.of(sex).batch_weight_cv.value for sex in SEXES]) @ shares
            alone = _squared_cv(line, start, taken, shares) / numbers
            blocks.append(np.linalg.inv(np.diag(alone) + np.outer(luck, luck)))
    whole = np.zeros(2 * (sum(len(b) for b in blocks),))
    at = 0
    for block in blocks:
        whole[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    return whole


def _shares(line: Line, taken: Sequence[Taken]) -> Floats:
    """[sex, weighing] share of each sex among the birds weighed."""
    pullets = line.share_pullets.value
    mixed = {"pullet": pullets, "cockerel": 1.0 - pullets}
    return np.array([[mixed[sex] if t.sex is None else float(t.sex == sex) for t in taken] for sex in SEXES])


def _mean_kg(line: Line, curves: Mapping[Sex, Growth], taken: Sequence[Taken]) -> Floats:
    ages = [t.age_d for t in taken]
    by_sex = np.array([by_curve(curves[sex], ages) for sex in SEXES])
    return np.asarray((_shares(line, taken) * by_sex).sum(axis=0))


def _squared_cv(line: Line, curves: Mapping[Sex, Growth], taken: Sequence[Taken], shares: Floats) -> Floats:
    """Of single birds about the mean of their weighing; between the sexes too where they are mixed."""
    ages = [t.age_d for t in taken]
    second = np.array(
        [by_curve(curves[sex], ages) ** 2 * (1.0 + line.of(sex).weight_cv.value ** 2) for sex in SEXES]
    )
    mean = _mean_kg(line, curves, taken)
    return np.asarray(np.maximum((shares * second).sum(axis=0) / mean**2 - 1.0, LEAST))


def moved_spread(prior: float, strength: float, weighings: Sequence[Taken]) -> float:
    """The spread of single birds of one sex, from the spreads about the mean of each weighing."""
    squares = freedom = 0.0
    for taken in weighings:
        weights = np.array(taken.weights_kg)
        squares += float(np.sum((weights / weights.mean() - 1.0) ** 2))
        freedom += weights.size - 1
    return spread(prior, strength, squares, freedom)
