"""Exact chances of numbers of birds: hatch, sex, losses, fox nights and drafts as a chain of whole-bird
distributions.

A beta-binomial hatch is thinned by sex (binomial), by each stage (beta-binomial, as the draws have it) and by
the fox nights of each shelter; batches are independent and add up by convolution. Nothing is sampled. What is
not exact: where birds part on shelters they are rounded, not by chance but to the nearest; a cluster of fox
nights ends when the birds change shelters; visits past the fourth in one stay count as the fourth; what is
less likely than 1e-13 is left out.
From the middle of a season: hand in `begin(farm, plan, state)`, whose batches carry the eggs found fertile,
the chicks counted and the birds sorted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache, reduce
from itertools import pairwise
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.stock import Line, Sex
from leyfold.season.chances.foxes import Fox, fox, visit_counts
from leyfold.season.chances.grass import Segment, segments
from leyfold.season.chances.luck import Stage, hatch_chance, stages_of, without_foxes
from leyfold.season.chances.whole import (
    EVEN,
    Number,
    before_draft,
    beta_binomial,
    beta_nodes,
    binomial,
    convolved,
    partly,
    raided,
    thinning,
)
from leyfold.season.complete import complete
from leyfold.season.course import Row
from leyfold.season.drafts import Take
from leyfold.season.party import all_takes

__all__ = ["Counting", "Spread", "What", "counted", "number_by"]

Floats = NDArray[np.float64]

_BELOW = NormalDist().cdf

What = Literal["pullets", "table birds"]
Spread = Literal["chance alone", "batches", "shared"]
"""What differs: nothing but chance; each batch for itself; all batches together by one hatch fault."""

FAULTS = 64
"""Points of the spread of hatches over which one shared fault is averaged (Gauss-Hermite, in deviates)."""
LUCKS = 16
"""Points over which a stage with drafts within it is averaged (Gauss-Jacobi)."""
NOTHING = 1e-13
"""Together less likely than this: left out."""
ROUND = 32
"""Tables of fates are made in these steps of birds."""
VISITS = 4
"""Most visits of a fox to one shelter in one stay that are told apart."""


def counted(
    farm: Farm, plan: Plan, what: What, on: date, line: str | None = None, aged_d: int = 0
) -> tuple[Batch, ...]:
    """The batches of a completed plan whose birds can be among `what` by day `on`: hatched or come by then,
    of `line` where one is named. Hens that were past point of lay when they came are no pullets; cockerels
    need a draft by that day; pullets may have to be `aged_d` old by then."""

    def counts(batch: Batch) -> bool:
        kind = farm.lines[batch.line]
        some = (
            batch.origin == "set" or batch.heads.get("pullet" if what == "pullets" else "cockerel", 0.0) > 0
        )
        if line not in (None, batch.line) or batch.arrives_on > on or not some:
            return False
        if what == "table birds":
            return any(draft.on <= on and draft.share > 0 for draft in batch.drafts)
        if (on - batch.hatched_on).days < aged_d:
            return False
        return (batch.arrives_on - batch.hatched_on).days < kind.point_of_lay_d.value

    return tuple(filter(counts, plan.batches))


def number_by(
    farm: Farm,
    plan: Plan,
    what: What,
    on: date,
    *,
    spread: Spread = "batches",
    line: str | None = None,
    aged_d: int = 0,
) -> Number:
    """How many pullets, `aged_d` old or older, are alive at the start of day `on`, or cockerels killed on or
    before it, by `plan` (completed first where it is not). By chance alone foxes come evenly, and batches are
    all alike."""
    return Counting(farm, complete(farm, plan), what, on, spread, line, aged_d).number()


class Counting:
    """One question about one completed plan, to be answered for other numbers of eggs in its sets."""

    def __init__(
        self,
        farm: Farm,
        plan: Plan,
        what: What,
        on: date,
        spread: Spread = "batches",
        line: str | None = None,
        aged_d: int = 0,
    ) -> None:
        self.farm = farm
        self.batches = counted(farm, plan, what, on, line, aged_d)
        self.sex: Sex = "pullet" if what == "pullets" else "cockerel"
        self.alike = spread == "chance alone"
        self.points: Floats | None = None
        self.weights = np.ones(1)
        if spread == "shared":
            deviates, weights = np.polynomial.hermite_e.hermegauss(FAULTS)
            self.points, self.weights = np.array([_BELOW(z) for z in deviates]), weights / weights.sum()
        rows = [Row(b, self.sex, farm.lines[b.line]) for b in self.batches]
        takes = all_takes(rows, plan.outs)
        self.paths = [
            _path(farm, plan, row, on, takes[row.batch.id, self.sex], what, self.alike) for row in rows
        ]

    def number(self, eggs: Mapping[str, int] | None = None) -> Number:
        """The number asked for, with `eggs` by batch in place of those of the plan."""
        eggs = eggs or {}
        parts = []
        for batch, path in zip(self.batches, self.paths, strict=True):
            if batch.id in eggs:
                batch = replace(batch, eggs=eggs[batch.id], fertile=None)
            line = self.farm.lines[batch.line]
            came = _trimmed(_of_sex(batch, line, self.sex, _came(batch, line, self.alike, self.points)))
            # One table serves all numbers of birds up to its size.
            size = -(-came.shape[-1] // ROUND) * ROUND
            parts.append(_trimmed(came @ _fate(size, path)[: came.shape[-1]]))
        total = np.atleast_2d(convolved(parts))
        return Number(total[0] if total.shape[0] == 1 else self.weights @ total)


def _came(batch: Batch, line: Line, alike: bool, points: Floats | None) -> Floats:
    """[k] or, for one shared fault, [point, k]: the birds of both sexes that come."""
    if batch.origin != "set":
        return _about(sum(batch.heads.values()))
    eggs, chance = hatch_chance(batch, line)
    steady = line.hatch_concentration.value
    if points is not None and 0.0 < chance < 1.0:
        from scipy.special import betaincinv

        return binomial(eggs, betaincinv(steady * chance, steady * (1.0 - chance), points))
    return beta_binomial(eggs, chance, EVEN if alike else steady)


def _trimmed(pmf: Floats) -> Floats:
    """Without the numbers at the upper end that together are less likely than NOTHING."""
    rest = pmf.reshape(-1, pmf.shape[-1]).max(axis=0)[::-1].cumsum()[::-1]
    return pmf[..., : max(int(np.count_nonzero(rest > NOTHING)), 1)]


def _about(heads: float) -> Floats:
    """A number that is whole, or rounded up or down by chance."""
    least = int(heads)
    pmf = np.zeros(least + 2)
    pmf[least : least + 2] = 1.0 - (heads - least), heads - least
    return pmf


def _of_sex(batch: Batch, line: Line, sex: Sex, came: Floats) -> Floats:
    """[..., k] birds of one sex: known once they are sorted, by chance before."""
    share = line.share_pullets.value
    if batch.origin != "set":
        if batch.sort_on is not None and batch.sort_on <= batch.arrives_on:
            return _about(batch.heads.get(sex, 0.0))
        total = sum(batch.heads.values())
        share = batch.heads.get("pullet", 0.0) / total if total else 0.0
    return came @ thinning(came.shape[-1] - 1, share if sex == "pullet" else 1.0 - share, EVEN)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """From one draft or stage to the next: the share of the stage's losses done by its end, the shelters
    and nights a fox may come in it, and the share drafted at its end (None: none)."""

    done: float
    raids: tuple[tuple[tuple[float, ...], int], ...]
    draft: float | None


@dataclass(frozen=True, slots=True)
class _Path:
    """What lies before the birds: a draft on the first day, then stage after stage, each with its survival
    and its stretches. Hashable, so that batches alike are reckoned once."""

    first: float | None
    stages: tuple[tuple[float, tuple[_Stretch, ...]], ...]
    steady: float
    fox: Fox
    killed: bool


def _path(
    farm: Farm, plan: Plan, row: Row, on: date, takes: Sequence[Take], what: What, alike: bool
) -> _Path:
    day_0 = row.batch.arrives_on.toordinal()
    drafts, left = dict[int, float](), 1.0
    for take in takes:
        if take.on <= on:
            drafts[max(take.on.toordinal() - day_0, 0)] = 1.0 if take.left == 0.0 else take.taken / left
        left = take.left
    killed = what == "table birds"
    until = max(drafts, default=0) if killed else on.toordinal() - day_0
    spans = segments(farm, plan, row.batch.id, row.sex)
    stages = stages_of(row, 0, max(until, 1))
    base = tuple(s.survival for s in stages) if alike else without_foxes(farm, stages, spans, day_0)
    steps = []
    for stage, survival in zip(stages, base, strict=True):
        end = min(stage.until, until)
        if stage.first >= end:
            break
        cuts = [stage.first, *sorted(day for day in drafts if stage.first < day < end), end]
        steps.append(
            (
                survival,
                tuple(
                    _Stretch(
                        _done(stage, survival, b),
                        () if alike else _raids(spans, day_0 + a, day_0 + b),
                        drafts.get(b),
                    )
                    for a, b in pairwise(cuts)
                ),
            )
        )
    steady = EVEN if alike else row.line.loss_concentration.value
    return _Path(drafts.get(0), tuple(steps), steady, fox(farm), killed)


def _raids(spans: Sequence[Segment], first: int, until: int) -> tuple[tuple[tuple[float, ...], int], ...]:
    cut = [(span.shelters, min(span.until, until) - max(span.first, first)) for span in spans]
    return tuple((shelters, nights) for shelters, nights in cut if shelters and nights > 0)


def _done(stage: Stage, survival: float, day: int) -> float:
    """The share of the stage's losses that falls before `day`, at the constant rate of its mean."""
    run = (day - stage.first) / (stage.until - stage.first)
    if run >= 1.0 or survival in (0.0, 1.0):
        return min(run, 1.0)
    return float((1.0 - survival**run) / (1.0 - survival))


