"""The places of a round, in the order in which they are walked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from leyfold.farm.tables import figure
from leyfold.nouns.ahead import BrooderHeat, Water
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import NetAhead
from leyfold.nouns.plan import Batch
from leyfold.nouns.record import State
from leyfold.nouns.round import Call, CallKind, Check, Feeding, Laid, Move, Part, Party, Warning, Watering
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.round.dues import EVENING_TASKS
from leyfold.round.fences import fence, house_move
from leyfold.round.moves import by_eye
from leyfold.round.shown import Shown
from leyfold.round.spoken import Spoken
from leyfold.round.standing import Bird, kind_of
from leyfold.round.told import told
from leyfold.round.warnings import kept_back
from leyfold.season.alarms import dead_in_a_day
from leyfold.season.dates import LIFT_BEFORE_D
from leyfold.season.grazing import grazes
from leyfold.season.work import Task
from leyfold.words import say

__all__ = ["ANYWHERE", "RECORDS", "Facts", "calls", "in_the_egg"]

MOVING = frozenset({"feed", "turnout", "sort", "shift", "kill_eve", "kill", "house", "out", "heat_off"})
"""Work with the birds of a batch, wherever they stand."""
INCUBATOR_C = 37.7
"""Forced draught, the middle of 37.2-38.3 (Virginia Cooperative Extension, incubation of chicken eggs)."""
WITH_BIRDS = ("found dead", "culled", "missing", "found alive", "glance", "counted")
RECORDS: Mapping[str, tuple[str, ...]] = {
    "incubator": ("temperature read", "tended", "candled", "tray weighed", "hatched"),
    "brooder": (*WITH_BIRDS, "fed", "watered", "temperature read", "moved", "weighed", "treated"),
    "shelter": (*WITH_BIRDS, "shelter moved", "fed", "watered", "stands at", "moved", "sorted", "killed",
                "weighed", "treated"),
    "house": (*WITH_BIRDS, "eggs", "shelter moved", "fence shifted", "fed", "watered", "fence voltage",
              "stands at", "moved", "killed", "sold", "treated"),
    "cattle": ("break opened",),
}  # fmt: skip
"""Kinds of records that can be written down at a place, in the order of use; `ANYWHERE` at all of them, and
in the evening `shut in` wherever there are birds."""
ANYWHERE = ("trouble", "note", "photograph")


@dataclass(frozen=True, slots=True, eq=False)
class Facts:
    """What the calls of one part of one day are made from. `i` is the day's index in the season; `birds` by
    batch and sex; `water` by place, `heat` by brooder
    and `ground` by shelter and day, `nets` by house, `fields` by name
    and as they are called; `sick` and `windy` are places."""

    farm: Farm
    season: Season
    state: State
    i: int
    part: Part
    there: Mapping[str, tuple[Party, ...]]
    birds: Mapping[tuple[str, Sex], Bird]
    water: Mapping[str, Water]
    heat: Mapping[str, BrooderHeat]
    ground: Mapping[tuple[str, date], Laid]
    nets: Mapping[str, NetAhead]
    fields: tuple[tuple[str, str], ...]
    tasks: Sequence[Task]
    warnings: Sequence[Warning]
    sick: frozenset[str]
    windy: frozenset[str]

    @property
    def day(self) -> date:
        return self.season.day(self.i)


def calls(facts: Facts) -> tuple[Call, ...]:
    """Youngest birds first, then hens, then cattle; places with sick birds last of all, so that nothing is
    carried from them to others that day. Only places with somebody, or eggs, in them."""
    made = [*_incubators(facts), *(_birds(facts, place, own) for place, own in facts.there.items())]
    made += _herds(facts)
    places = {name: n for n, name in enumerate(facts.season.places)}

    def key(call: Call) -> tuple[bool, int, int, int]:
        group = {"incubator": 0, "house": 2, "cattle": 3}.get(call.kind, 1)
        age = min((p.age_d for p in call.parties), default=0) if group == 1 else 0
        return call.sick, group, age, places.get(call.id, len(places))

    return tuple(sorted(made, key=key))


def in_the_egg(b: Batch, day: date, part: Part) -> bool:
    """Whether its eggs are in the machine: on the days of setting and of hatch, before or after the work."""
    if b.set_on is None:
        return False
    return b.set_on < day <= b.hatched_on if part == "morning" else b.set_on <= day < b.hatched_on


def _incubators(facts: Facts) -> Iterable[Call]:
    day = facts.day
    for name in facts.farm.incubators:
        sets = [
            b for b in facts.season.plan.batches if b.incubator == name and in_the_egg(b, day, facts.part)
        ]
        eggs = round(sum(float(b.eggs or 0) if b.fertile is None else b.fertile for b in sets))
        if not eggs:
            continue
        checks = [Check("warmth", "number", say("round.check_incubator"), INCUBATOR_C)]
        if any((b.hatched_on - day).days > LIFT_BEFORE_D for b in sets):
            checks.append(Check("turned", "tick", say("round.check_turned")))
        checks.append(Check("damp", "tick", say("round.check_damp")))
        yield Call(
            id=name, name=name, kind="incubator", number=name, who=", ".join(b.id for b in sets), heads=0,
            eggs=eggs, checks=tuple(checks), today=_today(facts, name, frozenset(b.id for b in sets)),
            cautions=_cautions(facts, name),
        )  # fmt: skip


def _birds(facts: Facts, place: str, parties: tuple[Party, ...]) -> Call:
    farm, morning = facts.farm, facts.part == "morning"
    kind: CallKind = kind_of(farm, place)
    youngest = parties[0]
    batch = next(b for b in facts.season.plan.batches if b.id == youngest.batch)
    heads = sum(p.heads for p in parties)
    fed = _fed(facts, parties) if morning else {}
    shown = Shown(farm)
    eggs = sum(heads * bird.eggs for p in parties for bird, heads in _sexes(facts, p))
    return Call(
        id=place, name=place, kind=kind, number=place, who=", ".join(dict.fromkeys(p.who for p in parties)),
        heads=heads, parties=parties,
        move=_move(facts, place, kind, parties) if morning else None,
        feeds=tuple(_feeding(shown, feed, kg) for feed, kg in fed.items()),
        water=_watering(facts, place, parties) if morning else None,
        eggs=round(eggs) if kind == "house" and morning else None,
        checks=tuple(_checks(facts, place, kind, heads)),
        today=_today(facts, place, frozenset(p.batch for p in parties)),
        cautions=_cautions(facts, place),
        withdrawal_until=kept_back(facts.state, place, parties, facts.day),
        ring_at=dead_in_a_day(farm, batch, heads, youngest.age_d), sick=place in facts.sick,
        net=_net(facts, place),
        fence=fence(farm, facts.nets[place], facts.day, heads) if morning and place in facts.nets else None,
    )  # fmt: skip


def _herds(facts: Facts) -> Iterable[Call]:
    """Cattle at grass are called at in the morning: their ground for the day, and water."""
    if facts.part == "evening":
        return
    shown = Shown(facts.farm)
    for name, herd in facts.farm.cattle.items():
        if herd.heads and grazes(facts.farm, herd, facts.day):
            litres = herd.heads * figure("feeding.cattle_water_l_per_d").value
            checks = (
                Check("break", "tick", say("round.check_break")),
                Check("water", "tick", say("round.check_water")),
            )
            said = say("round.water", litres=shown.water(litres))
            yield Call(
                id=name, name=name, kind="cattle", number=name, who=say("round.cattle"), heads=herd.heads,
                water=Watering(litres, None, None, said), checks=checks,
                cautions=_cautions(facts, name), grounds=facts.fields,
            )  # fmt: skip


def _sexes(facts: Facts, p: Party) -> list[tuple[Bird, float]]:
    """The birds of a party with their heads, by sex."""
    of = [
        facts.birds[p.batch, sex] for sex in SEXES if p.sex in (None, sex) and (p.batch, sex) in facts.birds
    ]
    alive = sum(bird.heads for bird in of)
    return [(bird, p.heads * bird.heads / alive) for bird in of]


def _fed(facts: Facts, parties: Sequence[Party]) -> dict[str, float]:
    """kg by feed; birds that are to be killed today get none."""
    found: dict[str, float] = {}
    for p in parties:
        for bird, heads in _sexes(facts, p):
            for feed, kg in bird.feed_kg.items():
                found[feed] = found.get(feed, 0.0) + heads * (1.0 - bird.leaves) * kg
    return {feed: kg for feed, kg in found.items() if kg > 0}


def _feeding(shown: Shown, feed: str, kg: float) -> Feeding:
    measure, times = shown.measured(kg)
    measured, weight = shown.feed(kg)
    key = "round.feed" if measure is None else "round.feed_measured"
    return Feeding(feed, kg, measure, times, say(key, measured=measured, kg=weight, feed=feed))


def _watering(facts: Facts, place: str, parties: Sequence[Party]) -> Watering:
    shown = Shown(facts.farm)
    litres = sum(heads * bird.water_l for p in parties for bird, heads in _sexes(facts, p))
    water = facts.water.get(place)
    bucket = None if water is None else water.bucket
    said = shown.water(litres)
    if bucket is None or bucket.refill_at is None:
        return Watering(
            litres, None if bucket is None else bucket.fills, None, say("round.water", litres=said)
        )
    at = Spoken(facts.farm).clock(bucket.refill_at)
    key = "round.water_refill" if bucket.why == "dry" else "round.water_fresh"
    return Watering(litres, bucket.fills, at, say(key, litres=said, at=at))


def _move(facts: Facts, place: str, kind: CallKind, parties: Sequence[Party]) -> Move | None:
    """Where all its birds are to be killed today the shelter stays: grass in the crop is feed."""
    if kind != "shelter":
        return house_move(facts.nets[place], facts.day) if place in facts.nets else None
    if all(bird.leaves == 1.0 for p in parties for bird, _ in _sexes(facts, p)):
        return Move("stay", say("round.move_not_before_killing"), 0)
    told_ = facts.ground.get((place, facts.day))
    return by_eye(facts.farm, place, facts.state) if told_ is None else told_.move


def _checks(facts: Facts, place: str, kind: CallKind, heads: int) -> Iterable[Check]:
    """In the morning what is read; at the shut-in what is looked at, in the order of hand and eye."""
    heat = facts.heat.get(place)
    warm = [] if heat is None else [Check("warmth", "number", say("round.check_warmth"), heat.needed_C)]
    if facts.part == "morning":
        yield from warm
        yield Check("drinker", "tick", say("round.check_drinker"))
        if _net(facts, place) is not None:
            yield _kv()
        return
    yield Check("heads", "number", say(f"round.check_heads_{kind}"), float(heads))
    if kind == "brooder":
        if heat is not None:
            yield Check("lamps", "tick", say("round.check_lamps"))
            yield from warm
    else:
        yield Check("doors", "tick", say(f"round.check_doors_{kind}"))
    if kind == "shelter" and place in facts.windy:
        yield Check("stakes", "tick", say("round.check_stakes"))
    yield Check("water", "tick", say("round.check_water"))
    if _net(facts, place) is not None:
        yield _kv()


def _net(facts: Facts, house: str) -> str | None:
    return next((n.id for n in facts.farm.nets.values() if n.house == house and n.owned(facts.day)), None)


def _kv() -> Check:
    dry, wet = (figure(f"kit.net_kv_{when}").value for when in ("dry", "wet"))
    return Check("kV", "number", say("round.check_kv", dry=f"{dry:g}", wet=f"{wet:g}"), dry, wet)


def _today(facts: Facts, place: str, batches: frozenset[str]) -> tuple[str, ...]:
    """Dated work of the day at this place: what comes in the evening is told in the evening."""
    shown, day = Shown(facts.farm), facts.day
    evening = facts.part == "evening"
    return tuple(
        told(t, shown)
        for t in facts.tasks
        if t.day == day
        and (t.kind in EVENING_TASKS) == evening
        and t.kind not in ("limit", "wish", "order")
        and (t.place == place or (t.batch in batches and t.kind in MOVING and _among(t, place)))
    )


def _among(task: Task, place: str) -> bool:
    """Whether a batch's work is done where these birds stand: the shelters drafted from, else all of them."""
    drafted = task.values.get("from")
    return not isinstance(drafted, tuple) or place in drafted


def _cautions(facts: Facts, place: str) -> tuple[str, ...]:
    return tuple(say(f"round.here_{w.kind}") for w in facts.warnings if place in w.where)
