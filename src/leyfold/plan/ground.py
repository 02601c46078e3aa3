"""Rows of the model: fresh grass."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from leyfold.plan.model import FINE, Model
from leyfold.plan.nets import net_ground

__all__ = ["add_ground"]


def add_ground(m: Model) -> None:
    """No more grass than there is on the days it is said of, every stand once, and no stand where hens go. A
    party in whichever shelter is left counts as in the largest; two that share one, as in one."""
    p = m.problem
    for grass in p.farm.planning.fresh:
        first = 0 if grass.first is None else p.span.clipped(grass.first)
        until = p.span.days if grass.until is None else p.span.clipped(grass.until)
        taken = sum(
            float((p.season.places[name].heads[first:until] > 0).sum()) * kit.floor_m2 * kit.moves_per_day
            for name, kit in p.farm.shelters.items()
        )
        terms: dict[int, int] = {}
        for variable, a, b, a_day in _parties(m):
            days = min(b, until) - max(a, first)
            if days > 0:
                terms[variable] = terms.get(variable, 0) + ceil(FINE * days * a_day)
        for on, join in zip(m.joins, p.joins, strict=True):
            kind, days = p.classes[join.kind], min(join.until, until) - max(join.first, first)
            if days > 0:
                terms[on] = -floor(FINE * days * kind.floor_m2 * kind.moves_per_day)
        if grass.nets:
            terms |= dict.fromkeys(net_ground(m), FINE)
        m.linear.row(terms, most=max(floor(FINE * (grass.m2 - taken)), 0), group="ground")


def _parties(m: Model) -> Iterator[tuple[int, int, int, float]]:
    """Shelters a party may have: the variable, the days from and until, m2 a day of each."""
    p = m.problem
    a_day = [kind.floor_m2 * kind.moves_per_day for kind in p.classes]
    for s, variable in m.one.items():
        yield variable, p.subs[s].first, p.subs[s].until, max(a_day)
    for (s, k), variable in m.shelters.items():
        yield variable, p.subs[s].first, p.subs[s].until, a_day[k]
