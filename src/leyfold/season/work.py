"""All dated work of a season: what is to be done, or falls due, on which day.

One list for every sheet, the calendar and the day's round.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Stay
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.dates import LIFT_BEFORE_D
from leyfold.season.weeks import SOMEBODY

__all__ = ["KINDS", "Task", "Value", "heads_of", "work"]

Value = str | float | date | tuple[str, ...]

KINDS = (
    "gather", "set", "candle", "lift", "hatch", "arrive", "feed", "heat_off", "ready", "turnout", "sort",
    "shift", "kill_eve", "kill", "house", "lay", "out", "limit", "wish", "order",
)  # fmt: skip
"""What can fall due, in the order in which it is told on one day."""

CANDLE_D = 7
HEAT_OFF_D = 5
"""Nights without lamps before turnout. Common practice."""


@dataclass(frozen=True, slots=True)
class Task:
    """`batch` and `place` where there is one; `values` by name are numbers in SI, days, or names."""

    day: date
    kind: str
    batch: str | None = None
    place: str | None = None
    values: Mapping[str, Value] = field(default_factory=dict)


def work(farm: Farm, season: Season) -> tuple[Task, ...]:
    """Every task of the season's plan that falls on its days, by day, then in the order of `KINDS`. A span
    of days that `season` leaves out has no tasks here."""
    found = [task for batch in season.plan.batches for task in _of_batch(farm, season, batch)]
    found += _of_kit(farm)
    found += _of_limits(season)
    found += _promised(farm)
    last = season.day(season.days - 1)
    shown = [task for task in found if season.first <= task.day <= last]
    return tuple(sorted(shown, key=lambda t: (t.day, KINDS.index(t.kind), t.batch or "", t.place or "")))


def heads_of(
    season: Season, day: date, batch: str, sex: Sex | None = None, place: str | None = None
) -> float:
    """Birds of a batch expected at the start of `day`; 0 outside the season."""
    at = season.index(day)
    if not 0 <= at < season.days:
        return 0.0
    rows = [
        i
        for i, lot in enumerate(season.lots)
        if lot.batch == batch and sex in (None, lot.sex) and place in (None, lot.place)
    ]
    return float(season.heads[rows, at].sum())


def _of_batch(farm: Farm, season: Season, b: Batch) -> Iterator[Task]:
    if b.origin == "set" and b.set_on is not None:
        eggs: dict[str, Value] = {"eggs": float(b.eggs or 0)}
        if b.stored_d > 0:
            yield Task(b.set_on - timedelta(days=b.stored_d), "gather", b.id, None, eggs)
        yield Task(b.set_on, "set", b.id, b.incubator, eggs)
        yield Task(b.set_on + timedelta(days=CANDLE_D), "candle", b.id, b.incubator, eggs)
        yield Task(b.hatched_on - timedelta(days=LIFT_BEFORE_D), "lift", b.id, b.incubator, eggs)
        yield Task(b.hatched_on, "hatch", b.id, b.brooder, _heads(season, b, b.hatched_on))
    elif b.origin == "bought":
        yield Task(b.arrives_on, "arrive", b.id, b.brooder, _heads(season, b, b.arrives_on))
    yield from _feeds(farm, season, b)
    yield from _steps(season, b)
    yield from _killed(season, b)
    ripe = b.hatched_on + timedelta(days=round(farm.lines[b.line].point_of_lay_d.value))
    if ripe > b.arrives_on and heads_of(season, ripe, b.id, "pullet") >= SOMEBODY:
        yield Task(ripe, "lay", b.id, b.house, _heads(season, b, ripe, "pullet"))


def _heads(season: Season, b: Batch, day: date, sex: Sex | None = None) -> dict[str, Value]:
    return {"heads": heads_of(season, day, b.id, sex)}


def _feeds(farm: Farm, season: Season, b: Batch) -> Iterator[Task]:
    """The days on which the birds of a batch change to another feed; both sexes at once are one task."""
    phases = farm.lines[b.line].feeding
    for day in sorted({b.hatched_on + timedelta(days=p.from_d) for p in phases if p.from_d > 0}):
        if day <= b.arrives_on:
            continue
        new = {p.feed: p.sex for p in phases if b.hatched_on + timedelta(days=p.from_d) == day}
        for feed, sex in new.items():
            heads = heads_of(season, day, b.id, sex)
            if heads >= SOMEBODY:
                yield Task(day, "feed", b.id, None, {"feed": feed, "sex": sex or "both", "heads": heads})


def _steps(season: Season, b: Batch) -> Iterator[Task]:
    """Birds that go from place to place: out to grass, parted, into the house, and any other shift."""
    stays = [s for s in season.plan.stays if s.batch == b.id and s.first > b.arrives_on]
    for day in sorted({s.first for s in stays}):
        coming = [s for s in stays if s.first == day]
        kind = "turnout" if day == b.turnout_on else "sort" if day == b.sort_on else "shift"
        housed = [s for s in coming if s.place == b.house and day == b.house_on]
        rest = [s for s in coming if s not in housed]
        if kind == "turnout":
            yield Task(day - timedelta(days=HEAT_OFF_D), "heat_off", b.id, b.brooder, {"until": day})
        if kind == "sort":
            to = {f"{sex}s_to": _places([s for s in rest if s.sex in (None, sex)]) for sex in SEXES}
            yield Task(day, "sort", b.id, None, _heads(season, b, day) | to)
        elif rest and kind == "turnout":
            yield Task(day, kind, b.id, None, _heads(season, b, day) | {"to": _places(rest)})
        elif rest:
            yield from _shifts(season, b, day, rest)
        if housed:
            yield Task(day, "house", b.id, b.house, _heads(season, b, day, "pullet"))


def _shifts(season: Season, b: Batch, day: date, coming: Sequence[Stay]) -> Iterator[Task]:
    """Birds that go from shelter to shelter, those of each sex once they are parted: as many as a place has
    more than the day before, from where it has fewer, those killed left out of account."""
    at = season.index(day)
    if not 0 < at < season.days:
        return
    parted: list[Sex | None] = [sex for sex in SEXES if any(s.sex == sex for s in coming)]
    for sex in parted or [None]:
        moved = dict[str, float]()
        for i, lot in enumerate(season.lots):
            if lot.batch == b.id and sex in (None, lot.sex):
                more = season.heads[i, at] + season.killed[i, at] - season.heads[i, at - 1]
                moved[lot.place] = moved.get(lot.place, 0.0) + float(more)
        came = tuple(p for p in _places(coming) if moved.get(p, 0.0) >= SOMEBODY)
        left = tuple(p for p, more in moved.items() if more <= -SOMEBODY)
        if came and left:
            heads = sum(moved[p] for p in came)
            values: dict[str, Value] = {"heads": heads, "sex": sex or "both", "from": left, "to": came}
            yield Task(day, "shift", b.id, None, values)


def _places(stays: Sequence[Stay]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.place for s in stays))


def _killed(season: Season, b: Batch) -> Iterator[Task]:
    """Each day on which birds of the batch leave; cockerels by draft, old hens put out."""
    rows = {
        sex: [i for i, lot in enumerate(season.lots) if lot.batch == b.id and lot.sex == sex] for sex in SEXES
    }
    for draft in b.drafts:
        at = season.index(draft.on)
        if 0 <= at < season.days and season.killed[rows["cockerel"], at].sum() >= SOMEBODY:
            gone = [i for i in rows["cockerel"] if season.killed[i, at] > 0]
            values: dict[str, Value] = {
                "heads": float(season.killed[gone, at].sum()),
                "kg": float(season.killed_kg[gone, at].sum()),
                "from": tuple(dict.fromkeys(season.lots[i].place for i in gone)),
            }
            yield Task(draft.on - timedelta(days=1), "kill_eve", b.id, None, values | {"on": draft.on})
            yield Task(draft.on, "kill", b.id, None, values)
    for out in season.plan.outs:
        at = season.index(out.on)
        if out.batch == b.id and 0 <= at < season.days:
            yield Task(
                out.on, "out", b.id, b.house, {"heads": float(season.killed[rows["pullet"], at].sum())}
            )


def _of_kit(farm: Farm) -> Iterator[Task]:
    kits = (farm.incubators, farm.brooders, farm.shelters, farm.houses, farm.nets)
    for kit in (one for some in kits for one in some.values()):
        if kit.since is not None:
            yield Task(kit.since, "ready", None, kit.id)


def _of_limits(season: Season) -> Iterator[Task]:
    for breach in season.breaches:
        values: dict[str, Value] = {
            "quantity": breach.limit.quantity,
            "at_most": breach.limit.at_most,
            "worst": breach.worst,
            "worst_on": breach.worst_on,
            "last": breach.last,
            "limit": breach.limit.id,
        }
        yield Task(breach.first, "limit", None, breach.where, values)


def _promised(farm: Farm) -> Iterator[Task]:
    for wish in farm.wishes:
        values: dict[str, Value] = {"number": float(wish.number), "what": wish.what, "wish": wish.id}
        yield Task(wish.on, "wish", None, None, values)
    for order in farm.orders:
        values = {"number": float(order.number), "customer": order.customer, "order": order.id}
        yield Task(order.on, "order", None, None, values)
