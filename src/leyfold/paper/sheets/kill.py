"""The killing day on one sheet: hours timed backwards, stations, water, ice, crew, birds by weight class."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from leyfold.nature import cautions as harm
from leyfold.paper.sheets.blocks import (
    Block,
    Cell,
    Column,
    Sheet,
    big,
    cautions,
    cell,
    fitted,
    heading,
    page_break,
    says,
    table,
    ticks,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.reckoning.classes import bounds, shares
from leyfold.season.drafts import takes
from leyfold.season.kill_day import KillDay, kill_day, killing, killing_days
from leyfold.season.work import Task
from leyfold.words import say

__all__ = ["kill"]

STATIONS = ("catch", "kill", "scald", "pluck", "draw", "chill", "pack")
ORDERS_AHEAD_D = 14
CORE_ROWS = 6


def kill(ready: Ready) -> Sheet:
    """The first killing day on or after the sheet's day. IndexError where there is none: ask first."""
    batch = None if ready.batch is None else ready.batch.id
    on = next(day for day in killing_days(ready.tasks, batch) if day >= ready.on)
    tasks = [t for t in ready.tasks if t.kind == "kill" and t.day == on]
    line_of = {b.id: b.line for b in ready.season.plan.batches}
    day = kill_day(ready.farm, [(line_of[t.batch or ""], _n(t, "heads"), _n(t, "kg")) for t in tasks], on)
    shown = ready.shown
    name = say("paper.kill", day=shown.weekday(on))
    return Sheet(
        title=name,
        foot=foot(ready, say("paper.kill_kind")),
        blocks=(
            title(
                name,
                say(
                    "paper.kill_sub",
                    farm=ready.farm.holding.name,
                    batches=", ".join(t.batch or "" for t in tasks),
                ),
            ),
            big(
                (shown.heads(day.heads), say("paper.big_killed")),
                (shown.mass(day.live_kg), say("paper.big_live")),
                (shown.mass(day.carcass_kg), say("paper.big_carcass")),
                (shown.mass(day.ice_bring_kg), say("paper.big_ice")),
                (shown.time(day.first_h), say("paper.big_first")),
            ),
            fitted(
                *_hours(ready, day),
                cautions(say("paper.cautions"), (say(harm.KILLING), say(harm.KNIVES), say(harm.SCALD))),
                least_pt=7.0,
            ),
            page_break(),
            fitted(*_stations(ready, day), *_expected(ready, tasks), *_core(ready), least_pt=7.0),
        ),
    )


def _n(task: Task, name: str) -> float:
    value = task.values[name]
    assert isinstance(value, float)
    return value


