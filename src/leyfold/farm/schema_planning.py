"""The shape of [planning] in farm.toml: what a planner is held to besides wishes and limits."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from leyfold.farm.faults import Page
from leyfold.farm.locate import Path
from leyfold.farm.quantity import Count, Day, Kg, Quantity, Slug, Strict
from leyfold.nouns.farm import Farm
from leyfold.nouns.planning import WEEKDAYS, Busy, Planning, Weekday

__all__ = ["BusyTable", "PlanningTable", "look_through_planning", "read_planning"]


class BusyTable(Strict):
    """Days, both counted, on which one of the people has other work."""

    first: Day = Field(alias="from")
    last: Day = Field(alias="to")
    person: Slug
    hours_per_day: Annotated[float, Field(ge=0, le=24)] = 0.0


class PlanningTable(Strict):
    """Days on which things may be done, and how eggs are counted. Left out: nobody is held to anything."""

    tray: Count = 6
    """Sets are counted in trays of so many eggs."""
    stored: Annotated[float, Quantity("d", least=0, most=14, whole=True)] | None = None
    """Days over which the eggs of a set are gathered. Left out: until they would begin to lose hatch fast."""
    set_from: Day | None = None
    set_until: Day | None = None
    """First and last day on which eggs may be set."""
    set_weekdays: tuple[Weekday, ...] = Field(default=WEEKDAYS, strict=False, min_length=1)
    grass_from: Day | None = None
    """No chick goes out before."""
    grass_until: Day | None = None
    """Nobody is in a shelter from this day on."""
    kill_weekdays: tuple[Weekday, ...] = Field(default=WEEKDAYS, strict=False, min_length=1)
    kill_a_day: Annotated[int, Field(ge=0, le=100_000)] | None = None
    """Birds that can be killed on one day."""
    closed: tuple[Day, ...] = Field(default=(), strict=False)
    """Days on which nothing is killed."""
    freezer: Kg | None = None
    """Carcass that finds room in the freezer on one killing day."""
    mixed_ages: Annotated[float, Quantity("d", least=0, most=200, whole=True)] | None = None
    """Batches hatched further apart share no brooder, nor a shelter once sorted (21 days unless said)."""
    cold_group: Annotated[int, Field(ge=1, le=100_000)] | None = None
    """Most birds together in one shelter on nights that are cold for their age."""
    ground: Annotated[float, Quantity("m2", least=0, most=1e8)] | None = None
    """Grass that shelters may stand on in the season, each stand once."""
    heat_without: Literal["nothing", "lamp", "fuse"] = "nothing"
    """What may fail in a brooder with the other lamps still carrying all chicks."""
    busy: tuple[BusyTable, ...] = Field(default=(), strict=False)
    """Days of other work: hay, calving."""


def look_through_planning(page: Page, farm: Farm) -> None:
    """Note spans of days that end before they begin, and people who are not there."""
    asked, path = farm.planning, ("planning",)
    spans: list[tuple[Path, str, date | None, str, date | None]] = [
        (path, "set_from", asked.set_from, "set_until", asked.set_until),
        (path, "grass_from", asked.grass_from, "grass_until", asked.grass_until),
    ]
    for i, busy in enumerate(asked.busy):
        at: Path = (*path, "busy", i)
        page.refers((*at, "person"), busy.person, page.names("people"), "person")
        spans.append((at, "from", busy.first, "to", busy.last))
    for at, first, since, then, until in spans:
        if since is not None and until is not None and until < since:
            page.fault((*at, then), "planning_order", first=first, since=since, then=then, until=until)


def read_planning(given: PlanningTable) -> Planning:
    """The table as what the planner is held to."""
    return Planning(
        tray=given.tray,
        stored_d=None if given.stored is None else round(given.stored),
        set_from=given.set_from,
        set_until=given.set_until,
        set_weekdays=given.set_weekdays,
        grass_from=given.grass_from,
        grass_until=given.grass_until,
        kill_weekdays=given.kill_weekdays,
        kill_a_day=given.kill_a_day,
        closed=given.closed,
        freezer_kg=given.freezer,
        mixed_ages_d=None if given.mixed_ages is None else round(given.mixed_ages),
        cold_group=given.cold_group,
        ground_m2=given.ground,
        heat_without=given.heat_without,
        busy=tuple(Busy(b.first, b.last, b.person, b.hours_per_day) for b in given.busy),
    )
