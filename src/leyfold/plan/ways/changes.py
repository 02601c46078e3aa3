"""What might be changed where groups of limits and wishes leave no plan: one thing at a time, by as much as
it takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import zip_longest
from math import ceil, sqrt
from typing import Any

from leyfold.nouns.farm import Farm, Lamp, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.replanned import Term
from leyfold.plan.freed import lifted
from leyfold.plan.offers import stored_d
from leyfold.plan.ways.kit import barn_more, incubator_more, new_name, shelter_cost, shelter_more
from leyfold.plan.ways.needed import Need
from leyfold.reckoning.rates import Rates
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

__all__ = ["Change", "changes"]

READY_D = 14
"""Days until kit that is not there yet stands on the farm. A guess."""
LATER_D = (14, 42)
LESS_SURE = (0.1, 0.2)
SPARE = 0.04
"""So much more than a model says it takes: chances are checked after it."""
LEAST_CHANCE = 0.5
LESS_STILL = 0.75
HENS_PER_M2 = 6.0
LAMP_W = 250.0
HELP_WEEKS = 26
SOONER_D = 28
GRASS_D = 14


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One change of the farm or of what is in the plan already; `terms` are what it costs itself, `group`
    what it loosens. `given_up`:
    it takes something back that was wished for, and costs no money."""

    id: str
    said: str
    group: str
    farm: Farm
    plan: Plan
    terms: tuple[Term, ...] = ()
    given_up: bool = False

    @property
    def costs(self) -> float | None:
        if any(t.money is None for t in self.terms):
            return None
        return sum(t.money or 0.0 for t in self.terms)

    @property
    def guess(self) -> bool:
        return any(t.guess for t in self.terms)


def changes(
    farm: Farm, plan: Plan, groups: Sequence[str], needs: Mapping[str, Need], day: date
) -> Iterator[Change]:
    """Changes that each loosen one of `groups` (the reasons of an irreducible clash: no other change opens a
    plan by itself): kit, days and hands before wishes. `needs` says by what share a group must be loosened;
    one that opens nothing at all is left out."""
    groups = [g for g in groups if g not in needs or needs[g].share is not None]
    shares = {g: need.share for g, need in needs.items()}
    for group in groups:
        if not group.startswith("wish:"):
            yield from _of(farm, plan, group, shares.get(group), day)
    named = [
        [*_wish(farm, plan, w, shares.get(f"wish:{w.id}"), day)]
        for w in farm.wishes
        if f"wish:{w.id}" in groups
    ]
    yield from (change for turn in zip_longest(*named) for change in turn if change is not None)


def _of(farm: Farm, plan: Plan, group: str, need: float | None, day: date) -> Iterator[Change]:
    since = day + timedelta(days=READY_D)
    asked = farm.planning
    if group == "lamps":
        yield _lamp(farm, plan)
    elif group == "pen":
        yield Change("eggs", say("ways.eggs"), group, replace(farm, pens={}), plan)
        yield from _longer(farm, plan)
    elif group in ("grass", "set_days", "killing_days"):
        yield from _days(farm, plan, group)
    if need is None:
        return
    share = need + SPARE
    if group == "shelters":
        yield _shelters(farm, plan, max(ceil(need * len(farm.shelters)), 1), since)
    elif group == "brooders":
        floor = sum(kit.floor_m2 for kit in farm.brooders.values())
        yield _floor(farm, plan, max(ceil(share * floor), 1), since)
    elif group == "incubators":
        tray = max(asked.tray, 1)
        places = sum(kit.eggs for kit in farm.incubators.values())
        yield _incubator(farm, plan, max(ceil(share * places / tray), 1) * tray, since)
    elif group == "house" and farm.houses:
        yield _house(farm, plan, share)
    elif group == "nets":
        yield _netting(farm, plan, share)
    elif group == "killing" and asked.kill_a_day is not None:
        n = max(ceil(share * asked.kill_a_day), 1)
        more = replace(asked, kill_a_day=asked.kill_a_day + n)
        said = say("ways.killing", n=n, most=asked.kill_a_day)
        yield Change(f"killing:{n}", said, group, replace(farm, planning=more), plan)
    elif group == "freezer" and asked.freezer_kg is not None:
        kg = ceil(share * asked.freezer_kg)
        more = replace(asked, freezer_kg=asked.freezer_kg + kg)
        cost = (Term("freezer", None),)
        yield Change(
            f"freezer:{kg}", say("ways.freezer", kg=kg), group, replace(farm, planning=more), plan, cost
        )
    elif group == "ground":
        m2 = ceil(share * max((grass.m2 for grass in asked.fresh), default=0.0))
        more = replace(asked, grass=tuple(replace(grass, m2=grass.m2 + m2) for grass in asked.fresh))
        yield Change(f"ground:{m2}", say("ways.ground", m2=m2), group, replace(farm, planning=more), plan)
    elif group == "hours":
        yield from _hours(farm, plan, share)