@lru_cache(maxsize=32)
def _fate(n: int, path: _Path) -> Floats:
    """[m, k] from m birds of the sex, up to `n`, to the number asked for; built from the end backwards."""
    matrix = np.zeros((n + 1, n + 1)) if path.killed else np.eye(n + 1)
    if path.killed:
        matrix[:, 0] = 1.0
    for survival, stretches in reversed(path.stages):
        raids = [_raided(n, path.fox, stretch) for stretch in stretches]
        if len(stretches) == 1:
            matrix = _drafted(path, stretches[0], matrix)
            matrix = matrix if raids[0] is None else raids[0] @ matrix
            matrix = partly(n, survival, path.steady, stretches[0].done) @ matrix
            continue
        # The birds a draft leaves share the luck of those it takes: averaged over that luck.
        after, matrix = matrix, np.zeros_like(matrix)
        for luck, weight in zip(*beta_nodes(survival, path.steady, LUCKS), strict=True):
            then = after
            alive = [1.0, *(1.0 - (1.0 - float(luck)) * stretch.done for stretch in stretches)]
            for i in reversed(range(len(stretches))):
                lives = alive[i + 1] / alive[i] if alive[i] > 0.0 else 0.0
                then = _drafted(path, stretches[i], then)
                then = then if (raid := raids[i]) is None else raid @ then
                then = thinning(n, lives, EVEN) @ then
            matrix += weight * then
    return matrix if path.first is None else before_draft(matrix, path.first, count=path.killed)


def _drafted(path: _Path, stretch: _Stretch, after: Floats) -> Floats:
    return after if stretch.draft is None else before_draft(after, stretch.draft, count=path.killed)


def _raided(n: int, habits: Fox, stretch: _Stretch) -> Floats | None:
    """All the raids of a stretch; None where nothing can come."""
    if not stretch.raids or habits.chance <= 0.0:
        return None
    each = [raided(n, at, visit_counts(habits, nights, VISITS), habits.share) for at, nights in stretch.raids]
    return reduce(np.matmul, each)
