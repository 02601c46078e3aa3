"""All that is known before anything is chosen: the farm, what is fixed, what is on offer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray

from leyfold.farm.tables import figure
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex
from leyfold.plan.curves import Curve, Flock, curves, flocks
from leyfold.plan.kit import ShelterClass, shelter_classes, shelters_needed
from leyfold.plan.offers import Offer, cold_floor_C, nights_C, stored_d
from leyfold.plan.unpriced import unpriced
from leyfold.reckoning.hatching import at_setting
from leyfold.reckoning.rates import Rates
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.dates import Window, dated, window
from leyfold.season.expect import expect

__all__ = ["WEEK", "Join", "Party", "Problem", "Sub", "fixed_part", "most_eggs", "pose", "sure_of_eggs"]

WEEK = 7
EGGS = frozenset({"egg", "hatching_egg", "hatching_egg_in", "hatching_egg_out"})
SEGMENT_D = 14
"""A party may spread into more shelters, or draw together, every so many days."""


@dataclass(frozen=True, slots=True)
class Sub:
    """Days (indices) over which a party of an offer keeps its shelters. `sex` None while unsorted; `way`:
    the way of killing, of cockerels alone. `one`: one shelter of any class holds the most trays there are."""

    offer: int
    sex: Sex | None
    way: int
    first: int
    until: int
    one: bool = False

    @property
    def party(self) -> tuple[int, Sex | None, int]:
        """Whose days they are."""
        return self.offer, self.sex, self.way


Party = tuple[int, Sex, int]
"""Birds of one sex of an offer, in one way of killing (0 for pullets), once they are sorted."""


@dataclass(frozen=True, slots=True)
class Join:
    """Two sorted parties that may have one shelter of a class between them from day `first`, when both are
    sorted, until day `until`, when one of them is gone."""

    parties: tuple[Party, Party]
    kind: int
    first: int
    until: int


@dataclass(frozen=True, eq=False)
class Problem:
    """`fixed`: what nobody may touch, without the flocks that may leave, which are `flocks` by batch, one for
    each day they may leave on. `base`: the money of what is fixed; `eggs` most of each offer, `egg_money`
    what an egg set costs. `joins`: who may share a shelter; `pieces`: stretches of days that parties are
    cut into once it is known who does, besides those in which they are chosen."""

    farm: Farm
    span: Window
    today: date
    plan: Plan
    fixed: Plan
    season: Season
    base: float
    offers: tuple[Offer, ...]
    curves: tuple[Curve, ...]
    flocks: tuple[tuple[Batch, tuple[Flock, ...]], ...]
    classes: tuple[ShelterClass, ...]
    eggs: tuple[int, ...]
    egg_money: tuple[float, ...]
    joins: tuple[Join, ...] = ()
    pieces: tuple[Sub, ...] = ()

    @cached_property
    def subs(self) -> tuple[Sub, ...]:
        """The parties of every offer, cut where birds are killed, and every SEGMENT_D days where more or
        fewer shelters may be wanted than before."""
        found: list[Sub] = []
        at = self.span.clipped
        for o, offer in enumerate(self.offers):
            parted, housed = at(offer.sort_on), at(offer.house_on)
            if not self.curves[o].hens.heads.any():
                housed = self.span.days
            parties: list[tuple[Sex | None, int, list[int]]] = [
                (None, 0, [at(offer.turnout_on), parted]),
                ("pullet", 0, [parted, housed]),
            ]
            parties += [
                ("cockerel", j, [parted, *(at(draft.on) for draft in drafts)])
                for j, drafts in enumerate(offer.drafts)
            ]
            for sex, way, cuts in parties:
                pieces = [Sub(o, sex, way, x, y) for a, b in pairwise(cuts) if a < b for x, y in _cut(a, b)]
                found += self._joined(pieces)
        return (*found, *self.pieces)

    def _joined(self, subs: Sequence[Sub]) -> Iterator[Sub]:
        """Neighbours that can ask for as many shelters of each class, as one."""
        last: Sub | None = None
        asked: list[int] = []
        for sub in subs:
            most = self.eggs[sub.offer] // self.farm.planning.tray
            now = [ceil(self.need(sub, k) * most) for k in range(len(self.classes))]
            if last is not None and now == asked:
                last = replace(last, until=sub.until)
                continue
            if last is not None:
                yield last
            last, asked = replace(sub, one=max(now) <= 1), now
        if last is not None:
            yield last

    def need(self, sub: Sub, k: int) -> float:
        """Shelters of a class (a fraction) that one tray of the party needs on its worst day."""
        known = self._needs.get(sub)
        if known is None:
            group = self.farm.planning.cold_group
            cold = self.cold(sub) if group else np.zeros(sub.until - sub.first, dtype=bool)
            load = self.load(sub)
            known = tuple(shelters_needed(kind, load, group or np.inf, cold) for kind in self.classes)
            self._needs[sub] = known
        return known[k]

    @cached_property
    def _needs(self) -> dict[Sub, tuple[float, ...]]:
        """What `need` has found."""
        return {}

    def load(self, sub: Sub) -> NDArray[np.float64]:
        """[heads kg kg_n, day] of one tray over the days of the party."""
        curve = self.curves[sub.offer]
        whole = {None: curve.brood.young, "pullet": curve.hens.load, "cockerel": curve.cocks[sub.way].load}
        return whole[sub.sex][:, sub.first : sub.until]

    def many(self, first: int, until: int) -> int:
        """Shelters of any class there for new birds on all of the days."""
        return sum(kind.many(first, until) for kind in self.classes)

    def cold(self, sub: Sub) -> NDArray[np.bool_]:
        """[day of the party] whether the typical night is cold for its age: near its floor or under it."""
        hatched = self.span.index(self.offers[sub.offer].hatched_on)
        watch = (self.farm.tonight.get("cold_watch") or figure("tonight.cold_watch")).value
        floors = self.floors[sub.first - hatched : sub.until - hatched]
        return np.asarray(self.nights[sub.first : sub.until] < floors + watch)

    @cached_property
    def nights(self) -> NDArray[np.float64]:
        """[day] the typical minimum [°C]."""
        return nights_C(self.farm, self.span.first, self.span.days)

    @cached_property
    def floors(self) -> NDArray[np.float64]:
        """[age in days] the coldest night [°C] that birds so old bear."""
        return cold_floor_C(np.arange(self.span.days))

    def wanted(self, wish: Wish) -> tuple[tuple[date, int], ...]:
        """Days of a wish and how many birds in all by then; of eggs a day, the first days of its weeks."""
        last_day = self.span.day(self.span.days - 1)
        if wish.what == "eggs a day":
            last = self.span.day(self.span.days - WEEK)
            end = min(wish.until - timedelta(days=WEEK - 1) if wish.until else last, last)
            start = max(wish.on, self.span.first)
            weeks = range(max((end - start).days, 0) // WEEK + 1)
            days = {start + timedelta(days=WEEK * i) for i in weeks} | {max(end, start)}
            return tuple((day, wish.number) for day in sorted(days))
        days_of = [wish.on]
        last = wish.until or last_day
        while wish.every_d and days_of[-1] + timedelta(days=wish.every_d) <= last:
            days_of.append(days_of[-1] + timedelta(days=wish.every_d))
        return tuple((day, times * wish.number) for times, day in enumerate(days_of, start=1))


def _cut(a: int, b: int) -> Iterable[tuple[int, int]]:
    parts = max(-((b - a) // -SEGMENT_D), 1)
    return pairwise(a + (b - a) * i // parts for i in range(parts + 1))


def fixed_part(plan: Plan, today: date, known: frozenset[str] = frozenset()) -> Plan:
    """The part of a plan that no planner may touch: birds there or bought, and eggs set before `today`, or of
    which the records know (`known`)."""

    def stays(batch: Batch) -> bool:
        return (
            batch.origin != "set" or batch.id in known or (batch.set_on is not None and batch.set_on < today)
        )

    batches = tuple(filter(stays, plan.batches))
    names = {batch.id for batch in batches}
    return replace(
        plan,
        batches=batches,
        stays=tuple(s for s in plan.stays if s.batch in names),
        outs=tuple(o for o in plan.outs if o.batch in names),
    )


def _may_leave(farm: Farm, season: Season, batch: Batch) -> bool:
    """Grown hens that were there or came as such, all of them in a house: they may leave any day."""
    line = farm.lines[batch.line]
    grown = (batch.arrives_on - batch.hatched_on).days >= line.point_of_lay_d.value
    places = {
        lot.place for i, lot in enumerate(season.lots) if lot.batch == batch.id and season.heads[i].any()
    }
    return batch.origin != "set" and grown and bool(places) and places <= farm.houses.keys()


def pose(farm: Farm, fixed: Plan, today: date, offered: Sequence[Offer]) -> Problem:
    """The problem of choosing some of the sets `offered`, and days for old hens to leave, besides the `fixed`
    plan, which says its first and last day. BadInput, naming every price that lacks."""
    if faults := unpriced(farm, fixed):
        raise BadInput(*faults)
    span = window(replace(fixed, batches=dated(farm, fixed)))
    whole = expect(farm, replace(fixed, outs=()))
    leaving = [b for b in fixed.batches if _may_leave(farm, whole, b)]
    gone = {b.id for b in leaving}
    rest = complete(
        farm,
        replace(
            fixed,
            batches=tuple(b for b in fixed.batches if b.id not in gone),
            stays=tuple(s for s in fixed.stays if s.batch not in gone),
            outs=tuple(o for o in fixed.outs if o.batch not in gone),
        ),
    )
    season = expect(farm, rest)
    # Eggs set already were laid by hens that are there, whether or not these may leave now.
    base = reckon(farm, season).total() - _eggs_set(farm, season) + _eggs_set(farm, whole)
    outs = _out_days(span, today, fixed)
    there = tuple((b, tuple(flocks(farm, span, fixed, b, outs))) for b in leaving)
    able = (
        [
            offer
            for offer in offered
            if any(b.owned(offer.hatched_on) for b in farm.brooders.values())
            and any(m.owned(offer.set_on) for m in farm.incubators.values())
        ]
        if farm.shelters
        else []
    )
    counts = [most_eggs(farm, rest, season, there, offer) for offer in able]
    chosen = [(o, *c) for o, c in zip(able, counts, strict=True) if c[0] >= farm.planning.tray]
    known = curves(farm, span, [o for o, _, _ in chosen])
    kept = sure_of_eggs(farm, season, there, [o for o, _, _ in chosen], known)
    chosen = [chosen[i] for i in kept]
    return Problem(
        farm,
        span,
        today,
        fixed,
        rest,
        season,
        base,
        tuple(o for o, _, _ in chosen),
        tuple(known[i] for i in kept),
        there,
        shelter_classes(farm, span, season),
        tuple(n for _, n, _ in chosen),
        tuple(money for _, _, money in chosen),
    )


def _eggs_set(farm: Farm, season: Season) -> float:
    """Money for the eggs of sets: those of the farm's own hens are not sold, the others are bought."""
    rates = Rates(farm)
    return sum(
        rates[lump.rate].figure.value * float(lump.amount.sum()) * (1.0 if rates[lump.rate].takes else -1.0)
        for lump in at_setting(farm, season)
        if lump.rate in EGGS and rates.has(lump.rate)
    )


