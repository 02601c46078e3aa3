"""What follows when nobody does anything but what must be: the plan bent by the day, nothing mended."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from leyfold.farm.tables import figure
from leyfold.nature.machine import cold_embryo_grade, cooled_C, hours_until_cooled
from leyfold.nouns.plan import Batch, Draft, Plan, Stay
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.plan.replan.case import Case, held_until
from leyfold.season.complete import complete
from leyfold.season.dates import dated
from leyfold.season.expect import expect

__all__ = ["FOUND_D", "Cooled", "bent", "cooled", "draft_moved", "merged", "stood_in"]

FOUND_D = 28
"""A killing day that is lost: nobody is killed for four weeks unless another is found. A guess."""
STILL_HATCH = (1.0, 0.9, 0.6, 0.2)
"""Hatch left by grade of a cooled set. Guesses about the 40-50 % that Penn State Extension names after 18 h
(power outage)."""
ROOM_C, COLD_C = 10.0, 32.0
SOMEBODY = 0.5
A_DAY = timedelta(days=1)


def bent(case: Case) -> Plan:
    """The plan of `case`, every date filled in, with what cannot be as planned put off: killing on days that
    are shut or forbidden, turnout before there is grass, birds out of doors under a housing order; and eggs
    that have cooled."""
    plan = replace(case.plan, batches=dated(case.farm, case.plan))
    plan = replace(
        plan, batches=tuple(_kept_in(case, _put_off(case, _cooled(case, b))) for b in plan.batches)
    )
    plan = _out_of_lost(case, plan)
    return _under_roof(case, plan) if case.of("housing") and not case.netted else plan


def _put_off(case: Case, batch: Batch) -> Batch:
    """Drafts on days that are shut go to the end of those days, or four weeks on; those of birds that may not
    be killed to the day they may."""
    return replace(batch, drafts=merged(replace(d, on=draft_moved(case, batch.id, d)) for d in batch.drafts))


def merged(drafts: Iterable[Draft]) -> tuple[Draft, ...]:
    """Drafts by day, those of one day as one."""
    left: dict[date, float] = {}
    for draft in drafts:
        left[draft.on] = left.get(draft.on, 1.0) * (1.0 - draft.share)
    return tuple(Draft(on, 1.0 - left[on]) for on in sorted(left))


def draft_moved(case: Case, batch: str, draft: Draft) -> date:
    """The day on which a draft falls when nobody looks for another."""
    on = draft.on
    if draft.share == 0.0:
        return on
    if case.shut(on):
        on = on + timedelta(days=FOUND_D)
        while case.shut(on):
            on += A_DAY
    stop = case.stopped(batch, on)
    if stop is not None:
        on = held_until(stop)
    return on


def _kept_in(case: Case, batch: Batch) -> Batch:
    """Not out before there is grass; the later steps not before that."""
    grass = max((s.until for s in case.of("no_grass") if s.until is not None), default=None)
    if grass is None or batch.turnout_on is None or not case.day <= batch.turnout_on < grass:
        return batch
    places = {g.place for g in case.state.groups if g.batch == batch.id and g.heads > 0}
    if places - case.farm.brooders.keys():  # Out already.
        return batch
    later = {
        name: max(on, grass)
        for name in ("turnout_on", "sort_on", "house_on")
        if (on := getattr(batch, name)) is not None
    }
    drafts = merged(replace(d, on=max(d.on, grass)) for d in batch.drafts)
    return replace(batch, drafts=drafts, **later)


@dataclass(frozen=True, slots=True)
class Cooled:
    """Eggs of a machine without mains from the day `off`, on `day` of incubation: `hours` in all, of them
    `under_h` under 32 °C, down to `coldest_C`; by grade 0 to 3 `left` of the hatch."""

    off: date
    day: int
    hours: float
    under_h: float
    coldest_C: float
    grade: int
    left: float


def _cooled(case: Case, batch: Batch) -> Batch:
    """Eggs of a machine that stood without mains."""
    if batch.set_on is None or not batch.set_on <= case.day < batch.hatched_on or not batch.eggs:
        return batch
    found = cooled(case, batch)
    if found is None or found.left == 1.0:
        return batch
    line = case.farm.lines[batch.line]
    fertile = batch.eggs * line.fertility.value if batch.fertile is None else batch.fertile
    return replace(batch, fertile=round(fertile * found.left))


def cooled(case: Case, batch: Batch) -> Cooled | None:
    """The worst that a set has been through; None where it did not cool, or has been candled since."""
    facts = case.state.batches.get(batch.id)
    candled = None if facts is None else facts.candled_on
    tau_h = (case.farm.tonight.get("incubator_tau") or figure("tonight.incubator_tau")).value
    found = []
    for off in case.of("power_off"):
        held = batch.set_on is not None and batch.set_on <= off.first < batch.hatched_on
        if not held or off.kit not in (None, batch.incubator) or (candled and candled > off.first):
            continue
        assert batch.set_on is not None
        hours, room = off.number or 0.0, ROOM_C if off.degrees_C is None else off.degrees_C
        coldest = float(cooled_C(hours, room_C=room, tau_h=tau_h))
        under = max(hours - float(hours_until_cooled(COLD_C, room_C=room, tau_h=tau_h)), 0.0)
        day = min((off.first - batch.set_on).days, 22)
        grade = int(cold_embryo_grade(under, coldest, day))
        found.append(Cooled(off.first, day, hours, under, coldest, grade, STILL_HATCH[grade]))
    return min(found, key=lambda one: one.left, default=None)


def _out_of_lost(case: Case, plan: Plan) -> Plan:
    """From the day a place is lost on, the whole party that stood in it is placed anew by the usual rules."""
    kits = {**case.farm.shelters, **case.farm.brooders, **case.farm.houses}
    stays = list(plan.stays)
    for lost in case.of("lost"):
        gone = kits[lost.kit].until if lost.kit in kits else None
        if gone is None:
            continue
        hit = {(s.batch, s.sex) for s in stays if s.place == lost.kit and s.until > gone}
        stays = [
            replace(s, until=min(s.until, gone)) if (s.batch, s.sex) in hit and s.first < gone else s
            for s in stays
            if not (s.place == lost.kit and s.first >= gone)
        ]
    return replace(plan, stays=tuple(stays))


def _under_roof(case: Case, plan: Plan) -> Plan:
    """From the first day of a housing order on, all that stand in shelters stand in the brooders, and none
    goes out before it is over."""
    order = min(case.of("housing"), key=lambda s: s.first)
    first = max(order.first, case.day)
    rooms = [name for name, kit in case.farm.brooders.items() if kit.owned(first)]
    for _ in range(len(plan.batches) if rooms else 0):
        # Those brought in leave shelters free, into which others may go that had waited indoors.
        season = expect(case.farm, complete(case.farm, plan))
        outside = list(_outdoors(case, season, first, order.until or season.day(season.days)))
        if not outside:
            break
        for batch, sex, start, end in outside:
            plan = replace(plan, stays=stood_in(plan.stays, batch, sex, rooms, start, end))
    return plan


def stood_in(
    stays: Sequence[Stay], batch: str, sex: Sex, places: Sequence[str], first: date, until: date
) -> tuple[Stay, ...]:
    """`stays` with one sex of a batch in `places`, by their floor, from `first` until `until`."""
    kept: list[Stay] = []
    for s in stays:
        if s.batch != batch or s.sex not in (None, sex) or s.until <= first or s.first >= until:
            kept.append(s)
            continue
        if s.sex is None:
            other: Sex = "cockerel" if sex == "pullet" else "pullet"
            kept.append(replace(s, id=f"{s.id}.{other}", sex=other))
        if s.first < first:
            kept.append(replace(s, id=f"{s.id}.0", sex=sex, until=first))
        if until < s.until:
            # Those counted at its beginning: by now there are fewer.
            kept.append(replace(s, id=f"{s.id}.1", sex=sex, first=until, heads=None))
    new = [Stay(f"{batch}.{sex}.{p}.{first}.moved", batch, sex, p, first, until) for p in places]
    return (*kept, *new)


def _outdoors(case: Case, season: Season, first: date, until: date) -> Iterator[tuple[str, Sex, date, date]]:
    """Runs of days within the order on which birds of a batch and sex would stand in shelters."""
    a, b = max(season.index(first), 0), min(season.index(until), season.days)
    for batch in season.plan.batches:
        for sex in SEXES:
            rows = [
                i
                for i, lot in enumerate(season.lots)
                if lot.batch == batch.id and lot.sex == sex and lot.place in case.farm.shelters
            ]
            days = [d for d in range(a, b) if rows and season.heads[rows, d].sum() >= SOMEBODY]
            if days:
                yield batch.id, sex, season.day(days[0]), season.day(days[-1]) + A_DAY
