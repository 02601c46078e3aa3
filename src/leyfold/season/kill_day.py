"""A killing day timed backwards: everything cold by an hour, the last bird and the first before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from leyfold.farm.tables import figure
from leyfold.nature.killing import heating_h, ice_kg, water_kwh
from leyfold.nouns.farm import Farm
from leyfold.season.work import Task

__all__ = ["KillDay", "kill_day", "killing", "killing_days"]


@dataclass(frozen=True, slots=True)
class KillDay:
    """`first_h` lets the feed be taken away before bedtime; `stop_h` is when the last bird must be in the
    ice, `done_h` when it is if all goes well.

    Hours are of the day, since its midnight; below zero is the evening before. `fits` is how many birds
    the crew can do between the earliest start and `stop_h`; where `heads` are more, `first_h` is
    that earliest start and not all are done."""

    on: date
    heads: float
    live_kg: float
    carcass_kg: float
    crew: int
    work_h: float
    fits: float
    scald_kwh: float
    scald_h: float
    ice_least_kg: float
    ice_bring_kg: float
    feed_off_from_h: float
    feed_off_until_h: float
    heater_on_h: float
    catch_h: float
    first_h: float
    done_h: float
    stop_h: float
    cold_h: float

    @property
    def offal_kg(self) -> float:
        """Blood, feathers, offal: what is live weight and no carcass."""
        return self.live_kg - self.carcass_kg


def killing_days(tasks: Sequence[Task], batch: str | None = None) -> tuple[date, ...]:
    """The days on which table birds are killed, of one batch or of all."""
    return tuple(sorted({t.day for t in tasks if t.kind == "kill" and batch in (None, t.batch)}))


def kill_day(farm: Farm, batches: Sequence[tuple[str, float, float]], on: date) -> KillDay:
    """`batches` are (line, heads, live kg) of each batch killed that day. The crew are the farm's farmers and
    helpers, one where it names none. ValueError where nobody is killed."""
    heads, live = sum(n for _, n, _ in batches), sum(kg for _, _, kg in batches)
    if not heads > 0:
        raise ValueError("nobody is killed that day")
    carcass = sum(kg * farm.lines[line].dressing_share.value for line, _, kg in batches)
    crew = max(sum(p.role in ("farmer", "helper") for p in farm.people.values()), 1)
    each = (farm.work.get("kill_h") or figure("work.kill_h")).value
    hours = heads * each / crew
    stop = killing(farm, "cold_by_h") - killing(farm, "chill_h")
    earliest = min(killing(farm, "first_bird_h"), stop)
    bedtime = killing(farm, "feed_off_by_h") - 24.0 + killing(farm, "feed_off_most_h")
    first = max(min(stop - hours, bedtime), earliest)
    kwh = float(
        water_kwh(killing(farm, "scald_l"), from_C=killing(farm, "tap_C"), to_C=killing(farm, "scald_C"))
    )
    heat = float(heating_h(kwh, watts=killing(farm, "heater_w"), kept_share=killing(farm, "heat_kept")))
    least = float(
        ice_kg(
            carcass,
            from_C=killing(farm, "carcass_C"),
            to_C=killing(farm, "chill_C"),
            kj_per_kg_K=killing(farm, "carcass_heat"),
        )
    )
    return KillDay(
        on=on,
        heads=heads,
        live_kg=live,
        carcass_kg=carcass,
        crew=crew,
        work_h=hours,
        fits=(stop - earliest) * crew / each,
        scald_kwh=kwh,
        scald_h=heat,
        ice_least_kg=least,
        ice_bring_kg=max(carcass * killing(farm, "ice_bring"), least),
        feed_off_from_h=first - killing(farm, "feed_off_most_h"),
        feed_off_until_h=first - killing(farm, "feed_off_least_h"),
        heater_on_h=first - heat,
        catch_h=first - killing(farm, "catching_h"),
        first_h=first,
        done_h=min(first + hours, stop),
        stop_h=stop,
        cold_h=killing(farm, "cold_by_h"),
    )


def killing(farm: Farm, name: str) -> float:
    """A figure of the killing day by the name of the cited table, the farm's own where it gives one."""
    return (farm.killing.get(name) or figure(f"killing.{name}")).value
