"""The card at the brooder: warmth by age, lamps, floor, troughs, drinkers, and when to ring for help."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from leyfold.farm.tables import figure
from leyfold.farm.tables import table as cited
from leyfold.nature import cautions as harm
from leyfold.nature.machine import brooder_carries, fuse_amps
from leyfold.nouns.farm import Brooder
from leyfold.nouns.plan import Batch
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
    says,
    table,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.season.alarms import dead_in_a_day
from leyfold.season.work import heads_of
from leyfold.words import say

__all__ = ["brooder"]

WEEK = 7
BARN_C = (10.0, 0.0, -10.0)
"""Barn temperatures the lamps are judged at: those of the rule's own points."""


def brooder(ready: Ready) -> Sheet:
    """A card for the batch asked for, else for each that is brooded on or after the sheet's day."""
    name = say("paper.brooder", farm=ready.farm.holding.name)
    brooded = [b for b in ready.season.plan.batches if b.brooder is not None and b.origin != "present"]
    wanted = [ready.batch] if ready.batch is not None else [b for b in brooded if _end(b) > ready.on]
    blocks = [block for batch in wanted for block in _card(ready, batch)]
    none = (title(name), says(say("paper.brooder_none")))
    return Sheet(title=name, foot=foot(ready, say("paper.brooder_kind")), blocks=tuple(blocks) or none)


def _end(b: Batch) -> date:
    return b.turnout_on or b.arrives_on


def _card(ready: Ready, b: Batch) -> Iterator[Block]:
    shown, place = ready.shown, ready.farm.brooders.get(b.brooder or "")
    chicks = heads_of(ready.season, b.arrives_on, b.id)
    yield title(
        say("paper.brooder_title", batch=b.id, place=b.brooder or ""),
        say("paper.brooder_sub", first=shown.day(b.arrives_on), until=shown.day(_end(b))),
    )
    days = (_end(b) - b.arrives_on).days
    numbers = [(shown.heads(chicks), say("paper.big_chicks")), (shown.n(days), say("paper.big_days"))]
    alarm = dead_in_a_day(ready.farm, b, chicks, 0)
    if alarm is not None:
        numbers.append((shown.n(alarm), say("paper.big_alarm")))
    if place is not None:
        numbers.append((shown.of(place.floor_m2, "m2", 1), say("paper.big_floor")))
    yield big(*numbers)
    yield fitted(
        *_by_week(ready, b),
        says(say("paper.brooder_behaviour")),
        *(_lamps(ready, place, chicks) if place is not None else ()),
        cautions(say("paper.cautions"), (say(harm.FIRE), say(harm.ELECTRICITY), say(harm.STOP_ORDER))),
        least_pt=7.0,
        most_pt=11.0,
    )


def _by_week(ready: Ready, b: Batch) -> Iterator[Block]:
    """A row a week: warmth, floor, trough, drinkers, too many deaths, and seven boxes for the dead."""
    shown = [
        Column(say("paper.head_week"), "l"),
        Column(say("paper.head_warmth")),
        Column(say("paper.head_birds")),
        Column(say("paper.head_floor_need")),
        Column(say("paper.head_trough")),
        Column(say("paper.head_bells")),
        Column(say("paper.head_too_many")),
        *(Column(letter, "c", 7) for letter in _letters(ready, b)),
    ]
    ages = range((b.arrives_on - b.hatched_on).days, (_end(b) - b.hatched_on).days, WEEK)
    rows = [_week(ready, b, age) for age in ages]
    yield heading(say("paper.brooder_weeks"))
    yield table(shown, rows, grid=True)


def _letters(ready: Ready, b: Batch) -> list[str]:
    return [ready.shown.narrow_day(b.arrives_on + timedelta(days=i)) for i in range(WEEK)]


def _week(ready: Ready, b: Batch, age: int) -> list[Cell]:
    shown = ready.shown
    day = b.hatched_on + timedelta(days=age)
    heads = heads_of(ready.season, day, b.id)
    last = age + WEEK - 1
    low, high = (_until("brooder_heat", column, age) for column in ("edge_low_C", "edge_high_C"))
    per_m2 = next((f.value for until, f in ready.farm.floor_allowance if last < until), None)
    per_m2 = per_m2 or (ready.farm.floor_allowance[-1][1].value if ready.farm.floor_allowance else None)
    trough_m = heads * _until("brooder_extension", "feeder_cm", last) / 100
    alarm = dead_in_a_day(ready.farm, b, heads, age)
    return [
        cell(bold=shown.n(age // WEEK + 1), sub=shown.short(day)),
        cell(large=shown.span(low, high, "C")),
        shown.heads(heads),
        "·" if per_m2 is None else shown.of(heads / per_m2, "m2", 1),
        shown.of(trough_m, "m", 1),
        shown.n(max(-(-heads // figure("space.chicks_per_bell").value), 1)),
        "·" if alarm is None else cell(bold=shown.n(alarm)),
        *([""] * WEEK),
    ]


def _until(entry: str, column: str, age: int) -> float:
    """The value of a table by ages that holds at `age`; the last one on."""
    row = cited("space")[entry]
    at = next((i for i, until in enumerate(row["until_d"]) if age < until), -1)
    return float(row[column][at])


def _lamps(ready: Ready, place: Brooder, chicks: float) -> Iterator[Block]:
    """What the lamps carry at three barn temperatures, whole and with one lamp or fuse out; fuses by load."""
    shown = ready.shown
    yield heading(say("paper.lamps"))
    if not place.lamps:
        yield says(say("paper.lamps_none"))
        return
    lamps = [(lamp.watts, lamp.fuse) for lamp in place.lamps]
    carried = [
        brooder_carries(
            lamps,
            barn,
            at_10C=figure("space.lamp_chicks_at_10C").value,
            per_K=figure("space.lamp_chicks_per_K").value,
        )
        for barn in BARN_C
    ]
    yield table(
        [
            Column(say("paper.head_barn"), "l"),
            *(Column(say(f"paper.lamps_{out}")) for out in ("all_on", "lamp_out", "fuse_out")),
        ],
        [
            [shown.temperature(barn), *(_enough(ready, float(n), chicks) for n in carries)]
            for barn, carries in zip(BARN_C, carried, strict=True)
        ],
    )
    yield says(say("paper.lamps_read", chicks=shown.heads(chicks)), soft=True)
    amps = fuse_amps(lamps, volts=figure("kit.mains_v").value)
    yield items(
        say("paper.fuse", fuse=fuse, amps=shown.n(load, 1), rated=shown.n(place.fuses_a[fuse]))
        if fuse in place.fuses_a
        else say("paper.fuse_unknown", fuse=fuse, amps=shown.n(load, 1))
        for fuse, load in amps.items()
    )


def _enough(ready: Ready, carried: float, chicks: float) -> Cell:
    number = ready.shown.n(carried)
    return number if carried >= chicks else cell(bold=say("paper.too_few", number=number))
