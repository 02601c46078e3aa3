"""Parties left in the shelters they are in, as far as can be: catching birds and carrying them is work and
fright that the planner's model does not count."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.give_out import Run, joined
from leyfold.plan.linear import Linear
from leyfold.plan.model import FINE
from leyfold.plan.problem import Join, Problem
from leyfold.plan.solver import solve_cpsat

__all__ = ["changes", "steady"]

EFFORT = 0.5
"""Deterministic work: some seconds at most."""
SECONDS = 10.0


def steady(
    p: Problem,
    many: Mapping[int, int],
    trays: Mapping[int, int],
    given: list[Run],
    joins: Sequence[Join] = (),
    *,
    seed: int = 0,
) -> list[Run]:
    """Every party (index) in as `many` shelters as the model gave it, whichever hold its `trays`, on no more
    grass than in those `given`, with as few changes as were found; `given` where nothing steadier was. Those
    of `joins` are in one shelter between them, of the class the model gave them."""
    linear, free = Linear(), _free(p)
    within = {s: join for join in joins for s in many if _is_in(p, s, join)}
    guests = {s for s, join in within.items() if p.subs[s].party == join.parties[1]}
    stands = {
        (s, name): linear.number(1)
        for s in many
        for name, days in free.items()
        if days[p.subs[s].first : p.subs[s].until].all()
        and (s not in within or _kinds(p)[name] == within[s].kind)
    }
    for s, guest in product(within.keys() - guests, guests):
        if within[s] == within[guest] and _meet(p, s, guest):
            for name in free:
                pair = [stands[x, name] for x in (s, guest) if (x, name) in stands]
                linear.row(dict(zip(pair, (1, -1), strict=False)), least=0, most=0)
    for s, number in many.items():
        room = {stands[s, n]: _room(p, s, k, trays[s]) for n, k in _kinds(p).items() if (s, n) in stands}
        linear.row(dict.fromkeys(room, 1), least=number, most=number)
        linear.row(room, least=FINE * trays[s])
    for name in free:
        for day in sorted({p.subs[s].first for s in many}):
            here = [
                v
                for (s, n), v in stands.items()
                if n == name and s not in guests and p.subs[s].first <= day < p.subs[s].until
            ]
            linear.row(dict.fromkeys(here, 1), most=1)
    _grass(p, linear, {key: v for key, v in stands.items() if key[0] not in guests}, given)
    for s, before in _before(p, many).items():
        for name in (n for n in free if (s, n) in stands):
            new = linear.number(1)
            was = {stands[before, name]: 1} if (before, name) in stands else {}
            linear.row({new: 1, stands[s, name]: -1, **was}, least=0)
            linear.earns(new, -1)
    found = solve_cpsat(linear, effort=EFFORT, seconds=SECONDS, seed=seed, level=2)
    if found.values is None:
        return given
    into: dict[int, list[str]] = {s: [] for s in many}
    for (s, name), v in stands.items():
        if found.values[v]:
            into[s].append(name)
    runs = [Run(s, tuple(names), p.subs[s].first, p.subs[s].until) for s, names in into.items()]
    runs = list(joined(p, sorted(runs, key=lambda run: (run.first, run.sub))))
    return runs if changes(p, runs) < changes(p, given) else given


def changes(p: Problem, runs: Iterable[Run]) -> int:
    """How often a party comes into a shelter in which it, or the one it was parted from, was not before."""
    ending: dict[tuple[int, str | None, int, int], tuple[str, ...]] = {}
    count = 0
    for run in sorted(runs, key=lambda run: run.first):
        sub = p.subs[run.sub]
        whole = ending.get((sub.offer, None, 0, run.first), ())
        before = ending.get((sub.offer, sub.sex, sub.way, run.first), whole)
        count += len(set(run.names) - set(before)) if before else 0
        ending[sub.offer, sub.sex, sub.way, run.until] = run.names
    return count


def _before(p: Problem, subs: Iterable[int]) -> dict[int, int]:
    """The party that each of some goes on from: itself the days before, or the one it was parted from."""
    ending = {(p.subs[s].offer, p.subs[s].sex, p.subs[s].way, p.subs[s].until): s for s in subs}
    found = {}
    for s in ending.values():
        sub = p.subs[s]
        whole = ending.get((sub.offer, None, 0, sub.first))
        before = ending.get((sub.offer, sub.sex, sub.way, sub.first), whole)
        if before is not None:
            found[s] = before
    return found


def _grass(p: Problem, linear: Linear, stands: Mapping[tuple[int, str], int], given: list[Run]) -> None:
    """No more fresh grass than with the shelters given."""
    kinds = {name: p.classes[k] for name, k in _kinds(p).items()}
    for grass in p.farm.planning.fresh:
        first = 0 if grass.first is None else p.span.clipped(grass.first)
        until = p.span.days if grass.until is None else p.span.clipped(grass.until)

        def m2(a: int, b: int, name: str, first: int = first, until: int = until) -> float:
            return max(min(b, until) - max(a, first), 0) * kinds[name].floor_m2 * kinds[name].moves_per_day

        used = {v: ceil(FINE * m2(p.subs[s].first, p.subs[s].until, n)) for (s, n), v in stands.items()}
        before = sum(m2(a, b, name) for name in kinds for a, b in _used(given, name))
        linear.row(used, most=floor(FINE * before))


def _used(runs: Iterable[Run], name: str) -> Iterator[tuple[int, int]]:
    """Stretches of days on which anybody is in a shelter, each day once."""
    end = 0
    for run in sorted((run for run in runs if name in run.names), key=lambda run: run.first):
        if run.until > end:
            yield max(run.first, end), run.until
            end = run.until


def _is_in(p: Problem, s: int, join: Join) -> bool:
    return p.subs[s].party in join.parties and join.first <= p.subs[s].first < join.until


def _meet(p: Problem, s: int, t: int) -> bool:
    return p.subs[s].first < p.subs[t].until and p.subs[t].first < p.subs[s].until


def _room(p: Problem, s: int, k: int, trays: int) -> int:
    """FINE times the trays of a party that a shelter of a class holds, all of them at most."""
    need = p.need(p.subs[s], k)
    return FINE * trays if need * trays <= 1.0 else floor(FINE / need)


def _kinds(p: Problem) -> dict[str, int]:
    return {name: k for k, kind in enumerate(p.classes) for name in kind.names}


def _free(p: Problem) -> dict[str, NDArray[np.bool_]]:
    return {n: days for kind in p.classes for n, days in zip(kind.names, kind.free, strict=True)}
