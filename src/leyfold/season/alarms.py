"""How many dead are too many, and whatever else the records say that ordinary luck does not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from functools import lru_cache

from leyfold.farm.tables import figure
from leyfold.nature.alarms import first_week_chance, least_alarming, sick_batch_chance
from leyfold.nouns.alarm import Alarm, AlarmKind
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import BatchFacts, State
from leyfold.nouns.season import Season
from leyfold.season.drops import drops
from leyfold.words import say

__all__ = ["alarms", "dead_in_a_day", "dead_over", "usual_deaths"]

WEEK_D = 7
LEAST_SHARE = {"water": 0.20, "feed": 0.15}
"""Water or feed that falls by so much within two days calls for a look. Common practice."""
ORDER: tuple[AlarmKind, ...] = ("signs", "deaths", "water", "feed", "eggs", "unaccounted")
KILLED = frozenset({"fox", "mink", "bird of prey", "blown over"})
"""Troubles whose dead of the day in that place are no sign of sickness; those of other days still may be."""
EGG_POINTS = 5.0
"""Eggs a hundred hens and day; common practice."""


def usual_deaths(farm: Farm, b: Batch, heads: float, age_d: int, days: int = 1) -> float:
    """Deaths that ordinary luck brings over `days` from `age_d` on, all within or after the first week."""
    line = farm.lines[b.line]
    if age_d < WEEK_D:
        return heads * (1.0 - line.survival_first_week.value) * days / WEEK_D
    return heads * _of(farm, "grower_loss") * days


def dead_in_a_day(farm: Farm, b: Batch, heads: float, age_d: int) -> int | None:
    """The fewest deaths in one day that luck brings with less than the alarm's chance; None without birds.

    A chick of the first week dies on a day with a seventh of the week's loss (binomial); later Poisson.
    """
    whole = round(heads)
    if whole < 1:
        return None
    under = _of(farm, "alarm_chance")
    if age_d >= WEEK_D:
        return _fewest(usual_deaths(farm, b, heads, age_d), under)
    share = 1.0 - farm.lines[b.line].survival_first_week.value ** (1.0 / WEEK_D)
    return _fewest_chicks(whole, share, under)


def dead_over(farm: Farm, b: Batch, heads: float, age_d: int, days: int) -> int | None:
    """The same over several days."""
    if round(heads) < 1:
        return None
    return _fewest(usual_deaths(farm, b, heads, age_d, days), _of(farm, "alarm_chance"))


@lru_cache(maxsize=1024)
def _fewest(usual: float, under: float) -> int:
    return int(least_alarming(usual, under=under))


@lru_cache(maxsize=1024)
def _fewest_chicks(chicks: int, share: float, under: float) -> int:
    dead = 1
    while dead < chicks and first_week_chance(dead, chicks, usual_share=share) >= under:
        dead += 1
    return dead


def alarms(farm: Farm, season: Season, state: State, day: date) -> tuple[Alarm, ...]:
    """What the records up to `day` (the state's, or one before) say that ordinary luck does not, group by
    group; a stop-order for signs of a notifiable disease first: no statistic overrules it.

    Deaths: of the day and the day before, and of the week, each against its usual number (binomial in the
    first week, Poisson after it), without those of a fox's day or the like in its place; batches of
    `season`'s plan and those the records alone know. Water 20 %
    under, feed 15 % under, eggs 5 points under what the place was due, over the two days before (drops.py).
    Birds that a handled count left unaccounted for. None of them says that all is well.
    """
    found = (
        *_signs(state, day),
        *_deaths(farm, season, state, day),
        *_dropped(farm, state, day),
        *_unaccounted(state, day),
    )
    return tuple(sorted(found, key=lambda a: (ORDER.index(a.kind), -a.grade, -a.heads, a.place or "")))


def _signs(state: State, day: date) -> Iterator[Alarm]:
    for stop in state.stops:
        if stop.why == "notifiable signs" and stop.holds(day):
            heads = _heads(state, stop.batch, stop.place)
            where = ", ".join(w for w in (stop.batch, stop.place) if w) or say("alarms.whole_farm")
            batches = (stop.batch,) if stop.batch else _batches(state, stop.place)
            said, act = say("alarms.signs", where=where), say("alarms.signs_act")
            yield Alarm("signs", 3, stop.place, batches, heads, 0.0, 0.0, None, said, act)


def _deaths(farm: Farm, season: Season, state: State, day: date) -> Iterator[Alarm]:
    planned = {batch.id: batch for batch in season.plan.batches}
    for facts in state.batches.values():
        if facts.hatched_on is None or facts.arrived_on is None or facts.hatched_on > day:
            continue
        batch = planned.get(facts.batch) or Batch(
            facts.batch, facts.line, facts.origin, facts.hatched_on, facts.arrived_on
        )
        for place in dict.fromkeys(c.place for c in facts.dead if (day - c.on).days < WEEK_D and c.on <= day):
            found = [
                alarm
                for days in (1, 2, WEEK_D)
                if (alarm := _deaths_in(farm, state, facts, batch, place, day, days)) is not None
            ]
            if found:
                yield min(found, key=lambda alarm: alarm.chance or 0.0)


def _deaths_in(
    farm: Farm, state: State, facts: BatchFacts, batch: Batch, place: str | None, day: date, days: int
) -> Alarm | None:
    """The alarm for the deaths of the last `days` in one place, if they are one."""
    assert facts.hatched_on is not None
    first = max(facts.arrived_on or facts.hatched_on, day - timedelta(days=days - 1))
    known = {t.on for t in state.troubles if t.what in KILLED and t.place == place}
    dead = sum(
        int(c.number) for c in facts.dead if c.place == place and first <= c.on <= day and c.on not in known
    )
    left, span = _heads(state, facts.batch, place), (day - first).days + 1
    chance, usual = _luck(farm, batch, dead, left + dead, (first - facts.hatched_on).days, span)
    if chance >= _of(farm, "alarm_chance"):
        return None
    said = say(
        "alarms.deaths_today" if span == 1 else "alarms.deaths",
        batch=facts.batch, place=place, dead=dead, days=span, usual=f"{usual:.1f}",
    )  # fmt: skip
    act = say("alarms.deaths_act")
    return Alarm("deaths", 3, place, (facts.batch,), left, dead, usual, chance, said, act)


def _luck(farm: Farm, b: Batch, dead: int, heads: int, age_d: int, days: int) -> tuple[float, float]:
    """The chance of so many deaths or more of `heads` over `days` from `age_d` on, and how many are usual."""
    young = max(0, min(days, WEEK_D - age_d))
    share = 1.0 - farm.lines[b.line].survival_first_week.value ** (young / WEEK_D)
    usual = heads * share + heads * _of(farm, "grower_loss") * (days - young)
    if not dead:
        return 1.0, usual
    if young == days:
        return float(first_week_chance(dead, heads, usual_share=share)), usual
    return float(sick_batch_chance(dead, usual)), usual


def _dropped(farm: Farm, state: State, day: date) -> Iterator[Alarm]:
    for drop in drops(farm, state, day):
        if drop.what == "eggs":
            points = 100.0 * (drop.usual - drop.seen)
            if points < EGG_POINTS or (drop.chance or 0.0) >= _of(farm, "alarm_chance"):
                continue
            seen, usual = (f"{100 * one:.0f}" for one in (drop.seen, drop.usual))
            said = say("alarms.eggs", place=drop.place, seen=seen, usual=usual)
        elif drop.share >= LEAST_SHARE[drop.what]:
            said = say(f"alarms.{drop.what}", place=drop.place, share=f"{100 * drop.share:.0f}")
        else:
            continue
        yield Alarm(
            drop.what, 2, drop.place, _batches(state, drop.place), drop.heads, drop.seen, drop.usual,
            drop.chance, said, say(f"alarms.{drop.what}_act"),
        )  # fmt: skip


def _unaccounted(state: State, day: date) -> Iterator[Alarm]:
    for count in state.head_counts:
        if count.unaccounted and count.on <= day:
            name = "unaccounted" if count.unaccounted > 0 else "over_the_book"
            said = say(
                f"alarms.{name}",
                place=count.place,
                number=abs(count.unaccounted),
                counted=count.counted,
                book=count.book,
            )
            batches = (count.batch,) if count.batch else _batches(state, count.place)
            heads = _heads(state, count.batch, count.place)
            yield Alarm(
                "unaccounted", 2, count.place, batches, heads, count.counted, count.book, None, said,
                say(f"alarms.{name}_act"),
            )  # fmt: skip


def _heads(state: State, batch: str | None, place: str | None) -> int:
    return sum(g.heads for g in state.groups if batch in (None, g.batch) and place in (None, g.place))


def _batches(state: State, place: str | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys(g.batch for g in state.groups if place in (None, g.place)))


def _of(farm: Farm, name: str) -> float:
    return (farm.tonight.get(name) or figure(f"tonight.{name}")).value
