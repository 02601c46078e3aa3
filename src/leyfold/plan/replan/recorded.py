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
TROUBLES: Mapping[str, Kind] = {"sick": "sick", "wrong feed": "wrong_feed", "water": "no_water"}
"""Open troubles that keep birds from something. Of birds loose nobody has written whose they are."""
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
        yield Supposed("lost", lost.kit, lost.on, kit=lost.kit)
    for trouble in state.troubles:
        known = trouble.what in TROUBLES and (trouble.place or trouble.batch)
        if known and trouble.settled_on is None:
            places = (trouble.place,) if trouble.place else ()
            yield Supposed(
                TROUBLES[trouble.what], trouble.what, trouble.on, None, None, places, trouble.batch
            )
    for off in state.mains_off:
        hours = ((off.back_at or at) - off.at).total_seconds() / HOUR_S
        on = civil(off.at, zone)
        yield Supposed("power_off", "mains off", on, None, hours, kit=off.place, degrees_C=off.room_C)
