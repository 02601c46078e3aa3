"""What might be changed where groups of limits and wishes leave no plan: one thing at a time, by as much as
it takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil, sqrt
from typing import Any

from leyfold.nouns.farm import Farm, Lamp, MobileHouse, Wish
from leyfold.nouns.plan import Plan
from leyfold.nouns.planning import WEEKDAYS
from leyfold.nouns.replanned import Term
from leyfold.plan.freed import lifted
from leyfold.plan.offers import stored_d
from leyfold.plan.ways.bought import READY_D, Coming, day_olds, near_lay
from leyfold.plan.ways.kit import barn_more, incubator_more, new_name, shelter_cost, shelter_more
from leyfold.plan.ways.needed import Need
from leyfold.reckoning.rates import Rates
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

__all__ = ["Change", "both", "changes", "fewer", "less_sure"]

LATER_D = (7, 14, 21, 28, 42, 56, 84)
STEPS = 8
"""Sizes of one thing, from the least that any plan needs: parts of sets and places are allowed in that."""
TWICE, BESIDES = 2.0, 0.25
"""The largest of them: twice the least, or that and a quarter of what is there, whichever is more."""
HENS_PER_M2 = 6.0
LAMP_W = 250.0
HELP_WEEKS = 26
WIDER_D = (7, 14, 28)


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One change of the farm or of what is in the plan already; `terms` are what it costs itself, `group`
    what it loosens. `given_up`: it takes something back that was wished for, and costs no money. `day`: the
    one on which something is wished for now. `sized`: one of several that differ in size alone, so that what
    a plan does under a smaller one it may do under a larger."""

    id: str
    said: str
    group: str
    farm: Farm
    plan: Plan
    terms: tuple[Term, ...] = ()
    given_up: bool = False
    day: date | None = None
    sized: bool = False

    @property
    def costs(self) -> float | None:
        if any(t.money is None for t in self.terms):
            return None
        return sum(t.money or 0.0 for t in self.terms)

    @property
    def guess(self) -> bool:
        return any(t.guess for t in self.terms)


def changes(
    farm: Farm, plan: Plan, groups: Sequence[str], needs: Mapping[str, Need], day: date, last: date
) -> Iterator[tuple[Change, ...]]:
    """Changes that each loosen one of `groups` (the reasons of an irreducible clash: no other change opens a
    plan by itself): those of wishes, which mostly are soon decided, before kit, days and hands; each with the
    same by more after it, for where it does not suffice. `needs` says by what share a group must be loosened
    at the least; `last` is the plan's last day. Wishes for fewer, or with less of a chance, are `fewer` and
    `less_sure`.
    """
    for wish in farm.wishes:
        if f"wish:{wish.id}" in groups:
            need = needs.get(f"wish:{wish.id}")
            share = None if need is None else need.share
            if share is not None:
                yield _with_birds(farm, plan, wish, near_lay(farm, plan, wish, share, day))
            later = (_later(farm, plan, wish, days) for days in LATER_D)
            yield tuple(c for c in later if c.day is not None and c.day <= min(last, wish.until or last))
            if share is not None:
                yield _with_birds(farm, plan, wish, day_olds(farm, plan, wish, share, day, last))
    for group in groups:
        if not group.startswith("wish:"):
            yield from _of(farm, plan, group, needs.get(group), day)


def _with_birds(farm: Farm, plan: Plan, wish: Wish, some: Iterable[Coming]) -> tuple[Change, ...]:
    """Birds from elsewhere for a wish, on one day or another."""
    return tuple(
        Change(
            one.id, one.said, f"wish:{wish.id}", farm, replace(plan, batches=(*plan.batches, one.batch)),
            one.terms,
        )
        for one in some
    )  # fmt: skip


def _sizes(share: float, there: float, step: int = 1) -> list[int]:
    """So much of what is `there`, at the least and at the most, and between these: in whole steps."""
    least = max(share * there, 1.0)
    most = max(TWICE * least, least + BESIDES * there)
    return sorted({step * ceil((least + (most - least) * i / (STEPS - 1)) / step) for i in range(STEPS)})


def _shares(share: float) -> list[float]:
    """The same where sizes are shares of what is there."""
    most = max(TWICE * share, share + BESIDES)
    return [share + (most - share) * i / (STEPS - 1) for i in range(STEPS)]


