"""What the records say that changes a plan, as if it had been supposed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime

from leyfold.nouns.clock import civil
from leyfold.nouns.record import State
from leyfold.plan.replan.suppose import Kind, Supposed

__all__ = ["recorded"]

STOPS: Mapping[str, Kind] = {
    "housing order": "housing",
    "withdrawal": "withdrawal",
    "wrong feed": "wrong_feed",
    "notifiable signs": "signs",
}
TROUBLES: Mapping[str, Kind] = {
    "sick": "sick", "wrong feed": "wrong_feed", "water": "no_water",
    "fox": "dead", "mink": "dead", "bird of prey": "dead", "birds loose": "loose",
}  # fmt: skip
"""Open troubles. The birds of a raid are counted off by records of their own: their number that day."""
RAID_D = 7
"""So many days a raid still asks for something: what fed comes back for some nights."""
LOST = "lost"
HOUR_S = 3600.0


def recorded(state: State, at: datetime, day: date, zone: str) -> Iterator[Supposed]:
    """Stop-orders, withdrawals, kit lost, mains off and open troubles that hold on `day`."""
    for stop in state.stops:
        if stop.holds(day) and stop.why in STOPS:
            places = (stop.place,) if stop.place else ()
            yield Supposed(STOPS[stop.why], stop.why, stop.on, stop.until, None, places, stop.batch)
    for held in state.withdrawals:
        if held.holds_meat(day):
            until = None if held.meat_open else held.meat_until
            text = ", ".join(held.medicines)
            yield Supposed("withdrawal", text, day, until, None, (held.place,), held.batch)
    for lost in state.kit_lost:
        yield Supposed("lost", f"{lost.kit} {lost.reason or LOST}", lost.on, kit=lost.kit)
    for trouble in state.troubles:
        kind = TROUBLES.get(trouble.what)
        if kind is None or trouble.settled_on is not None or not (trouble.place or trouble.batch):
            continue
        places = (trouble.place,) if trouble.place else ()
        text = " ".join((trouble.what, *places, *((trouble.batch,) if trouble.batch else ())))
        number = None
        if kind == "dead":
            if (day - trouble.on).days >= RAID_D:
                continue
            number = _dead(state, trouble.on, trouble.place, trouble.batch)
        yield Supposed(kind, text, trouble.on, None, number, places, trouble.batch)
    for off in state.mains_off:
        hours = ((off.back_at or at) - off.at).total_seconds() / HOUR_S
        on = civil(off.at, zone)
        yield Supposed("power_off", "mains off", on, None, hours, kit=off.place, degrees_C=off.room_C)


def _dead(state: State, on: date, place: str | None, batch: str | None) -> float:
    """Birds written down as dead on a day in a place or of a batch."""
    return sum(
        count.number
        for name, facts in state.batches.items()
        for count in facts.dead
        if count.on == on and place in (None, count.place) and batch in (None, name)
    )