def _longer(farm: Farm, plan: Plan) -> Iterator[Change]:
    """Eggs of a set gathered for as long as they may wait, at what that costs their hatch."""
    of_pens = [farm.lines[pen.line] for pen in farm.pens.values()]
    most = min((round(line.storage_most_d.value) for line in of_pens), default=0)
    was = max((stored_d(farm, line) for line in of_pens), default=0)
    if was < most:
        more = replace(farm, planning=replace(farm.planning, stored_d=most))
        yield Change(f"stored:{most}", say("ways.stored", days=most, was=was), "pen", more, plan)


def _shelters(farm: Farm, plan: Plan, n: int, since: date) -> Change:
    more = farm
    for _ in range(n):
        more, _name = shelter_more(more, since)
    return Change(f"shelters:{n}", say("ways.shelters", n=n), "shelters", more, plan, shelter_cost(farm, n))


def _floor(farm: Farm, plan: Plan, m2: int, since: date) -> Change:
    more, _name, terms = barn_more(farm, float(m2), since)
    return Change(f"brooder:{m2}", say("ways.brooder", m2=m2), "brooders", more, plan, terms)


def _incubator(farm: Farm, plan: Plan, eggs: int, since: date) -> Change:
    more, _name = incubator_more(farm, eggs, since)
    cost = (Term("incubator", None),)
    return Change(f"incubator:{eggs}", say("ways.incubator", eggs=eggs), "incubators", more, plan, cost)


def _lamp(farm: Farm, plan: Plan) -> Change:
    """One lamp more over every brooder, each on a fuse of its own."""
    kits = {
        name: replace(
            kit,
            lamps=(*kit.lamps, Lamp(LAMP_W, new_name("more", kit.fuses_a))),
            fuses_a={**kit.fuses_a, new_name("more", kit.fuses_a): 10.0},
        )
        for name, kit in farm.brooders.items()
    }
    return Change(
        "lamp", say("ways.lamp"), "lamps", replace(farm, brooders=kits), plan, (Term("lamp", None),)
    )


def _house(farm: Farm, plan: Plan, share: float) -> Change:
    """Room for more hens in the largest house, at the room each has now."""
    name, kit = max(farm.houses.items(), key=lambda x: x[1].floor_m2)
    per = min(
        (x.at_most for x in farm.limits if x.quantity == "heads_per_m2" and x.scope in ("house", name)),
        default=HENS_PER_M2,
    )
    hens = max(ceil(share * sum(h.floor_m2 for h in farm.houses.values()) * per), 1)
    m2 = hens / per
    wider = replace(
        kit,
        floor_m2=kit.floor_m2 + m2,
        perch_m=None if kit.perch_m is None else kit.perch_m * (1.0 + m2 / kit.floor_m2),
        nests=None if kit.nests is None else ceil(kit.nests * (1.0 + m2 / kit.floor_m2)),
    )
    limits = tuple(
        replace(x, at_most=x.at_most + hens) if x.quantity == "heads" and x.scope == name else x
        for x in farm.limits
    )
    more = replace(farm, houses={**farm.houses, name: wider}, limits=limits)
    said = say("ways.house", n=hens, m2=f"{m2:.1f}", house=name)
    return Change(f"house:{hens}", said, "house", more, plan, (Term("house", None),))


def _netting(farm: Farm, plan: Plan, share: float) -> Change:
    """More rolls for every net: what it encloses grows with their square."""
    many = {net.id: max(ceil(net.rolls * (sqrt(1.0 + share) - 1.0)), 1) for net in farm.nets.values()}
    nets = {net.id: replace(net, rolls=net.rolls + many[net.id]) for net in farm.nets.values()}
    rolls = sum(many.values())
    cost = (Term("netting", None),)
    return Change(f"rolls:{rolls}", say("ways.rolls", n=rolls), "nets", replace(farm, nets=nets), plan, cost)


