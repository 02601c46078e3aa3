"""Mends tried one by one: each a whole plan, walked day by day, priced against doing nothing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from leyfold.nouns.errors import BadInput
from leyfold.nouns.plan import Plan
from leyfold.nouns.replanned import Broken, Mend, Odds
from leyfold.plan.checker import check
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.look import Look, look
from leyfold.plan.replan.mending.idea import Idea
from leyfold.plan.replan.mending.ideas import ideas
from leyfold.words import say

__all__ = ["marked", "mends", "odds"]

MOST_TRIED = 36
"""Single mends that are tried; with what is drawn it keeps an answer within three seconds."""
MOST_JOINED = 12
"""Second mends tried on top of those that mend but leave something broken, where no mend alone is whole."""
JOINED_ON = 3
SHOWN = 6
WORSE = 0.02
"""A chance that falls by more than this counts as made worse, also where it was short before."""


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """A mend and what comes of it; `sieved` by means alone."""

    idea: Idea
    seen: Look
    mend: Mend


def marked(before: Look, now: Look) -> tuple[Broken, ...]:
    """What is broken now; `before` where it was broken already, and no later."""
    old = before.ids
    return tuple(replace(b, before=b.id in old and old[b.id].first <= b.first) for b in now.broken)


def mends(before: Look, now: Look, drawn: Look) -> tuple[tuple[Mend, ...], int]:
    """The mends of what is broken in `now` (by means) and `drawn` (the same by draws), best first, and how
    many were tried. Those shown are judged by draws."""
    first = _first(marked(before, drawn))
    if first is None:
        return (), 0
    broken = [b for b in marked(before, drawn) if not b.before] or [first]
    tried = list(_tried(now, islice(ideas(now, broken), MOST_TRIED), first))
    joined: list[Tried] = []
    mending = [t for t in sorted(tried, key=_rank) if first.id in t.mend.mends]
    alone = any(t.mend.verified and not _left(t, broken) for t in mending)
    half = [] if alone else [t for t in mending if t.mend.new or _left(t, broken)]
    for one in half[:JOINED_ON]:
        wanted = {*one.mend.new, *_left(one, broken)}
        more = ideas(one.seen, [b for b in one.seen.broken if b.id in wanted])
        both = [_both(one.idea, idea) for idea in islice(more, MOST_JOINED // JOINED_ON)]
        joined += _tried(now, both, first)
    best = list(_apart(sorted((*tried, *joined), key=_rank)))
    best = ([t for t in best if t.mend.mends] or best)[:SHOWN]
    known = _found(drawn)
    shown = [_checked(t, known) for t in _tried(drawn, [t.idea for t in best], first, drawn=True)]
    whole = {b.id for b in broken}
    return tuple(sorted(shown, key=lambda m: _order(m, whole))), len(tried) + len(joined)


def _found(seen: Look) -> dict[tuple[str, str], str]:
    """What the independent checker finds wrong in a plan, by what and where, in its words."""
    return {(f.what, f.where): f.said for f in check(seen.case.farm, seen.season.plan)}


def _checked(one: Tried, known: Collection[tuple[str, str]]) -> Mend:
    """The mend, not verified where the checker, which shares no arithmetic with the season, finds something
    in its plan that it did not find without it."""
    new = tuple(said for what, said in sorted(_found(one.seen).items()) if what not in known)
    return replace(one.mend, verified=False, found=new) if new else one.mend


def _apart(tried: Sequence[Tried]) -> Iterator[Tried]:
    """Those that come to the same plan on the same farm once."""
    seen = list[tuple[Plan, Case]]()
    for one in tried:
        what = (one.idea.plan, one.idea.case)
        if what not in seen:
            seen.append(what)
            yield one


def _first(broken: Sequence[Broken]) -> Broken | None:
    new = [b for b in broken if not b.before]
    return next(iter(new or broken), None)


def _left(one: Tried, broken: Sequence[Broken]) -> list[str]:
    """What was newly broken and still is."""
    return [b.id for b in broken if b.id in one.mend.leaves]


def _both(one: Idea, two: Idea) -> Idea:
    """The second built on the plan and the farm of the first."""
    said = say("replan.mend_both", one=one.said, two=two.said)
    terms = (*one.terms, *two.terms)
    return replace(
        two,
        kind=f"{one.kind}+{two.kind}",
        said=said,
        terms=terms,
        moved=one.moved + two.moved,
        today=tuple(dict.fromkeys((*one.today, *two.today))),
    )


def _tried(now: Look, some: Iterable[Idea], first: Broken, *, drawn: bool = False) -> Iterator[Tried]:
    """Those that can be followed at all, judged against `now`."""
    for idea in some:
        try:
            seen = look(idea.case, idea.plan, drawn=drawn)
        except BadInput:
            continue
        yield Tried(idea, seen, _mend(now, idea, seen, first))


def _mend(now: Look, idea: Idea, seen: Look, first: Broken) -> Mend:
    was, is_ = now.ids, seen.ids
    cost = None
    if now.money is not None and seen.money is not None and all(t.money is not None for t in idea.terms):
        cost = now.money - seen.money + sum(t.money or 0.0 for t in idea.terms)
    found = odds(now, seen)
    worse = tuple(
        f"wish:{o.wish}"
        for o in found
        if o.before is not None and o.now is not None and o.now < o.wished and o.now < o.before - WORSE
    )
    new = tuple(dict.fromkeys((*(i for i in is_ if i not in was), *worse)))
    mended = tuple(i for i in was if i not in is_)
    return Mend(
        idea.kind,
        idea.said,
        idea.case.farm,
        idea.plan,
        cost,
        idea.terms,
        found,
        mended,
        tuple(i for i in was if i in is_ and i not in new),
        new,
        first.id in mended and not new,
        idea.moved,
        idea.today,
    )


def odds(before: Look, now: Look) -> tuple[Odds, ...]:
    """The chance of each wish in two plans."""
    wishes = {w.id: w for look in (before, now) for w in look.case.farm.wishes}
    return tuple(Odds(name, w.chance, before.chance(name), now.chance(name)) for name, w in wishes.items())


def _order(mend: Mend, broken: Collection[str]) -> tuple[bool, int, bool, bool, float, int]:
    """Verified first; then by how much of what is `broken` they leave so; then those that mend at all, by
    price, the smaller change first."""
    left = sum(one in broken for one in mend.leaves)
    return not mend.verified, left, not mend.mends, mend.cost is None, mend.cost or 0.0, mend.moved


def _rank(one: Tried) -> tuple[bool, int, bool, float, int]:
    """As `_order`, and what leaves less broken first where the first promise is mended alike."""
    m = one.mend
    return not m.verified, len(m.new) + len(m.leaves), m.cost is None, m.cost or 0.0, m.moved
