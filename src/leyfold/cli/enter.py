"""`leyfold enter`: a day sheet filled in pencil, typed in line by line."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

if TYPE_CHECKING:
    from leyfold.nouns.round import Call

__all__ = ["enter"]


def enter(farm: Path, *, day: date | None = None, at: str = "07:00", who: str = "farmer") -> int:
    """Type in a day sheet, one line a place, in the order of the sheet; nothing is kept before the last line.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    day
        The day of the sheet; else today.
    at
        The hour of the round on the farm's clock.
    who
        Who filled it in.
    """
    from leyfold.nouns.clock import civil, instant
    from leyfold.services.opened import open_farm
    from leyfold.services.records import instant_of, write_down
    from leyfold.services.round import rounds_of

    now = datetime.now(UTC)
    zone = open_farm(farm, now).farm.holding.zone
    on = day or civil(now, zone)
    when = f"{on.isoformat()}T{at}"
    if instant_of(when, zone, now) > now:
        wrong, mend = say("round.enter_future", day=on.isoformat()), say("round.enter_future_mend")
        raise BadInput(Fault("leyfold enter", "--day", wrong, mend))
    morning = rounds_of(farm, instant(on, time(3), zone)).rounds[0]
    print(say("round.enter_title", what=morning.said))
    print(say("round.enter_how"))
    found: list[tuple[str, dict[str, str]]] = []
    try:
        for call in morning.calls:
            found += _asked(call)
    except (EOFError, KeyboardInterrupt):
        print(say("round.enter_left"))
        return 0
    for kind, data in found:
        write_down(farm, kind, data, who=who, at=when, now=now, anyway=True)
    print(say("round.enter_kept", n=len(found)))
    return 0


def _asked(call: Call) -> tuple[tuple[str, dict[str, str]], ...]:
    """One line of the sheet, asked for until it can be read."""
    from leyfold.round.entry import entered

    count = call.heads or call.eggs or 0
    while True:
        line = input(say("round.enter_line", place=call.name, heads=count, who=call.who))
        try:
            return entered(call, line)
        except BadInput as wrong:
            print(*wrong.faults, sep="\n")
