"""A housing order: the floor that all birds want under a roof, who finds none, mesh, litter, what stops."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.numbers.view import SOMEBODY, View
from leyfold.season.filling.indoors import floor_need_m2
from leyfold.season.work import work

__all__ = ["under_a_roof"]

LITTER_KG_PER_M2 = 9.0
"""Dry litter under birds kept in. Common practice: 8 to 10."""
KILL_LEAST_D = 70
"""A cockerel younger than ten weeks has nothing on him yet. A guess."""
MOVEMENTS = ("arrive", "out", "kill")


def under_a_roof(view: View) -> Iterator[Number]:
    """Floor by age and by weight, who is over, mesh over shelters, litter, killing forward, movements."""
    orders = view.case.of("housing")
    first = max(min(s.first for s in orders), view.day)
    at = view.at(first)
    yield from _floor(view, first, at)
    yield from _mesh(view)
    yield from _forward(view, first, at)
    yield from _stopped(view, first)


def _floor(view: View, first: date, at: int) -> Iterator[Number]:
    """All that stand in barn or shelter on the first day, youngest first, against the floor."""
    farm, season = view.case.farm, view.now.season
    rooms = {n: kit.floor_m2 for n, kit in farm.brooders.items() if kit.owned(first)}
    rows = [
        i
        for i, lot in enumerate(season.lots)
        if lot.place not in farm.houses and season.heads[i, at] >= SOMEBODY
    ]
    need = floor_need_m2(farm, season.heads[:, at], season.age_d[:, at])
    by_kg = figure("limits.eu_organic_pullets_kg").value
    floor, heads = sum(rooms.values()), float(season.heads[rows, at].sum())
    kg = float((season.heads[rows, at] * season.weight_kg[rows, at]).sum())
    want = float(need[rows].sum())
    if heads < SOMEBODY:
        yield from _hens(view, first, at)
        return
    yield view.number(
        "roof_m2",
        want,
        None,
        first,
        on=first,
        n=heads,
        want=view.tell.n(want, 1),
        there=view.tell.n(floor, 1),
        kg=kg,
        by_kg=view.tell.n(kg / by_kg, 1),
    )
    left, over = floor, dict[str, float]()
    for batch in sorted({season.lots[i].batch for i in rows}, key=lambda b: -_born(view, b)):
        own = [i for i in rows if season.lots[i].batch == batch]
        m2 = float(need[own].sum())
        if m2 > left:
            over[batch] = float(season.heads[own, at].sum()) * (1.0 - max(left, 0.0) / m2)
        left -= m2
    if over:
        yield view.number(
            "roof_over_heads",
            sum(over.values()),
            None,
            first,
            n=sum(over.values()),
            who=", ".join(f"{b} {n:.0f}" for b, n in over.items()),
        )
    litter = floor * LITTER_KG_PER_M2
    yield view.number("roof_litter_kg", litter, None, first, kg=litter, floor=view.tell.n(floor, 1))
    yield from _hens(view, first, at)


def _hens(view: View, first: date, at: int) -> Iterator[Number]:
    """Hens shut in their house."""
    farm, season = view.case.farm, view.now.season
    for name, kit in farm.houses.items():
        hens = float(season.places[name].heads[at])
        if hens >= SOMEBODY:
            yield view.number(
                "roof_hens_per_m2",
                hens / kit.floor_m2,
                name,
                first,
                where=name,
                n=hens,
                per=view.tell.n(hens / kit.floor_m2, 1),
            )


def _born(view: View, batch: str) -> int:
    return next(b.hatched_on.toordinal() for b in view.now.season.plan.batches if b.id == batch)


def _mesh(view: View) -> Iterator[Number]:
    """Mesh round the sides of every shelter with birds."""
    kits = [kit for name, kit in view.case.farm.shelters.items() if view.groups((name,))]
    if kits:
        m2 = sum(2.0 * (kit.length_m + kit.width_m) * kit.height_m for kit in kits)
        yield view.number("mesh_m2", m2, None, view.day, n=len(kits), m2=m2)


def _forward(view: View, first: date, at: int) -> Iterator[Number]:
    """Cockerels old enough to be killed before the order begins, and the floor that would free."""
    season = view.now.season
    need = floor_need_m2(view.case.farm, season.heads[:, at], season.age_d[:, at])
    rows = [
        i
        for i, lot in enumerate(season.lots)
        if lot.sex == "cockerel" and season.age_d[i, at] >= KILL_LEAST_D and season.heads[i, at] >= SOMEBODY
    ]
    heads = float(season.heads[rows, at].sum())
    if heads >= 1 and first > view.day + timedelta(days=1):
        m2 = float(np.sum(need[rows]))
        yield view.number(
            "forward_heads",
            heads,
            None,
            first,
            n=heads,
            m2=view.tell.n(m2, 1),
            on=first,
            who=", ".join(dict.fromkeys(season.lots[i].batch for i in rows)),
        )


def _stopped(view: View, first: date) -> Iterator[Number]:
    """Movements of the plan that fall within the order."""
    held = [
        t
        for t in work(view.case.farm, view.before.season)
        if t.kind in MOVEMENTS and t.day >= first and view.case.roofed(t.day)
    ]
    for task in held[:6]:
        yield view.number(f"stopped_{task.kind}", None, task.batch, task.day, batch=task.batch, on=task.day)
