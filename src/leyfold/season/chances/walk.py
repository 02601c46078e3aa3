"""The birds of one batch and sex, walked through the lots of a completed plan: whole birds, draws together.

Rule of whole birds: when stays end, the birds left in them are told off in line and cut by the shares of the
stays that begin, each cut shifted by one chance number a draw: every stay gets its share rounded up or down,
and on average exactly its share. A draft takes its share in the same way, evenly out of all the stays it
draws from. Birds that leave on the day they come are told off twice, into their stay of no day and out of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from leyfold.season.drafts import Take

__all__ = ["LotStay", "Walked", "drafted", "walk"]

Ints = NDArray[np.int64]
Counts = NDArray[np.int32]

NOWHERE = -1


@dataclass(frozen=True, slots=True)
class LotStay:
    """One lot: its row among the lots, its days (indices, `until` not included), share, and the shelter it
    is in, None elsewhere."""

    lot: int
    first: int
    until: int
    share: float
    shelter: str | None


@dataclass(slots=True, eq=False)
class Walked:
    """What is written while walking: [cell, draw] views by lot, [lot, draw] killed, visits of foxes."""

    heads: dict[int, Counts]
    dead: dict[int, Counts]
    killed: Counts
    taken: list[tuple[Ints, int, Ints, Counts]] = field(default_factory=list)


def walk(
    stays: Sequence[LotStay],
    takes: Sequence[Take],
    take_days: Sequence[int],
    dies: NDArray[np.int16],
    visits: Callable[[str], tuple[Ints, Ints]],
    fox_share: float,
    places: np.random.Generator,
    victims: np.random.Generator,
    days: int,
    out: Walked,
) -> None:
    """Writes heads, deaths, drafts and fox kills of the lots `stays` of one cohort into `out`.

    `dies` [bird, draw] is the day index each bird would die on; it is changed where a fox comes first.
    Raises ArithmeticError where birds alive have no stay before the window ends.
    """
    n = dies.shape[1]
    where = np.full(dies.shape, NOWHERE, dtype=np.int8)
    of = {s.lot: i for i, s in enumerate(stays)}
    edges = sorted({s.first for s in stays} | {s.until for s in stays})
    drafts = dict(zip(take_days, takes, strict=True))
    for k, day in enumerate(edges):
        chance = places.random((2, n))
        at_once = [s for s in stays if s.first == s.until == day]
        ending = [s for s in stays if s.until == day]
        coming = [s for s in stays if s.first == day < s.until]
        here = [s for s in stays if s.first <= day < s.until]
        pool = dies >= day
        if k > 0 and not set(here) <= set(coming):
            # Some stays go on: only the birds of those that end are told off.
            pool &= np.isin(where, [of[s.lot] for s in ending])
        if at_once:
            np.copyto(where, _placed(pool, [(of[s.lot], s.share) for s in at_once], chance[1]), where=pool)
        if ending and day in drafts:
            share = min(drafts[day].taken / sum(s.share for s in ending), 1.0)
            killed = drafted(pool, 1.0 if drafts[day].left == 0.0 else share, chance[0])
            for s in ending:
                out.killed[s.lot] = _many(killed & (where == of[s.lot]))
            dies[killed] = -1
            pool &= ~killed
        if day < days and coming:
            np.copyto(where, _placed(pool, [(of[s.lot], s.share) for s in coming], chance[1]), where=pool)
        elif day < days and pool.any():
            raise ArithmeticError(f"birds without a place on day {day}")
        if here:
            until = edges[k + 1]
            for s in here:
                if s.shelter is not None:
                    _raid(s, of[s.lot], day, until, where, dies, visits(s.shelter), fox_share, victims, out)
            _count(here, of, day, until, where, dies, out)


def _many(birds: NDArray[np.bool_]) -> Counts:
    """[draw] how many."""
    many: Counts = np.add.reduce(birds.view(np.int8), axis=0, dtype=np.int32)
    return many


def _line(pool: NDArray[np.bool_]) -> NDArray[np.int32]:
    """[bird, draw] birds of the draw's line up to and with this one."""
    return np.cumsum(pool, axis=0, dtype=np.int32)


def drafted(pool: NDArray[np.bool_], share: float, chance: NDArray[np.float64]) -> NDArray[np.bool_]:
    """[bird, draw] which of the pool a draft of `share` takes; `chance` [draw] rounds it."""
    if share >= 1.0:
        return pool.copy()
    line = _line(pool)
    picked: NDArray[np.bool_] = np.floor(line * share + chance) > np.floor((line - 1) * share + chance)
    return picked & pool


def _placed(
    pool: NDArray[np.bool_], coming: Sequence[tuple[int, float]], chance: NDArray[np.float64]
) -> NDArray[np.int8]:
    """[bird, draw] the stay of each bird of the pool."""
    stays = np.array([i for i, _ in coming], dtype=np.int8)
    if stays.size == 1 or not pool.size:
        return stays[:1]
    line = _line(pool)
    shares = np.cumsum([share for _, share in coming])
    index = np.zeros(pool.shape, dtype=np.int8)
    for cut in shares[:-1] / shares[-1]:
        index += line > np.floor(cut * line[-1] + chance)
    return stays[index]


def _raid(
    s: LotStay,
    here: int,
    day: int,
    until: int,
    where: NDArray[np.int8],
    dies: NDArray[np.int16],
    visits: tuple[Ints, Ints],
    fox_share: float,
    victims: np.random.Generator,
    out: Walked,
) -> None:
    """Every visit to the shelter while the lot is in it kills each bird alive with chance `fox_share`."""
    mine = (visits[1] >= day) & (visits[1] < until)
    draws, nights = visits[0][mine], visits[1][mine]
    if not draws.size or not dies.shape[0]:
        return
    # Visits of one draw follow each other: all the first ones together, then all the second ones.
    turn_of = np.arange(draws.size) - np.searchsorted(draws, draws)
    for turn in range(int(turn_of.max()) + 1):
        d, t = draws[turn_of == turn], nights[turn_of == turn]
        alive = (where[:, d] == here) & (dies[:, d] > t)
        caught = alive & (victims.random(alive.shape, dtype=np.float32) < fox_share)
        bird, visit = np.nonzero(caught)
        dies[bird, d[visit]] = t[visit]
        birds = _many(caught)
        some = birds > 0
        out.taken.append((d[some], s.lot, t[some], birds[some]))


def _count(
    here: Sequence[LotStay],
    of: Mapping[int, int],
    day: int,
    until: int,
    where: NDArray[np.int8],
    dies: NDArray[np.int16],
    out: Walked,
) -> None:
    """Heads at the start of each day of the stretch, and deaths on it, lot by lot."""
    n = dies.shape[1]
    alive = dies >= day
    dying = np.flatnonzero(alive & (dies < until))
    stay, at = where.reshape(-1)[dying], (dies.reshape(-1)[dying].astype(np.int64) - day) * n + dying % n
    for s in here:
        dead = out.dead[s.lot][day - s.first : until - s.first]
        np.add.at(dead.reshape(-1), at[stay == of[s.lot]], 1)
        heads = out.heads[s.lot][day - s.first : until - s.first]
        heads[0] = _many(alive if len(here) == 1 else alive & (where == of[s.lot]))
        np.cumsum(dead[:-1], axis=0, out=heads[1:])
        np.subtract(heads[0], heads[1:], out=heads[1:])
