"""The plan that misses some wishes by the least: stretches of set days opened one after another about a plan
that misses them by more, which may be one of another model."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import replace
from math import floor

from leyfold.nouns.stock import Sex
from leyfold.plan.linear import Linear
from leyfold.plan.model import Choice, Model
from leyfold.plan.part import Parts
from leyfold.plan.problem import Problem
from leyfold.plan.solver import relaxed, solve_cpsat
from leyfold.plan.wanted import Levels, add_wishes
from leyfold.plan.ways.needed import SHARES, loosened

__all__ = ["carried", "nearest", "wishing"]

WIDTHS = (18, 27)
"""Ways of sets opened together, about."""
NARROWEST = 2
FIRM = 10
"""A share of a wish that is to be kept counts so many times until it is."""
WORK, FIRST, COMPLETED = 0.03, 1.0, 0.3
"""Deterministic work for one stretch, for a plan to begin from, and for the places of sets that are known."""


def nearest(
    model: Model,
    groups: Sequence[str],
    *,
    start: Sequence[int] | None = None,
    spare: float = 0.0,
    left: Callable[[], float],
    seed: int = 0,
) -> tuple[tuple[int, ...], tuple[float, ...]] | None:
    """An answer that breaks `groups` by as small shares, added up, as was found, and these shares; None where
    none was found in time. `start`: an answer that may break any wish altogether. Where it comes within
    `spare` of what no answer passes, no nearer is looked for."""
    own = len(model.linear.low)
    firm = [group for group in model.linear.groups() if group.startswith("wish:") and group not in groups]
    soft, by = loosened(model.linear, (*groups, *firm))
    for v in by[len(groups) :]:
        soft.gain[v] = -FIRM
    loose = relaxed(soft, seconds=left(), seed=seed)
    least = 0 if loose is None else floor(sum(float(loose.values[v]) * -soft.gain[v] for v in by) + 1e-6)
    enough = least + round(spare * SHARES)
    weights = {v: -soft.gain[v] for v in by}
    enough = min(enough, sum(weight * soft.high[v] for v, weight in weights.items()))
    soft.row(weights, least=enough)
    whole = None if start is None else (*start, *(soft.high[v] for v in by))
    if whole is None or not soft.holds(whole):
        whole = solve_cpsat(soft, effort=FIRST, seconds=left(), seed=seed, hint=whole).values
        whole = whole or _bare(model, soft)
    if whole is None:
        return None
    whole = _by_stretches(replace(model, linear=soft), whole, -enough, left, seed)
    if any(whole[v] for v in by[len(groups) :]):
        return None
    return whole[:own], tuple(whole[v] / SHARES for v in by[: len(groups)])


def _bare(model: Model, soft: Linear) -> tuple[int, ...] | None:
    """An answer without any set, the old hens of all flocks leaving never or as late as can be; None where
    somebody is in the way of that."""
    named = {v for _, v in _named(model)}
    for k in range(max((len(choices) for _, choices in model.problem.flocks), default=1)):
        values = list(soft.low)
        for f, (_, choices) in enumerate(model.problem.flocks):
            values[model.flocks[f, (len(choices) - k) % len(choices)]] = 1
        for row in (row for row in soft.rows if row.least is not None and not row.holds(values)):
            for v in row.terms.keys() - named:  # A place in use, or a share of a wish.
                values[v] = soft.high[v]
        if soft.holds(values):
            return tuple(values)
    return None


def wishing(model: Model, problem: Problem, levels: Levels) -> Model:
    """The model with its wishes at other levels, or with other wishes: those of `problem`, which is the same
    in all besides."""
    linear = model.linear
    rows = [row for row in linear.rows if not row.group.startswith("wish:")]
    made = replace(model, problem=problem, linear=replace(linear, rows=rows))
    add_wishes(made, levels)
    return made


def _by_stretches(
    model: Model, values: tuple[int, ...], enough: int, left: Callable[[], float], seed: int
) -> tuple[int, ...]:
    """The answer at which no stretch of days helps, or that gains `enough`, or at which the time was over."""
    linear, owners, parts = model.linear, model.owners(), Parts(model.linear)
    on = {v: model.problem.offers[o].set_on for v, o in owners.items()}
    days = sorted({*on.values()})
    common = [v for v in range(len(linear.low)) if v not in owners]
    gain, kind = linear.worth(values), 0
    while kind < len(WIDTHS):
        helped = False
        width = max(round(WIDTHS[kind] * len(days) / max(len(model.offers), 1)), NARROWEST)
        for at in range(0, max(len(days) - width, 0) + 1, max(width // 2, 1)):
            if gain >= enough or left() <= 0.0:
                return values
            stretch = {*days[at : at + width]}
            part, own = parts.part(values, [*common, *(v for v, day in on.items() if day in stretch)])
            now = [values[v] for v in own]
            found = solve_cpsat(
                part, effort=WORK, seconds=left(), seed=seed, hint=now, level=2, brief=True
            ).values
            if found is not None:
                other = parts.whole(values, own, found)
                if (better := linear.worth(other)) > gain:
                    gain, values, helped = better, other, True
        kind = 0 if helped and kind else kind + (not helped)
    return values


def carried(
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
    was, now, linear = dict(_named(before)), dict(_named(model)), model.linear
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


def _named(m: Model) -> Iterator[tuple[Hashable, int]]:
    """What each variable stands for that is chosen, whatever else is on offer."""
    p = m.problem
    sets = [(offer.line, offer.set_on, offer.turnout_on) for offer in p.offers]

    def both(name: Hashable, choice: Choice) -> Iterator[tuple[Hashable, int]]:
        yield (name, "taken"), choice.taken
        yield (name, "trays"), choice.trays

    for o, choice in enumerate(m.offers):
        yield from both(sets[o], choice)
        for drafts, way in zip(p.offers[o].drafts, m.cocks[o], strict=True):
            yield from both((sets[o], drafts), way)
    for kind, places in (("machine", m.machine), ("brooder", m.brooder), ("house", m.house)):
        for (o, place), choice in places.items():
            yield from both((kind, sets[o], place), choice)

    def party(o: int, sex: Sex | None, way: int) -> Hashable:
        return sets[o], sex, p.offers[o].drafts[way] if sex == "cockerel" else ()

    for (s, k), number in m.shelters.items():
        sub = p.subs[s]
        yield (party(*sub.party), sub.first, sub.until, p.classes[k].names[0]), number
    for on_, join in zip(m.joins, p.joins, strict=True):
        yield (*(party(*one) for one in join.parties), join.first, p.classes[join.kind].names[0]), on_
    for (f, k), variable in m.flocks.items():
        batch, choices = p.flocks[f]
        yield (batch.id, choices[k].out), variable
