"""The season as ribbons and threads: which birds of a batch are in which place, and where they go on to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex

__all__ = ["Kill", "Ribbon", "Thread", "kills", "ribbons", "threads"]

Floats = NDArray[np.float64]
Layer = Sex | None


@dataclass(frozen=True, slots=True, eq=False)
class Ribbon:
    """A batch in one place over unbroken days. `layers` are its heads by sex, bottom first, [day from
    `start`]; eggs in an incubator are one layer without sex."""

    batch: int
    place: str
    start: int
    layers: dict[Layer, Floats]

    @property
    def total(self) -> Floats:
        summed: Floats = np.sum(list(self.layers.values()), axis=0)
        return summed

    @property
    def end(self) -> int:
        return self.start + len(next(iter(self.layers.values())))

    @property
    def is_eggs(self) -> bool:
        return None in self.layers

    def below(self, layer: Layer) -> Floats:
        """What lies under a layer of the ribbon."""
        under = np.zeros(self.end - self.start)
        for name, heads in self.layers.items():
            if name == layer:
                break
            under += heads
        return under


@dataclass(frozen=True, slots=True, eq=False)
class Thread:
    """`heads` go from one ribbon to another on the morning of `day`. `from_` and `into` are where they lie
    in each, in heads above its lower edge; a thread of eggs ends in the chicks of `heads_into`."""

    day: int
    source: Ribbon
    target: Ribbon
    from_: float
    into: float
    heads: float
    heads_into: float


@dataclass(frozen=True, slots=True, eq=False)
class Kill:
    """Birds of a ribbon killed or put out on `day`; `above` is where they lay in it."""

    day: int
    ribbon: Ribbon
    above: float
    heads: float


def ribbons(season: Season) -> tuple[Ribbon, ...]:
    """All ribbons of a season, batch by batch."""
    return tuple(_all(season))


def _all(season: Season) -> Iterator[Ribbon]:
    there = season.feed_kind >= 0
    for index, batch in enumerate(season.plan.batches):
        eggs = season.hatching_eggs[index]
        if batch.incubator is not None:
            for a, b in _runs(eggs > 0):
                yield Ribbon(index, batch.incubator, a, {None: eggs[a:b]})
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
        for place in season.places:
            here = [i for i in rows if season.lots[i].place == place]
            for a, b in _runs(np.logical_or.reduce(there[here], axis=0)) if here else ():
                by_sex: dict[Layer, Floats] = {
                    sex: season.heads[[i for i in here if season.lots[i].sex == sex], a:b].sum(axis=0)
                    for sex in SEXES
                }
                yield Ribbon(index, place, a, by_sex)


def _runs(days: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], days.astype(np.int8), [0])))).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def kills(season: Season, drawn: tuple[Ribbon, ...]) -> tuple[Kill, ...]:
    """Every killing or putting out, and where in its ribbon the birds lay."""
    found = []
    for i, day in np.argwhere(season.killed > 0).tolist():
        lot = season.lots[i]
        ribbon = _at(season, drawn, lot.batch, lot.place, day - 1)
        if ribbon is not None:
            at = day - 1 - ribbon.start
            top = float(ribbon.below(lot.sex)[at] + ribbon.layers[lot.sex][at])
            heads = float(season.killed[i, day])
            found.append(Kill(day, ribbon, max(top - heads, 0.0), heads))
    return tuple(found)


def threads(season: Season, drawn: tuple[Ribbon, ...]) -> tuple[Thread, ...]:
    """Hatchings, turnouts, sortings, housings: every day on which birds of a batch change their place."""
    return (*_hatchings(drawn), *_moves(season, drawn))


def _hatchings(drawn: tuple[Ribbon, ...]) -> Iterator[Thread]:
    for eggs in (r for r in drawn if r.is_eggs):
        chicks = [r for r in drawn if r.batch == eggs.batch and not r.is_eggs and r.start == eggs.end]
        came = [float(r.total[0]) for r in chicks]
        left, lies = float(eggs.total[-1]), 0.0
        for ribbon, heads in zip(chicks, came, strict=True):
            part = left * heads / sum(came) if sum(came) > 0 else 0.0
            yield Thread(eggs.end, eggs, ribbon, lies, 0.0, part, heads)
            lies += part


def _moves(season: Season, drawn: tuple[Ribbon, ...]) -> Iterator[Thread]:
    """Within a batch and sex, what leaves lots on a day goes to the lots that begin on it: first to those in
    the same place, where nothing moves, then in the order of the lots."""
    there = season.feed_kind >= 0
    begins = np.where(there.any(axis=1), there.argmax(axis=1), -1)
    ends = begins + there.sum(axis=1)
    for batch in season.plan.batches:
        for sex in SEXES:
            rows = [i for i, x in enumerate(season.lots) if (x.batch, x.sex) == (batch.id, sex)]
            for day in sorted({int(ends[i]) for i in rows if ends[i] < season.days}):
                yield from _on(season, drawn, sex, day, [i for i in rows if ends[i] == day and day > 0],
                               [i for i in rows if begins[i] == day])  # fmt: skip


def _on(
    season: Season, drawn: tuple[Ribbon, ...], sex: Sex, day: int, out: list[int], into: list[int]
) -> Iterator[Thread]:
    left = {i: float(season.heads[i, day - 1] - season.dead[i, day - 1] - season.killed[i, day]) for i in out}
    room = {j: float(season.heads[j, day]) for j in into}
    pairs = [(i, j) for i in out for j in into]
    pairs.sort(key=lambda p: season.lots[p[0]].place != season.lots[p[1]].place)
    taken: dict[tuple[str, int], float] = {}
    for i, j in pairs:
        a, b = season.lots[i], season.lots[j]
        heads = min(left[i], room[j])
        if heads <= 0:
            continue
        left[i] -= heads
        room[j] -= heads
        source = _at(season, drawn, a.batch, a.place, day - 1)
        target = _at(season, drawn, b.batch, b.place, day)
        if source is None or target is None:
            continue
        lies = taken.get((a.place, 0), 0.0), taken.get((b.place, 1), 0.0)
        taken[a.place, 0], taken[b.place, 1] = lies[0] + heads, lies[1] + heads
        if source is not target:
            yield Thread(
                day,
                source,
                target,
                float(source.below(sex)[day - 1 - source.start]) + lies[0],
                float(target.below(sex)[day - target.start]) + lies[1],
                heads,
                heads,
            )


def _at(season: Season, drawn: tuple[Ribbon, ...], batch: str, place: str, day: int) -> Ribbon | None:
    for r in drawn:
        same = season.plan.batches[r.batch].id == batch and r.place == place and not r.is_eggs
        if same and r.start <= day < r.end:
            return r
    return None