def _hours(farm: Farm, plan: Plan, share: float) -> Iterator[Change]:
    first = next((p for p in farm.people.values() if p.hours_per_day is not None), None)
    if first is None:
        return
    there = sum(p.hours_per_day or 0.0 for p in farm.people.values())
    hours = ceil(2.0 * share * there) / 2.0
    people = {**farm.people, first.id: replace(first, hours_per_day=(first.hours_per_day or 0.0) + hours)}
    rates = Rates(farm)
    hour = rates["labour"].figure.value if rates.has("labour") else None
    pay = Term("help", None if hour is None else 7.0 * HELP_WEEKS * hours * hour, guess=True)
    said = say("ways.hours", hours=f"{hours:g}", weeks=HELP_WEEKS)
    yield Change(f"hours:{hours:g}", said, "hours", replace(farm, people=people), plan, (pay,))


def _days(farm: Farm, plan: Plan, group: str) -> Iterator[Change]:
    asked = farm.planning

    def with_(**new: Any) -> Farm:
        return replace(farm, planning=replace(asked, **new))

    if group == "killing_days":
        said = say("ways.killing_weekdays")
        yield Change("killing_weekdays", said, group, with_(kill_weekdays=WEEKDAYS), plan)
        if asked.closed:
            yield Change("killing_open", say("ways.killing_open"), group, with_(closed=()), plan)
    if group == "grass":
        earlier = None if asked.grass_from is None else asked.grass_from - timedelta(days=GRASS_D)
        later = None if asked.grass_until is None else asked.grass_until + timedelta(days=GRASS_D)
        said = say("ways.grass", days=GRASS_D)
        yield Change("grass", said, group, with_(grass_from=earlier, grass_until=later), plan)
        yield Change("grass_any", say("ways.grass_any"), group, lifted(farm, group), plan)
    if group == "set_days":
        wide = timedelta(days=SOONER_D)
        more = with_(
            set_from=None if asked.set_from is None else asked.set_from - wide,
            set_until=None if asked.set_until is None else asked.set_until + wide,
            set_weekdays=WEEKDAYS,
        )
        yield Change("set_days", say("ways.set_days", days=SOONER_D), group, more, plan)
        yield Change("set_any", say("ways.set_any"), group, lifted(farm, group), plan)


def _wish(farm: Farm, plan: Plan, wish: Wish, need: float | None, day: date) -> Iterator[Change]:
    def with_(**new: Any) -> Farm:
        return replace(farm, wishes=tuple(replace(w, **new) if w.id == wish.id else w for w in farm.wishes))

    language, name, group = farm.holding.language, wish.id, f"wish:{wish.id}"
    # A lesser number wants more to spare for its chance than a greater one: what the share says, and less.
    least = 0.0 if need is None else wish.number * (1.0 - need - SPARE)
    for number in dict.fromkeys(int(part * least) for part in (1.0, LESS_STILL)):
        if number > 0:
            said = say("ways.fewer", wish=name, number=number, was=wish.number)
            yield Change(f"fewer:{name}:{number}", said, group, with_(number=number), plan, given_up=True)
    if wish.what == "pullets" and need is not None:
        yield _bought(farm, plan, wish, ceil((need + SPARE) * wish.number), day)
    for days in LATER_D:
        on = wish.on + timedelta(days=days)
        if wish.until is None or on < wish.until:
            said = say("ways.later", wish=name, on=spoken_day(on, language), days=days)
            yield Change(f"later:{name}:{days}", said, group, with_(on=on), plan, given_up=True)
    for less in LESS_SURE:
        chance = round(wish.chance - less, 4)
        if chance >= LEAST_CHANCE:
            said = say("ways.chance", wish=name, chance=f"{100 * chance:g}", was=f"{100 * wish.chance:g}")
            yield Change(
                f"chance:{name}:{100 * chance:g}", said, group, with_(chance=chance), plan, given_up=True
            )


def _bought(farm: Farm, plan: Plan, wish: Wish, number: int, day: date) -> Change:
    """Pullets bought a week before they lay: what they cost is in the reckoning of the plan."""
    line = wish.line or next(iter(farm.lines))
    comes = max(wish.on - timedelta(days=7), day + timedelta(days=READY_D))
    hatched = comes - timedelta(days=round(farm.lines[line].point_of_lay_d.value) - 7)
    house = next((n for n, kit in farm.houses.items() if kit.owned(comes)), None)
    batch = Batch(
        new_name("bought", (b.id for b in plan.batches)), line, "bought", hatched, comes,
        heads={"pullet": float(number), "cockerel": 0.0}, turnout_on=comes, sort_on=comes, house_on=comes,
        house=house,
    )  # fmt: skip
    said = say("ways.bought", n=number, on=spoken_day(comes, farm.holding.language))
    return Change(
        f"bought:{number}", said, f"wish:{wish.id}", farm, replace(plan, batches=(*plan.batches, batch))
    )
