"""Where birds stand tonight that the book has elsewhere: their place is lost, or they were sorted today."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Group, State
from leyfold.nouns.stock import SEXES, Sex
from leyfold.plan.replan.suppose import Supposed
from leyfold.season.filling.fill import nowhere
from leyfold.season.party import limits_of

__all__ = ["NO_FLOOR_M2", "parted", "rehomed"]

NO_FLOOR_M2 = 0.01
"""Of a brooder that is there by name alone."""


def rehomed(
    farm: Farm, state: State, supposed: Sequence[Supposed], day: date
) -> tuple[State, Mapping[str, str]]:
    """Birds of a place lost by now stand somewhere else tonight. Those of a brooder: in a free one, else in
    the one that is least full. Others, or where there is none: in a free shelter, in a free brooder, with
    others of their batch, with whoever stands lightest: in this order. And where those of each place went."""
    groups, went = list(state.groups), dict[str, str]()
    for it in supposed:
        if it.kind == "lost" and it.kit is not None and it.first <= day:
            homeless = [g for g in groups if g.place == it.kit and g.heads > 0]
            if homeless:
                groups = [g for g in groups if g.place != it.kit]
                to = _room(farm, groups, homeless, day)
                groups = _joined(groups, [replace(g, place=to) for g in homeless])
                # Those who fled into a place that is lost as well go on with its birds.
                went = {kit: to if place == it.kit else place for kit, place in went.items()} | {it.kit: to}
    return replace(state, groups=tuple(groups)), went


def _room(farm: Farm, groups: Sequence[Group], homeless: Sequence[Group], day: date) -> str:
    heads = sum(g.heads for g in homeless)
    standing: dict[str, int] = {}
    for g in groups:
        standing[g.place] = standing.get(g.place, 0) + g.heads
    rooms = {
        n: kit.floor_m2 for n, kit in farm.brooders.items() if kit.owned(day) and kit.floor_m2 > NO_FLOOR_M2
    }
    if rooms and homeless[0].place in farm.brooders:
        return min(rooms, key=lambda n: (standing.get(n, 0) / rooms[n], -rooms[n]))
    shelters = [name for name, kit in farm.shelters.items() if kit.owned(day)]
    free = [name for name in shelters if not standing.get(name)]
    roomy = [n for n in free if heads <= _most_heads(farm, n)]
    if roomy or free:
        return max(roomy or free, key=lambda n: farm.shelters[n].floor_m2)
    empty = [n for n in rooms if not standing.get(n)]
    if empty:
        return max(empty, key=lambda n: rooms[n])
    own = {g.place for g in groups if g.batch in {h.batch for h in homeless} and g.place in shelters}
    floors = {n: kit.floor_m2 for n, kit in farm.shelters.items() if n in (own or shelters)}
    floors = floors or {n: kit.floor_m2 for n, kit in farm.houses.items() if kit.owned(day)}
    if not floors:
        raise nowhere(homeless[0].batch, day)
    return min(floors, key=lambda n: standing.get(n, 0) / floors[n])


def _most_heads(farm: Farm, shelter: str) -> float:
    limits = limits_of(farm, "shelter", shelter)
    return min((x.at_most for x in limits if x.quantity == "heads"), default=float("inf"))


def _joined(groups: Sequence[Group], more: Sequence[Group]) -> list[Group]:
    found = {(g.batch, g.sex, g.place): g for g in groups}
    for g in more:
        key = (g.batch, g.sex, g.place)
        found[key] = replace(g, heads=g.heads + found[key].heads) if key in found else g
    return list(found.values())


def parted(farm: Farm, whole: Plan, state: State) -> tuple[State, tuple[str, ...]]:
    """Pullets and cockerels sorted on the state's day, both by the book still in the shelter where they were
    together, stand where the completed plan `whole` parts them, if nobody stays in those places; and the
    batches of which that is taken."""
    found = []
    for batch in whole.batches:
        facts = state.batches.get(batch.id)
        if facts is None or state.day is None or facts.sorted_on != state.day or batch.sort_on is None:
            continue
        own = [g for g in state.groups if g.batch == batch.id and g.heads > 0]
        others = [g for g in state.groups if g.batch != batch.id]
        places = {g.place for g in own}
        apart = {sex: _places(whole, batch.id, sex, batch.sort_on) for sex in SEXES}
        named = {place for shares in apart.values() for place in shares}
        if (
            len(places) == 1
            and places <= farm.shelters.keys()
            and {g.sex for g in own} == set(SEXES)
            and apart["pullet"]
            and apart["cockerel"]
            and apart["pullet"].keys() != apart["cockerel"].keys()
            and not named & {g.place for g in others if g.heads > 0 and not _goes(whole, g, state.day)}
        ):
            spread = [part for g in own for part in _spread(g, apart[g.sex or "pullet"])]
            state = replace(state, groups=(*others, *spread))
            found.append(batch.id)
    return state, tuple(found)


def _goes(whole: Plan, group: Group, on: date) -> bool:
    """Whether the plan takes birds out of their place on a day."""
    own = [s for s in whole.stays if (s.batch, s.place) == (group.batch, group.place)]
    return any(s.until == on for s in own) and not any(s.first <= on < s.until for s in own)


def _places(whole: Plan, batch: str, sex: Sex, on: date) -> dict[str, float]:
    """Where a completed plan has one sex of a batch on a day, and what share of it."""
    stays = [s for s in whole.stays if s.batch == batch and s.sex in (None, sex) and s.first <= on < s.until]
    return {s.place: s.share for s in stays}


def _spread(group: Group, shares: Mapping[str, float]) -> list[Group]:
    """A group over places by their shares, in whole birds, largest remainder first."""
    total = sum(shares.values())
    exact = {place: group.heads * share / total for place, share in shares.items()}
    heads = {place: int(x) for place, x in exact.items()}
    for place in sorted(exact, key=lambda p: heads[p] - exact[p])[: group.heads - sum(heads.values())]:
        heads[place] += 1
    return [replace(group, place=place, heads=n) for place, n in heads.items() if n > 0]