def _out_days(span: Window, today: date, fixed: Plan) -> list[date | None]:
    """Days on which old hens may leave: one a week, those the farmer wrote, or never."""
    start = max(today, span.first) + timedelta(days=1)
    weekly = {span.day(i) for i in range(0, span.days, WEEK) if span.day(i) >= start}
    written = {out.on for out in fixed.outs if start <= out.on < span.day(span.days)}
    return [None, *sorted(weekly | written)]


def laid(
    farm: Farm, season: Season, there: Sequence[tuple[Batch, Sequence[Flock]]], offer: Offer
) -> tuple[float, dict[tuple[int, int], float]]:
    """Eggs of an offer's line laid while its eggs are gathered: by what is fixed, by each flock's choice."""
    lines = {b.id: b.line for b in season.plan.batches}
    rows = [i for i, lot in enumerate(season.lots) if lines[lot.batch] == offer.line]
    day = season.index(offer.set_on)
    gathered = slice(max(day - max(stored_d(farm, farm.lines[offer.line]), 1), 0), max(day, 0))
    own = {
        (f, k): float(choice.eggs[gathered].sum())
        for f, (batch, choices) in enumerate(there)
        if batch.line == offer.line
        for k, choice in enumerate(choices)
    }
    return float(season.eggs[rows, gathered].sum()), own


