"""An answer of one model as one of another: the same sets in the same places."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace

from leyfold.nouns.stock import Sex
from leyfold.plan.linear import Solved
from leyfold.plan.model import Choice, Model
from leyfold.plan.solver import solve_cpsat

__all__ = ["carried_over", "meanings", "with_its_sets"]

COMPLETED, BEST = 0.3, 1.0
"""Deterministic work for any places of sets that are known, and for their best shelters."""
SHELTERS, JOIN = "shelters", "join"
Meaning = tuple[Hashable, ...]
"""What a variable stands for: the kind of choice, then whose."""


def meanings(model: Model) -> dict[Meaning, int]:
    """Each variable that is chosen by what it stands for, whatever else is on offer. Those that are not among
    them say that a place is in use."""
    return dict(_named(model))


def carried_over(
    before: Model,
    values: Sequence[int],
    model: Model,
    *,
    but: Sequence[str] = (),
    seconds: float = 0.0,
    seed: int = 0,
) -> tuple[int, ...] | None:
    """The same sets, in the same places, as an answer of another model that offers them too; it may break the
    groups `but`. Where that breaks others, in any places that are found in `seconds`; else None."""
    was, now, linear = meanings(before), meanings(model), model.linear
    # Places without a name are in use, until it is known that nobody is in them.
    named = {*now.values()}
    found = [low if v in named else high for v, (low, high) in enumerate(linear.spans())]
    for name in now.keys() & was.keys():
        found[now[name]] = values[was[name]]
    kept = [group for group in linear.groups() if group not in but]
    rest = replace(
        linear, rows=linear.only(kept), gain={v: g for v, g in linear.gain.items() if v not in named}
    )
    if rest.holds(found):
        return rest.spared(found)
    if seconds <= 0.0:
        return None
    ways = (choice for own in zip(model.offers, model.cocks, strict=True) for choice in (own[0], *own[1]))
    fixed = {v: found[v] for choice in ways for v in (choice.taken, choice.trays)}
    return solve_cpsat(
        replace(rest, gain={}),
        effort=COMPLETED, seconds=seconds, seed=seed, fixed=fixed, any_answer=True,
    ).values  # fmt: skip


def with_its_sets(before: Model, values: Sequence[int], model: Model, *, seconds: float, seed: int) -> Solved:
    """The best answer of another model with the same sets in the same machines, brooders and houses: who
    stands in which shelters, and shares them, is chosen anew."""
    was, now = meanings(before), meanings(model)
    known = (name for name in now.keys() & was.keys() if name[0] not in (SHELTERS, JOIN))
    fixed = {choice.taken: 0 for choice in model.offers}
    fixed |= {now[name]: values[was[name]] for name in known}
    return solve_cpsat(model.linear, effort=BEST, seconds=seconds, seed=seed, fixed=fixed, level=2)


def _named(m: Model) -> Iterator[tuple[Meaning, int]]:
    p = m.problem
    sets = [(offer.line, offer.set_on, offer.turnout_on) for offer in p.offers]

    def both(name: Meaning, choice: Choice) -> Iterator[tuple[Meaning, int]]:
        yield (*name, "taken"), choice.taken
        yield (*name, "trays"), choice.trays

    for o, choice in enumerate(m.offers):
        yield from both(("set", sets[o]), choice)
        for drafts, way in zip(p.offers[o].drafts, m.cocks[o], strict=True):
            yield from both(("way", sets[o], drafts), way)
    for kind, places in (("machine", m.machine), ("brooder", m.brooder), ("house", m.house)):
        for (o, place), choice in places.items():
            yield from both((kind, sets[o], place), choice)

    def party(o: int, sex: Sex | None, way: int) -> Hashable:
        return sets[o], sex, p.offers[o].drafts[way] if sex == "cockerel" else ()

    for (s, k), number in m.shelters.items():
        sub = p.subs[s]
        yield (SHELTERS, party(*sub.party), sub.first, sub.until, p.classes[k].names[0]), number
    for on_, join in zip(m.joins, p.joins, strict=True):
        yield (JOIN, *(party(*one) for one in join.parties), join.first, p.classes[join.kind].names[0]), on_
    for (f, k), variable in m.flocks.items():
        batch, choices = p.flocks[f]
        yield ("flock", batch.id, choices[k].out), variable
