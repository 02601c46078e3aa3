"""The vet's page of one batch: age, place, deaths, feed and water against forecast, where it has been."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from leyfold.nature import cautions as harm
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import Count
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
    items,
    lines,
    says,
    table,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.round.told import SEXES_SAID
from leyfold.season.alarms import dead_in_a_day, dead_over
from leyfold.season.weeks import SOMEBODY
from leyfold.season.work import heads_of
from leyfold.words import say

__all__ = ["vet"]

BACK_D = 14
WEEK_D = 7


def vet(ready: Ready) -> Sheet:
    """The batch asked for, on the sheet's day. ValueError where none was asked for."""
    b = ready.batch
    if b is None:
        raise ValueError("the vet's page is of one batch")
    shown = ready.shown
    name = say("paper.vet", batch=b.id)
    age = (ready.on - b.hatched_on).days
    heads, by_book = _heads(ready, b)
    week = dead_over(ready.farm, b, heads, max(age, 0), WEEK_D)
    day = dead_in_a_day(ready.farm, b, heads, max(age, 0))
    numbers = [
        (
            say("paper.age", weeks=shown.n(age // WEEK_D), days=shown.n(age % WEEK_D)) if age >= 0 else "·",
            say("paper.big_age"),
        ),
        (shown.heads(heads), say("paper.big_by_book") if by_book else say("paper.big_expected")),
    ]
    if day is not None and week is not None:
        numbers += [(shown.n(day), say("paper.big_alarm")), (shown.n(week), say("paper.big_alarm_week"))]
    return Sheet(
        title=name,
        foot=foot(ready, name),
        blocks=(
            title(name, say("paper.vet_sub", farm=ready.farm.holding.name, day=shown.day(ready.on))),
            big(*numbers),
            fitted(
                *_where(ready, b),
                *_days(ready, b),
                *_been(ready, b),
                heading(say("paper.treatments")),
                says(say("paper.treatments_none"), soft=True),
                table(
                    [
                        Column(say(f"paper.head_{name}"), "l", "1fr")
                        for name in ("medicine", "from", "to", "dose", "withdrawal")
                    ],
                    [[""] * 5, [""] * 5],
                    grid=True,
                ),
                heading(say("paper.signs")),
                lines(3),
                cautions(say("paper.cautions"), (say(harm.STOP_ORDER),)),
                least_pt=6.5,
            ),
        ),
    )


def _heads(ready: Ready, b: Batch) -> tuple[float, bool]:
    """Birds of the batch by the book where the records have it, else expected."""
    if ready.state.day == ready.on and b.id in ready.state.batches:
        return float(sum(g.heads for g in ready.state.groups if g.batch == b.id)), True
    return heads_of(ready.season, ready.on, b.id), False


def _where(ready: Ready, b: Batch) -> Iterator[Block]:
    """The places of the batch today, who else stands there, and what they eat."""
    here = [
        p
        for p in ready.parties(ready.on)
        if heads_of(ready.season, ready.on, b.id, place=p.place) >= SOMEBODY
    ]
    others = [p for p in ready.parties(ready.on) if p not in here]
    yield heading(say("paper.where"))
    if not here:
        yield says(say("paper.where_none"))
        return
    yield table(
        [
            Column(say("paper.head_place"), "l"),
            Column(say("paper.head_with"), "l", "1fr"),
            Column(say("paper.head_birds")),
            Column(say("paper.head_each")),
            Column(say("paper.head_feed_kind"), "l"),
        ],
        [
            [
                cell(bold=p.place),
                p.who,
                ready.shown.heads(p.heads),
                ready.shown.of(p.weight_kg, "kg", 2),
                ", ".join(k for k, _ in p.feeds),
            ]
            for p in here
        ],
        tight=True,
    )
    source = {"set": "paper.from_set", "bought": "paper.from_bought", "present": "paper.from_present"}[
        b.origin
    ]
    yield says(say(source, on=ready.shown.day(b.arrives_on), hatched=ready.shown.day(b.hatched_on)))
    if others:
        said = ", ".join(
            say("paper.neighbour_place", place=p.place, who=p.who, heads=ready.shown.heads(p.heads))
            for p in others
        )
        yield says(say("paper.neighbours", places=said))


def _days(ready: Ready, b: Batch) -> Iterator[Block]:
    """The last fortnight: dead, feed and water, what was written down beside what was due. What was not
    written down is left open, never nought."""
    shown = ready.shown
    facts = ready.state.batches.get(b.id)
    first = max(ready.on - timedelta(days=BACK_D), b.arrives_on)
    days = [first + timedelta(days=i) for i in range(max((ready.on - first).days, 0))]
    yield heading(say("paper.fortnight"))
    if not days:
        yield says(say("paper.fortnight_none"))
        return
    dead = _by_day(facts.dead if facts else ())
    places = {lot.place for lot in ready.season.lots if lot.batch == b.id}
    fed = {p: _by_day([c for c in ready.state.fed_kg if c.place == p]) for p in places}
    rows: list[list[Cell]] = []
    for day in days:
        at = ready.season.index(day)
        here = [p for p in ready.parties(day) if heads_of(ready.season, day, b.id, place=p.place) > 0]
        given = [fed[p.place][day] for p in here if day in fed.get(p.place, {})]
        due_kg = sum(kg for p in here for _, kg in p.feeds)
        due_l = sum(p.water_l for p in here)
        gone = (
            float(
                ready.season.dead[
                    [i for i, lot in enumerate(ready.season.lots) if lot.batch == b.id], at
                ].sum()
            )
            if 0 <= at < ready.season.days
            else 0.0
        )
        rows.append(
            [
                shown.weekday_short(day),
                cell(bold=shown.n(dead[day])) if day in dead else "",
                shown.n(gone, 2),
                shown.mass(sum(given)) if given else "",
                shown.mass(due_kg),
                "",
                shown.water(due_l),
            ]
        )
    yield table(
        [
            Column(say("paper.head_day"), "l"),
            Column(say("paper.head_dead"), "c", "1fr"),
            Column(say("paper.head_dead_due")),
            Column(say("paper.head_fed"), "c", "1fr"),
            Column(say("paper.head_fed_due")),
            Column(say("paper.head_drunk"), "c", "1fr"),
            Column(say("paper.head_drunk_due")),
        ],
        rows,
        tight=True,
        grid=True,
    )
    yield says(say("paper.fortnight_read"), soft=True)


def _by_day(counts: tuple[Count, ...] | list[Count]) -> dict[date, float]:
    found: dict[date, float] = {}
    for count in counts:
        found[count.on] = found.get(count.on, 0.0) + count.number
    return found


def _been(ready: Ready, b: Batch) -> Iterator[Block]:
    """Every place the batch has been in, by the records where they have it, else by the plan up to today."""
    spells = [(s.first, s.until, s.place, s.sex) for s in ready.state.spells if s.batch == b.id]
    known = bool(spells)
    if not known:
        spells = [
            (s.first, s.until, s.place, s.sex)
            for s in ready.season.plan.stays
            if s.batch == b.id and s.first <= ready.on
        ]
    yield heading(say("paper.been_recorded") if known else say("paper.been_planned"))
    joined: list[tuple[date, date, str, str | None]] = []
    for first, until, place, sex in sorted(spells, key=lambda s: (s[2], str(s[3]), s[0])):
        if joined and joined[-1][1:] == (first, place, sex):
            joined[-1] = (joined[-1][0], until, place, sex)
        else:
            joined.append((first, until, place, sex))
    yield (
        items(
            say(
                "paper.been",
                place=place,
                who=say(f"round.{SEXES_SAID[sex]}"),
                first=ready.shown.day(first),
                until=ready.shown.day(min(until, ready.on)),
            )
            for first, until, place, sex in sorted(joined)
        )
        if joined
        else says(say("paper.where_none"))
    )
