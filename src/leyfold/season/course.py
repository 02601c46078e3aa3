"""The course of each batch and sex, day by day: how many live and how heavy they are.

Rows are batch x sex; columns are the days of the window. Nothing here knows of places.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leyfold.nature import growth, hatch, losses
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.kept import Kept
from leyfold.nouns.plan import Batch
from leyfold.nouns.stock import SEXES, Line, Sex, SexTraits
from leyfold.season.dates import Window

__all__ = ["Course", "Row", "course", "hatched_heads", "one_bird", "stages", "storage"]

Floats = NDArray[np.float64]

FIRST_WEEK_D = 7
YEAR_D = 365
_ALL = Figure(1.0, "1", "", "standard")


@dataclass(frozen=True, slots=True)
class Row:
    batch: Batch
    sex: Sex
    line: Line

    @property
    def traits(self) -> SexTraits:
        return self.line.of(self.sex)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """[row, day]. `alive` is heads at the day's start before any draft, 0 before arrival; `survive` the
    share of them that lives to the next day; `weight_kg` and `gain_kg` are of the mean bird."""

    window: Window
    rows: tuple[Row, ...]
    age_d: NDArray[np.int64]
    alive: Floats
    survive: Floats
    weight_kg: Floats
    gain_kg: Floats

    where: Mapping[tuple[str, Sex], int]

    def row(self, batch: str, sex: Sex) -> int:
        return self.where[batch, sex]


def hatched_heads(batch: Batch, line: Line) -> dict[Sex, float]:
    """Expected heads by sex on the day the batch arrives: of a set, what should hatch."""
    if batch.origin != "set":
        return {sex: float(batch.heads.get(sex, 0.0)) for sex in SEXES}
    if batch.fertile is not None:
        chicks = batch.fertile * line.hatch_of_fertile.value * storage(batch, line)
    else:
        assert batch.eggs is not None
        chicks = float(
            hatch.chicks(
                batch.eggs,
                fertility=line.fertility.value,
                hatch_of_fertile=line.hatch_of_fertile.value,
                storage=storage(batch, line),
            )
        )
    pullets = chicks * line.share_pullets.value
    return {"pullet": pullets, "cockerel": chicks - pullets}


def storage(batch: Batch, line: Line) -> float:
    """Share of the hatch that is left after the eggs were stored."""
    lost = (
        line.storage_free_d,
        line.storage_loss_per_d,
        line.storage_late_from_d,
        line.storage_late_loss_per_d,
    )
    return _stored(batch.stored_d, *(figure.value for figure in lost))


@lru_cache(maxsize=256)
def _stored(
    days: float, free_d: float, loss_per_d: float, late_from_d: float, late_loss_per_d: float
) -> float:
    left = hatch.storage_factor(
        days, free_d=free_d, loss_per_d=loss_per_d, late_from_d=late_from_d, late_loss_per_d=late_loss_per_d
    )
    return float(left)


_COURSES: Kept[Course] = Kept(6)


def course(farm: Farm, batches: Sequence[Batch], window: Window) -> Course:
    """The course of every dated batch over the window. Its arrays may not be written to."""
    rows = tuple(Row(batch, sex, farm.lines[batch.line]) for batch in batches for sex in SEXES)
    # How many live and how heavy they are hangs neither on where they stand nor on what they eat and lay.
    lines = {name: _idle(farm.lines[name]) for name in {batch.line for batch in batches}}
    nowhere = [replace(batch, incubator=None, brooder=None, house=None, ring=None) for batch in batches]
    bare = tuple(Row(batch, sex, lines[batch.line]) for batch in nowhere for sex in SEXES)
    return replace(_COURSES.get((bare, window), lambda: _course(bare, window)), rows=rows)


def _course(rows: tuple[Row, ...], window: Window) -> Course:
    born = {row.batch.id: hatched_heads(row.batch, row.line) for row in rows if row.sex == SEXES[0]}
    came = [born[row.batch.id][row.sex] for row in rows]
    heads = np.array(came)[:, None]
    first = window.first.toordinal()
    # One day more than the window has: its last day needs to know who lives on.
    days = np.arange(window.days + 1, dtype=np.int64)
    hatched = np.array([r.batch.hatched_on.toordinal() - first for r in rows], dtype=np.int64)[:, None]
    arrives = np.array([r.batch.arrives_on.toordinal() - first for r in rows], dtype=np.int64)[:, None]
    share = _alive_share(rows, np.maximum(days, arrives) - hatched)
    age = days[:-1] - hatched
    here = age >= arrives - hatched
    alive = np.where(here, heads * share[:, :-1] / _alive_share(rows, arrives - hatched), 0.0)
    survive = np.where(here, share[:, 1:] / share[:, :-1], 1.0)
    weight, after = _weights(rows, np.maximum(age, 0))
    where = {(row.batch.id, row.sex): i for i, row in enumerate(rows)}
    made = Course(window, rows, age, alive, survive, weight, after - weight, where)
    for array in (age, alive, survive, weight, made.gain_kg):
        array.setflags(write=False)
    return made


def _idle(line: Line) -> Line:
    """A line without what its birds eat and lay."""
    eats: dict[str, Any] = {"maintenance_kg_per_kg075": _ALL, "per_gain_kg_per_kg": _ALL, "cold_share": _ALL}
    return replace(
        line,
        hen=replace(line.hen, lay_a=_ALL),
        pullet=replace(line.pullet, **eats),
        cockerel=replace(line.cockerel, **eats),
    )


def one_bird(line: Line) -> Line:
    """A line as it is for one bird that lives: what hatches, is lost and of which sex is nothing to her."""
    return replace(
        line,
        fertility=_ALL,
        hatch_of_fertile=_ALL,
        hatch_concentration=_ALL,
        share_pullets=_ALL,
        survival_first_week=_ALL,
        survival_brooder=_ALL,
        survival_shelter=_ALL,
        hen=replace(line.hen, survival_hen_year=_ALL),
        pullet=replace(line.pullet, survival_grower=_ALL),
        cockerel=replace(line.cockerel, survival_grower=_ALL),
    )


def _alive_share(rows: Sequence[Row], age: NDArray[np.int64]) -> Floats:
    """[row, day] share of the hatched alive at an age."""
    own = [stages(row) for row in rows]
    longest = max((len(ends) for ends, _ in own), default=0)
    # A row with fewer stages repeats its last end: a stage of no length loses nobody.
    ends = np.array([[*e, *[e[-1]] * (longest - len(e))] for e, _ in own]).reshape(len(rows), longest)
    survivals = np.array([[*s, *[1.0] * (longest - len(s))] for _, s in own]).reshape(len(rows), longest)
    columns = range(longest)
    return losses.alive_share(
        age, ends_d=[ends[:, [k]] for k in columns], survivals=[survivals[:, [k]] for k in columns]
    )


def stages(row: Row) -> tuple[list[float], list[float]]:
    """Stage ends in days of age and the share that lives through each; the last rate holds on."""
    batch, line = row.batch, row.line
    turnout, sorting = _age(batch, batch.turnout_on), _age(batch, batch.sort_on)
    if row.sex == "cockerel":
        end = _age(batch, batch.drafts[-1].on) if batch.drafts else round(line.kill_d.value)
    else:
        end = _age(batch, batch.house_on)
    ends = [min(FIRST_WEEK_D, turnout), turnout, sorting, max(end, sorting)]
    survivals = [
        line.survival_first_week.value,
        line.survival_brooder.value,
        line.survival_shelter.value,
        row.traits.survival_grower.value,
    ]
    if row.sex == "pullet":
        ends.append(ends[-1] + YEAR_D)
        survivals.append(line.hen.survival_hen_year.value)
    return [float(e) for e in ends], survivals


def _age(batch: Batch, day: date | None) -> int:
    assert day is not None, "dates are filled before the course is drawn"
    return (day - batch.hatched_on).days


def _weights(rows: Sequence[Row], age: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Weight at the start of each day and of the next, by the curve of each row."""
    now, after = np.empty(age.shape), np.empty(age.shape)
    for model in {r.traits.growth.model for r in rows}:
        pick = [i for i, r in enumerate(rows) if r.traits.growth.model == model]
        curves = [rows[i].traits.growth for i in pick]
        shapes = [c.shape for c in curves if c.shape is not None]
        by = partial(
            growth.weight_kg,
            model,
            mature_kg=_column(c.mature_kg for c in curves),
            rate_per_d=_column(c.rate_per_d for c in curves),
            inflection_d=_column(c.inflection_d for c in curves),
            shape=_column(shapes) if model == "richards" else None,
        )
        now[pick], after[pick] = by(age[pick]), by(age[pick] + 1)
    return now, after


def _column(figures: Iterable[Figure]) -> Floats:
    return np.array([f.value for f in figures], dtype=np.float64)[:, None]