def _of(farm: Farm, plan: Plan, group: str, need: Need | None, day: date) -> Iterator[tuple[Change, ...]]:
    since = day + timedelta(days=READY_D)
    if group == "lamps":
        yield (_lamp(farm, plan),)
    elif group == "pen":
        yield (Change("eggs", say("ways.eggs"), group, replace(farm, pens={}), plan),)
        yield from ((longer,) for longer in _longer(farm, plan))
    elif group == "killing_days":
        yield from ((change,) for change in _killing_days(farm, plan))
    elif group in ("grass", "set_days"):
        yield tuple(_days(farm, plan, group))
    if need is None or need.share is None:
        return
    yield tuple(replace(change, sized=True) for change in _sized(farm, plan, group, need, since))


def _sized(farm: Farm, plan: Plan, group: str, need: Need, since: date) -> Iterator[Change]:
    """More of what a group stands for, one size after another."""
    asked, share = farm.planning, need.share or 0.0
    if group == "shelters":
        yield from (_shelters(farm, plan, n, since) for n in _sizes(share, len(farm.shelters)))
    elif group == "brooders":
        floor = sum(kit.floor_m2 for kit in farm.brooders.values())
        yield from (_floor(farm, plan, m2, since) for m2 in _sizes(share, floor))
    elif group == "incubators":
        places = sum(kit.eggs for kit in farm.incubators.values())
        sizes = _sizes(share, places, max(asked.tray, 1))
        yield from (_incubator(farm, plan, eggs, since) for eggs in sizes)
    elif group == "house" and farm.houses:
        per = _hens_per_m2(farm)
        hens = sum(h.floor_m2 for h in farm.houses.values()) * per
        yield from (_house(farm, plan, n, per) for n in _sizes(share, hens))
    elif group == "nets":
        made = (_netting(farm, plan, more) for more in _shares(share))
        yield from {change.id: change for change in made}.values()
    elif group == "killing" and asked.kill_a_day is not None:
        yield from (_killing(farm, plan, n) for n in _sizes(share, asked.kill_a_day or need.room))
    elif group == "freezer" and asked.freezer_kg is not None:
        yield from (_freezer(farm, plan, kg) for kg in _sizes(share, asked.freezer_kg or need.room))
    elif group == "ground":
        there = max((grass.m2 for grass in asked.fresh), default=0.0) or need.room
        yield from (_ground(farm, plan, more) for more in _sizes(share, there))
    elif group == "hours":
        yield from _hours(farm, plan, _shares(share))


def _killing(farm: Farm, plan: Plan, n: int) -> Change:
    asked = farm.planning
    assert asked.kill_a_day is not None
    more = replace(asked, kill_a_day=asked.kill_a_day + n)
    said = say("ways.killing", n=n, most=asked.kill_a_day)
    return Change(f"killing:{n}", said, "killing", replace(farm, planning=more), plan)


def _freezer(farm: Farm, plan: Plan, kg: int) -> Change:
    asked = farm.planning
    assert asked.freezer_kg is not None
    more = replace(farm, planning=replace(asked, freezer_kg=asked.freezer_kg + kg))
    said = say("ways.freezer", kg=kg)
    return Change(f"freezer:{kg}", said, "freezer", more, plan, (Term("freezer", None),))


def _ground(farm: Farm, plan: Plan, m2: int) -> Change:
    asked = farm.planning
    more = replace(asked, grass=tuple(replace(grass, m2=grass.m2 + m2) for grass in asked.fresh))
    return Change(f"ground:{m2}", say("ways.ground", m2=m2), "ground", replace(farm, planning=more), plan)


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


def _largest(farm: Farm) -> MobileHouse:
    return max(farm.houses.values(), key=lambda house: house.floor_m2)


def _hens_per_m2(farm: Farm) -> float:
    """Hens to a square metre of the largest house, by the limits set for it."""
    scopes = ("house", _largest(farm).id)
    found = (x.at_most for x in farm.limits if x.quantity == "heads_per_m2" and x.scope in scopes)
    return min(found, default=HENS_PER_M2)


def _house(farm: Farm, plan: Plan, hens: int, per: float) -> Change:
    """Room for more hens in the largest house, at the room each has now."""
    kit = _largest(farm)
    name, m2 = kit.id, hens / per
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


