"""Mains off: how cold eggs got and what still hatches, which chicks want heat, what a generator carries."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from leyfold.nature.machine import needed_C
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.course import cooled
from leyfold.plan.replan.numbers.view import View
from leyfold.season.course import hatched_heads
from leyfold.season.dates import dated
from leyfold.words import say

__all__ = ["machine_lost", "mains_off"]

CANDLE_D = 5
"""Days after the cold before anything is thrown out (Penn State Extension, power outage)."""


def mains_off(view: View) -> Iterator[Number]:
    """Sets by hours, age, temperature and chicks still expected; chicks under heat; generators."""
    farm = view.case.farm
    for batch in dated(farm, view.case.plan):
        found = cooled(view.case, batch)
        if found is None:
            continue
        line = farm.lines[batch.line]
        was = sum(hatched_heads(batch, line).values())
        still = sum(hatched_heads(next(b for b in view.now.plan.batches if b.id == batch.id), line).values())
        on = found.off + timedelta(days=CANDLE_D)
        yield view.number(
            "cooled_chicks",
            still,
            batch.id,
            on,
            batch=batch.id,
            day=found.day,
            hours=view.tell.n(found.hours, 1),
            cold=view.tell.n(found.under_h, 1),
            coldest=view.tell.n(found.coldest_C, 0),
            grade=say(f"replan.grade_{found.grade}"),
            was=was,
            still=still,
            on=on,
            eggs=batch.eggs,
        )
    offs = view.case.of("power_off")
    for name in farm.brooders:
        groups = view.groups((name,))
        if groups and any(s.kit in (None, name) for s in offs):
            youngest = min(view.age_d(g) for g in groups)
            want = float(needed_C(youngest))
            yield view.number(
                "chicks_want_c",
                want,
                name,
                view.day,
                where=name,
                n=sum(g.heads for g in groups),
                age=youngest,
                want=want,
            )
    yield from _generators(view)


def machine_lost(view: View) -> Iterator[Number]:
    """Eggs whose machine is lost, and the places free in those that are left."""
    lost = {s.kit for s in view.case.of("lost") if s.first <= view.day}
    planned = view.before.season.plan.batches
    inside = [b for b in planned if b.set_on and b.set_on <= view.day < b.hatched_on]
    left = {name: kit.eggs for name, kit in view.case.farm.incubators.items() if name not in lost}
    for batch in inside:
        if batch.incubator in left:
            left[batch.incubator] -= batch.eggs or 0
    for batch in (b for b in inside if b.incubator in lost):
        words = {"batch": batch.id, "eggs": batch.eggs, "kit": batch.incubator, "hatches": batch.hatched_on}
        machine = max(left, key=lambda name: left[name], default=None)
        if machine is None:
            yield view.number("eggs_none", float(batch.eggs or 0), batch.id, view.day, **words)
        else:
            room = max(left[machine], 0)
            yield view.number("eggs_homeless", float(batch.eggs or 0), batch.id, view.day, machine=machine,
                              room=room, **words)  # fmt: skip


def _generators(view: View) -> Iterator[Number]:
    """Each generator, against lamps over the youngest chicks first, then machines with eggs in them."""
    farm = view.case.farm
    lit = [name for name, kit in farm.brooders.items() if kit.lamps and view.groups((name,))]
    lit.sort(key=lambda name: min(view.age_d(g) for g in view.groups((name,))))
    wanted = [(name, sum(lamp.watts for lamp in farm.brooders[name].lamps)) for name in lit]
    batches = [b for b in view.now.season.plan.batches if b.set_on and b.set_on <= view.day < b.hatched_on]
    wanted += [
        (name, farm.incubators[name].watts or 0.0)
        for name in dict.fromkeys(b.incubator for b in batches)
        if name is not None and farm.incubators[name].watts is not None
    ]
    for name, kit in farm.generators.items():
        if kit.owned(view.day) and wanted:
            takes, left = [], kit.watts
            for place, watts in wanted:
                if watts <= left:
                    takes.append(f"{place} {watts:.0f} W")
                    left -= watts
            yield view.number(
                "generator_w",
                kit.watts,
                name,
                view.day,
                generator=name,
                watts=kit.watts,
                takes=", ".join(takes) or "-",
                wanted=", ".join(f"{p} {w:.0f} W" for p, w in wanted),
            )
