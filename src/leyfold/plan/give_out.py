"""Shelters by name for the parties of an answer, which says only how many of which class."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from leyfold.plan.problem import Join, Problem

__all__ = ["Run", "give_out", "joined"]


FEW = "the model gave out more shelters than there are"


@dataclass(frozen=True, slots=True)
class Run:
    """A party (index) in its shelters from day `first` until day `until`."""

    sub: int
    names: tuple[str, ...]
    first: int
    until: int


def give_out(p: Problem, wanted: Mapping[int, Mapping[int, int]], joins: Sequence[Join] = ()) -> list[Run]:
    """`wanted`: by party the number of shelters of each class; none named: one of whichever is left.
    `joins`: parties with one shelter between them.

    Day by day: a party keeps what it, or the party it was parted from, had. One that may be anywhere makes
    room for one that may not. Counts fit by the model, so everybody finds room; runs that go on are joined.
    """
    kinds = {name: k for k, kind in enumerate(p.classes) for name in kind.names}
    there = {name: free for kind in p.classes for name, free in zip(kind.names, kind.free, strict=True)}
    edges = {day for s in wanted for day in (p.subs[s].first, p.subs[s].until)}
    edges |= {d for free in there.values() for d in range(1, p.span.days) if free[d] != free[d - 1]}
    had: dict[tuple[int, str | None, int], tuple[str, ...]] = {}
    runs: list[Run] = []
    days = sorted(edges)
    for day, until in pairwise(days):
        here = sorted(s for s in wanted if p.subs[s].first <= day < p.subs[s].until)
        left = {name: None for name in kinds if there[name][day:until].all()}
        now: dict[int, tuple[str, ...]] = {}
        of = {p.subs[s].party: s for s in here}
        with_ = {of[j.parties[0]]: of[j.parties[1]] for j in joins if j.first <= day < j.until}
        # Those who may be anywhere come last; of each kind, those who have a place first.
        alone = [s for s in here if s not in with_.values()]
        for s in sorted(alone, key=lambda s: (not wanted[s], not _own(p, s, had), s)):
            theirs = _own(p, with_[s], had) if s in with_ else ()
            own = [name for name in dict.fromkeys((*_own(p, s, had), *theirs)) if name in left]
            if wanted[s]:
                chosen = [
                    name
                    for k, count in wanted[s].items()
                    for name in [*(n for n in own if kinds[n] == k), *_rest(left, own, kinds, k)][:count]
                ]
                assert len(chosen) == sum(wanted[s].values()), (
                    "the model gave out more shelters than there are"
                )
            else:
                chosen = [*own, *(n for n in left if n not in own)][:1]
                assert chosen, FEW
            for name in chosen:
                del left[name]
            now[s] = tuple(chosen)
        now |= {guest: now[s] for s, guest in with_.items()}
        had = {p.subs[s].party: names for s, names in now.items()}
        runs += [Run(s, names, day, until) for s, names in now.items()]
    return list(joined(p, runs))


def _own(p: Problem, s: int, had: Mapping[tuple[int, str | None, int], tuple[str, ...]]) -> tuple[str, ...]:
    sub = p.subs[s]
    return had.get(sub.party) or had.get((sub.offer, None, 0), ())


def _rest(left: Mapping[str, None], own: list[str], kinds: Mapping[str, int], k: int) -> Iterator[str]:
    return (name for name in left if kinds[name] == k and name not in own)


def joined(p: Problem, runs: list[Run]) -> Iterator[Run]:
    """Runs that go on in the same places; a party in one shelter goes on though it was cut there."""
    open_: dict[tuple[object, ...], Run] = {}
    for run in runs:
        sub = p.subs[run.sub]
        whole = sub.party if len(run.names) == 1 else run.sub
        last = open_.get((whole, run.names))
        if last is not None and last.until == run.first:
            open_[whole, run.names] = replace(last, until=run.until)
        else:
            if last is not None:
                yield last
            open_[whole, run.names] = run
    yield from open_.values()
