"""A card for every shelter: who is in it, how many and how heavy week by week, and the moves."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.farm import Shelter
from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    big,
    cell,
    fitted,
    heading,
    items,
    says,
    table,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.round.told import told_birds
from leyfold.season.party import limits_of
from leyfold.season.weeks import SOMEBODY
from leyfold.words import say

__all__ = ["shelter"]

DAYS = 7


def shelter(ready: Ready) -> Sheet:
    """A page for each shelter of the farm, over the whole season."""
    name = say("paper.shelter", farm=ready.farm.holding.name)
    cards = [block for one in ready.farm.shelters.values() for block in _card(ready, one)]
    return Sheet(title=name, foot=foot(ready, say("paper.shelter_kind")), blocks=tuple(cards))


def _card(ready: Ready, one: Shelter) -> Iterator[Block]:
    shown, season = ready.shown, ready.season
    yield title(one.id, say("paper.shelter_sub", farm=ready.farm.holding.name))
    most = [
        (shown.n(limit.at_most), say("paper.big_most"))
        for limit in limits_of(ready.farm, "shelter", one.id)
        if limit.quantity == "heads"
    ]
    yield big(
        (shown.of(one.floor_m2, "m2", 1), say("paper.big_floor")),
        *most[:1],
        (
            shown.n(one.moves_per_day, 0 if one.moves_per_day == round(one.moves_per_day) else 1),
            say("paper.big_moves"),
        ),
        *([(shown.mass(one.mass_kg), say("paper.big_mass"))] if one.mass_kg is not None else []),
    )
    stays = [s for s in season.plan.stays if s.place == one.id and s.until > season.first]
    if not stays:
        yield says(say("paper.shelter_empty"))
        return
    limits = limits_of(ready.farm, "shelter", one.id)
    rows = list(_weeks(ready, one.id))
    rings = {b.id: b.ring for b in season.plan.batches}
    yield fitted(
        heading(say("paper.who_in_it")),
        table(
            [
                Column(say("paper.head_batch"), "l", "1fr"),
                Column(say("paper.head_first"), "l"),
                Column(say("paper.head_until"), "l"),
                Column(say("paper.head_birds")),
            ],
            [
                [
                    told_birds(s.batch, s.sex, rings[s.batch]),
                    shown.day(s.first),
                    shown.day(s.until),
                    shown.heads(_heads(ready, s.id, s.first)),
                ]
                for s in stays
            ],
            tight=True,
        ),
        heading(say("paper.limits")),
        items(say(f"paper.limit_{limit.quantity}", at_most=shown.n(limit.at_most)) for limit in limits),
        heading(say("paper.week_by_week")),
        table(
            [
                Column(say("paper.head_week"), "l"),
                Column(say("paper.head_birds")),
                Column(say("paper.head_each")),
                Column(say("paper.head_stocked", unit=shown.unit("kg/m2"))),
                Column(say("paper.head_n", unit=shown.unit("kg/ha"))),
                Column(say("paper.head_moves"), "l", "1fr"),
            ],
            rows,
            tight=True,
        ),
        least_pt=7.0,
    )


def _heads(ready: Ready, stay: str, day: date) -> float:
    at = max(ready.season.index(day), 0)
    rows = [i for i, lot in enumerate(ready.season.lots) if lot.stay == stay]
    return float(ready.season.heads[rows, at].sum()) if at < ready.season.days else 0.0


def _weeks(ready: Ready, place: str) -> Iterator[list[Cell]]:
    """A row for each week with somebody in: birds and weight on the first day they are there, the worst day's
    load, a box for each day."""
    here, shown = ready.season.places[place], ready.shown
    for week in ready.weeks:
        start = ready.season.index(week.monday)
        days = slice(start, start + DAYS)
        there = np.flatnonzero(here.heads[days] >= SOMEBODY)
        if not there.size:
            continue
        first = start + int(there[0])
        each = float(here.kg[first] / here.heads[first])
        boxes = [shown.narrow_day(week.monday + timedelta(days=int(d))) for d in there]
        yield [
            cell(shown.short(week.monday)),
            cell(bold=shown.heads(float(here.heads[first]))),
            shown.of(each, "kg", 2),
            shown.n(shown.outward(float(here.kg_per_m2[days].max()), "kg/m2"), 1),
            shown.n(shown.outward(float(here.kg_n_per_ha_pass[days].max()), "kg/ha")),
            {"row": [cell(tick=1, text=letter) for letter in boxes]},
        ]
