"""What every sheet draws on: the farm, its season and work, and the day the sheet is for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import State
from leyfold.nouns.round import Round
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.round.shown import Shown
from leyfold.round.told import told, told_birds
from leyfold.season.weeks import SOMEBODY
from leyfold.season.work import Task
from leyfold.words import say

__all__ = ["Party", "Ready", "foot"]


@dataclass(frozen=True, slots=True)
class Party:
    """Who stands in a place on a day: parties of batch and sex as one. Feed and water are that day's."""

    place: str
    kind: str
    who: str
    heads: float
    pullets: float
    youngest_d: int
    weight_kg: float
    feeds: tuple[tuple[str, float], ...]
    water_l: float
    eggs: float


@dataclass(frozen=True, slots=True)
class Ready:
    """`on` is a day of the season. `batch` is the one asked for, None where none was. `morning` is the round
    of the day, None where that is too far away to be seen."""

    farm: Farm
    season: Season
    weeks: Sequence[Week]
    tasks: Sequence[Task]
    state: State
    on: date
    batch: Batch | None = None
    morning: Round | None = None

    @property
    def shown(self) -> Shown:
        return Shown(self.farm)

    @property
    def monday(self) -> date:
        return self.on - timedelta(days=self.on.weekday())

    def due(self, first: date, until: date) -> list[Task]:
        return [task for task in self.tasks if first <= task.day < until]

    def told(self, task: Task, *, dated: bool = True) -> str:
        words = told(task, self.shown)
        return say("paper.dated", day=self.shown.weekday(task.day), what=words) if dated else words

    def parties(self, day: date) -> list[Party]:
        """Every place with somebody in it, in walking order: the youngest birds first."""
        at = self.season.index(day)
        rows = np.flatnonzero(self.season.heads[:, at] > 0).tolist() if 0 <= at < self.season.days else []
        by_place: dict[str, list[int]] = {}
        for row in rows:
            by_place.setdefault(self.season.lots[row].place, []).append(row)
        found = [self._party(place, lots, at) for place, lots in by_place.items()]
        order = {place: i for i, place in enumerate(self.season.places)}
        return sorted((p for p in found if p.heads >= SOMEBODY), key=lambda p: (p.youngest_d, order[p.place]))

    def _party(self, place: str, rows: list[int], at: int) -> Party:
        s = self.season
        heads = s.heads[rows, at]
        feeds: dict[str, float] = {}
        for row in rows:
            kind = s.feeds[int(s.feed_kind[row, at])]
            feeds[kind] = feeds.get(kind, 0.0) + float(s.feed_kg[row, at])
        return Party(
            place=place,
            kind=s.places[place].kind,
            who=self.who(rows, at),
            heads=float(heads.sum()),
            pullets=float(sum(h for h, r in zip(heads, rows, strict=True) if s.lots[r].sex == "pullet")),
            youngest_d=int(s.age_d[rows, at].min()),
            weight_kg=float((heads * s.weight_kg[rows, at]).sum() / heads.sum()),
            feeds=tuple(feeds.items()),
            water_l=float(s.water_l[rows, at].sum()),
            eggs=float(s.eggs[rows, at].sum()),
        )

    def who(self, rows: Sequence[int], at: int) -> str:
        """Batches by name, with the sex where only one stands there: "march cockerels (red ring)". Pullets
        are hens from the point of lay on."""
        sexes: dict[str, set[str]] = {}
        for row in rows:
            if self.season.heads[row, at] > 0:
                lot = self.season.lots[row]
                is_hen = lot.sex == "pullet" and self.season.age_d[row, at] >= self._ripe_d(lot.batch)
                sexes.setdefault(lot.batch, set()).add("hen" if is_hen else lot.sex)
        rings = {b.id: b.ring for b in self.season.plan.batches}
        return ", ".join(
            told_birds(batch, None if len(found) > 1 else next(iter(found)), rings[batch])
            for batch, found in sexes.items()
        )

    def _ripe_d(self, batch: str) -> float:
        line = next(b.line for b in self.season.plan.batches if b.id == batch)
        return self.farm.lines[line].point_of_lay_d.value


def foot(ready: Ready, sheet: str) -> str:
    """What stands at the foot of every page of a sheet."""
    return say("paper.foot", farm=ready.farm.holding.name, sheet=sheet)