def settable(farm: Farm, offer: Offer) -> float | None:
    """The share of the eggs of an offer's line that can be set; None where it has no breeding pen."""
    pens = [p for p in farm.pens.values() if p.line == offer.line and p.owned(offer.set_on)]
    return max((1.0 if p.settable_share is None else p.settable_share for p in pens), default=None)


def most_eggs(
    farm: Farm, fixed: Plan, season: Season, there: Sequence[tuple[Batch, Sequence[Flock]]], offer: Offer
) -> tuple[int, float]:
    """The most eggs that can be set, and what an egg costs: one not sold where the farm's own hens lay it,
    else one bought."""
    rates = Rates(farm)
    line = farm.lines[offer.line]
    places = max(m.eggs for m in farm.incubators.values() if m.owned(offer.set_on))
    gathered = max(stored_d(farm, line), 1)
    share = settable(farm, offer)
    if share is None:
        return places, -rates["hatching_egg"].figure.value
    for batch in fixed.batches:
        if batch.set_on is not None and batch.line == offer.line:
            apart = (offer.set_on - batch.set_on).days
            if -max(batch.stored_d, 1) < apart < gathered:
                return 0, 0.0
    most = min(_pens_give(farm, offer, gathered), float(places))
    of_fixed, of_flocks = laid(farm, season, there, offer)
    best: dict[int, float] = {}
    for (f, _), eggs in of_flocks.items():
        best[f] = max(best.get(f, 0.0), eggs)
    all_laid = of_fixed + sum(best.values())
    if all_laid <= 0.0:
        return int(most), -rates["hatching_egg"].figure.value
    return int(min(most, all_laid * share)), -rates["egg"].figure.value