def _hours(ready: Ready, day: KillDay) -> Iterator[Block]:
    """From the last hour back to the evening before, told in the order in which they come."""
    shown = ready.shown
    steps = [
        (_at(ready, day.feed_off_from_h, day.feed_off_until_h), say("paper.kill_feed_off")),
        (
            _at(ready, day.heater_on_h),
            say(
                "paper.kill_heater",
                litres=shown.water(_of(ready, "scald_l")),
                cold=shown.temperature(_of(ready, "tap_C")),
                hot=shown.temperature(_of(ready, "scald_C")),
                kwh=shown.n(day.scald_kwh, 1),
                hours=shown.n(day.scald_h, 1),
                watts=shown.n(_of(ready, "heater_w")),
            ),
        ),
        (cell(large=say("paper.morning")), say("paper.kill_morning")),
        (_at(ready, day.catch_h), say("paper.kill_catch")),
        (
            _at(ready, day.first_h),
            say("paper.kill_first", ice=shown.mass(day.ice_bring_kg), least=shown.mass(day.ice_least_kg)),
        ),
        (
            _at(ready, day.stop_h),
            say("paper.kill_stop", hours=shown.n(day.cold_h - day.stop_h, 0), done=shown.time(day.done_h)),
        ),
        (_at(ready, day.cold_h), say("paper.kill_cold", cold=shown.temperature(_of(ready, "chill_C")))),
    ]
    yield heading(say("paper.kill_hours"))
    if day.fits < day.heads:
        yield says(
            say(
                "paper.kill_too_many",
                heads=shown.heads(day.heads),
                fits=shown.n(day.fits // 1),
                crew=day.crew,
            )
        )
    yield table(
        [Column("", "l"), Column("", "l"), Column("", "l", "1fr")],
        [[cell(tick=1), when, what] for when, what in steps],
    )
    yield says(say("paper.kill_read", crew=day.crew, work=shown.n(day.work_h, 1)), soft=True)
    longest = day.done_h - day.feed_off_until_h
    if longest > _of(ready, "feed_off_most_h"):
        yield says(say("paper.kill_long_fast", hours=shown.n(longest)))


def _at(ready: Ready, low: float, high: float | None = None) -> Cell:
    """A time of day, or a span of it, large."""
    times = ready.shown.time(low)
    if high is not None:
        times = say("paper.times", low=times, high=ready.shown.time(high))
    return cell(large=times, sub=say("paper.evening_before") if low < 0 else None)


def _of(ready: Ready, name: str) -> float:
    return killing(ready.farm, name)


def _stations(ready: Ready, day: KillDay) -> Iterator[Block]:
    shown = ready.shown
    yield heading(say("paper.stations"))
    rows: list[list[Cell]] = [
        [
            cell(bold=say(f"paper.station_{name}")),
            say(
                f"paper.station_{name}_how",
                hot=shown.temperature(_of(ready, "scald_C")),
                cold=shown.temperature(_of(ready, "chill_C")),
            ),
            cell(write_mm=38),
        ]
        for name in STATIONS
    ]
    yield table(
        [
            Column(say("paper.head_station"), "l"),
            Column(say("paper.head_how"), "l", "1fr"),
            Column(say("paper.head_who"), "l"),
        ],
        rows,
    )
    people = ", ".join(p.name for p in ready.farm.people.values() if p.role in ("farmer", "helper"))
    if people:
        yield says(say("paper.crew", people=people), soft=True)
    yield says(say("paper.offal", kg=shown.mass(day.offal_kg)))


def _expected(ready: Ready, tasks: list[Task]) -> Iterator[Block]:
    """Carcasses by weight class, and what is promised within a fortnight."""
    shown, edges = ready.shown, bounds(ready.farm)
    number = np.zeros(len(edges) - 1)
    kg = 0.0
    for task in tasks:
        batch = next(b for b in ready.season.plan.batches if b.id == task.batch)
        line = ready.farm.lines[batch.line]
        cv = line.cockerel.weight_cv.value
        before = 0.0
        for take in takes([d for d in batch.drafts if d.on >= batch.arrives_on], cv):
            if take.on == task.day:
                mean = _n(task, "kg") / _n(task, "heads") / take.taken_factor * line.dressing_share.value
                number += _n(task, "heads") * shares(mean, cv, (before, min(before + take.taken, 1.0)), edges)
            before += take.taken
        kg += _n(task, "kg") * line.dressing_share.value
    heads = sum(_n(task, "heads") for task in tasks)
    yield heading(say("paper.by_class"))
    yield says(say("paper.mean_carcass", each=shown.of(kg / heads, "kg", 2)))
    if ready.farm.weight_classes:
        names = [say("paper.class_below", least=shown.of(float(edges[1]), "kg", 2))]
        names += [
            say("paper.class_from", name=c.id, least=shown.of(c.least_kg, "kg", 2))
            for c in ready.farm.weight_classes
        ]
        yield table(
            [
                Column(say("paper.head_class"), "l", "1fr"),
                Column(say("paper.head_expected")),
                Column(say("paper.head_counted"), "c", 30),
            ],
            [[name, cell(bold=shown.heads(float(n))), ""] for name, n in zip(names, number, strict=True)],
            grid=True,
            tight=True,
        )
    day = tasks[0].day
    due = [o for o in ready.farm.orders if day <= o.on <= day + timedelta(days=ORDERS_AHEAD_D)]
    if due:
        yield heading(say("paper.orders"))
        yield ticks(
            say(
                "paper.order",
                customer=o.customer,
                number=o.number,
                size=o.weight_class or say("paper.any_size"),
                on=shown.short(o.on),
            )
            for o in sorted(due, key=lambda o: o.on)
        )


def _core(ready: Ready) -> Iterator[Block]:
    yield heading(say("paper.core"))
    yield says(say("paper.core_how", cold=ready.shown.temperature(_of(ready, "chill_C"))), soft=True)
    yield table(
        [
            Column(say("paper.head_time"), "l", "1fr"),
            Column(say("paper.head_core"), "l", "1fr"),
            Column(say("paper.head_ice"), "l", "1fr"),
            Column(say("paper.head_initials"), "l", "1fr"),
        ],
        [["", "", "", ""] for _ in range(CORE_ROWS)],
        grid=True,
    )