def _hours(farm: Farm, plan: Plan, shares: Sequence[float]) -> Iterator[Change]:
    first = next((p for p in farm.people.values() if p.hours_per_day is not None), None)
    if first is None:
        return
    there = sum(p.hours_per_day or 0.0 for p in farm.people.values())
    rates = Rates(farm)
    hour = rates["labour"].figure.value if rates.has("labour") else None
    for hours in sorted({ceil(2.0 * max(share * there, 0.1)) / 2.0 for share in shares}):
        more = replace(first, hours_per_day=(first.hours_per_day or 0.0) + hours)
        pay = Term("help", None if hour is None else 7.0 * HELP_WEEKS * hours * hour, guess=True)
        said = say("ways.hours", hours=f"{hours:g}", weeks=HELP_WEEKS)
        with_help = replace(farm, people={**farm.people, first.id: more})
        yield Change(f"hours:{hours:g}", said, "hours", with_help, plan, (pay,))


def _with(farm: Farm, **new: Any) -> Farm:
    """The farm with something else asked for in [planning]."""
    return replace(farm, planning=replace(farm.planning, **new))


def _killing_days(farm: Farm, plan: Plan) -> Iterator[Change]:
    group = "killing_days"
    if farm.planning.kill_weekdays != WEEKDAYS:
        said = say("ways.killing_weekdays")
        yield Change("killing_weekdays", said, group, _with(farm, kill_weekdays=WEEKDAYS), plan)
    if farm.planning.closed:
        yield Change("killing_open", say("ways.killing_open"), group, _with(farm, closed=()), plan)
    if farm.planning.closed and farm.planning.kill_weekdays != WEEKDAYS:
        yield Change("killing_any", say("ways.killing_any"), group, lifted(farm, group), plan)


def _days(farm: Farm, plan: Plan, group: str) -> Iterator[Change]:
    """More and more days on which eggs may be set, or birds may be at grass."""
    asked = farm.planning
    for days in WIDER_D:
        wide = timedelta(days=days)
        if group == "grass":
            more = _with(
                farm,
                grass_from=None if asked.grass_from is None else asked.grass_from - wide,
                grass_until=None if asked.grass_until is None else asked.grass_until + wide,
            )
        else:
            more = _with(
                farm,
                set_from=None if asked.set_from is None else asked.set_from - wide,
                set_until=None if asked.set_until is None else asked.set_until + wide,
                set_weekdays=WEEKDAYS,
            )
        yield Change(f"{group}:{days}", say(f"ways.{group}", days=days), group, more, plan)
    yield Change(f"{group}:any", say(f"ways.{group}_any"), group, lifted(farm, group), plan)


def _wished(farm: Farm, wish: Wish, **new: Any) -> Farm:
    """The farm with something else wished for."""
    return replace(farm, wishes=tuple(replace(w, **new) if w.id == wish.id else w for w in farm.wishes))


def fewer(farm: Farm, plan: Plan, numbers: Mapping[str, int]) -> Change:
    """Some wishes (names) for so many only."""
    less = [wish for wish in farm.wishes if wish.id in numbers]
    said = [_fewer(wish, numbers[wish.id]) for wish in less]
    made = farm
    for wish in less:
        made = _wished(made, wish, number=numbers[wish.id])
    name = ":".join(["fewer", *(f"{wish.id}:{numbers[wish.id]}" for wish in less)])
    return Change(name, ", ".join(said), f"wish:{less[0].id}", made, plan, given_up=True)


def _fewer(wish: Wish, number: int) -> str:
    if not number:
        return say("ways.without", wish=wish.id)
    key = {"pullets": "ways.fewer_pullets", "table birds": "ways.fewer_table"}.get(
        wish.what, "ways.fewer_eggs"
    )
    return say(key, wish=wish.id, number=number, was=wish.number)


def less_sure(farm: Farm, plan: Plan, wish: Wish, chance: float) -> Change:
    """The wish with less of a chance."""
    said = say("ways.chance", wish=wish.id, chance=f"{100 * chance:g}", was=f"{100 * wish.chance:g}")
    made, name = _wished(farm, wish, chance=chance), f"chance:{wish.id}:{100 * chance:g}"
    return Change(name, said, f"wish:{wish.id}", made, plan, given_up=True)


def _later(farm: Farm, plan: Plan, wish: Wish, days: int) -> Change:
    on = wish.on + timedelta(days=days)
    said = say("ways.later", wish=wish.id, on=spoken_day(on, farm.holding.language), days=days)
    made, name = _wished(farm, wish, on=on), f"later:{wish.id}:{days}"
    return Change(name, said, f"wish:{wish.id}", made, plan, given_up=True, day=on)


def both(one: Change, other: Change) -> Change:
    """A change, and `other`, which was made of its farm and plan, besides."""
    said = say("ways.both", one=one.said, other=other.said)
    terms = (*one.terms, *other.terms)
    return Change(f"{one.id}+{other.id}", said, one.group, other.farm, other.plan, terms, day=other.day)