def _pens_give(farm: Farm, offer: Offer, gathered: int) -> float:
    """Settable eggs that the pens of a line give on the days before a set while they are there; endless where
    nobody says how many a pen lays."""
    total = 0.0
    for back in range(1, gathered + 1):
        for pen in farm.pens.values():
            if pen.line == offer.line and pen.owned(offer.set_on - timedelta(days=back)):
                if pen.lay_share is None:
                    return float(np.inf)
                settable_share = 1.0 if pen.settable_share is None else pen.settable_share
                total += pen.hens * pen.lay_share * settable_share
    return total


def sure_of_eggs(
    farm: Farm,
    season: Season,
    there: Sequence[tuple[Batch, Sequence[Flock]]],
    chosen: Sequence[Offer],
    known: Sequence[Curve],
) -> list[int]:
    """Offers but those of a line with a breeding pen that are set when only hens still to be hatched could
    have laid the eggs: nobody can count on them."""
    first_lay: dict[str, int] = {}
    for curve, offer in zip(known, chosen, strict=True):
        if curve.hens.eggs.any() and not offer.forbidden:
            day = int(np.argmax(curve.hens.eggs > 0))
            first_lay[offer.line] = min(first_lay.get(offer.line, day), day)
    kept = []
    for i, offer in enumerate(chosen):
        of_fixed, of_flocks = laid(farm, season, there, offer)
        some = of_fixed > 0.0 or any(eggs > 0 for eggs in of_flocks.values())
        early = season.index(offer.set_on) <= first_lay.get(offer.line, season.days)
        if settable(farm, offer) is None or some or early:
            kept.append(i)
    return kept
