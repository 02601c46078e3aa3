"""The farm, the plan and the book once it has happened, and the plan before to hold them against."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import TypeVar

import numpy as np

from leyfold.log.fold import fold
from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm, Kit
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Record, State
from leyfold.nouns.season import Season
from leyfold.plan.replan.book import assumed, folded
from leyfold.plan.replan.recorded import recorded
from leyfold.plan.replan.suppose import Supposed
from leyfold.plan.replan.tonight import NO_FLOOR_M2, parted, rehomed
from leyfold.reckoning.orders import supplies
from leyfold.season.begin import begin
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.learn import learn
from leyfold.season.wished import killed_by_line

__all__ = ["Case", "held_until", "opened_case", "take"]

SomeKit = TypeVar("SomeKit", bound=Kit)

STOPS = ("withdrawal", "wrong_feed", "sick", "signs")
"""Kinds that keep birds from being killed or sold."""
SICK_D = 14
"""How long birds are kept from killing where nobody has said. A guess: the vet says."""
TAUGHT = ("hatch", "fertile")
"""Kinds that say something of sets to come."""


@dataclass(frozen=True, slots=True)
class Case:
    """`farm` is what it is by now, its figures moved by its records; `plan` the plan from `day` on, with the
    birds of `state`, not completed. `went`: where the birds of places lost by now stand tonight; `parted`:
    batches sorted today that stand where the plan parts them. `mixed`: places whose birds are together.
    `netted`: outdoor shelters count as a roof under a housing order. `helpers_h` hours a day got in from
    outside; `stock`: carcasses of each weight class (None: below all) killed before the day that no order has
    had."""

    farm: Farm
    plan: Plan
    state: State
    at: datetime
    day: date
    supposed: tuple[Supposed, ...] = ()
    went: Mapping[str, str] = field(default_factory=dict)
    parted: tuple[str, ...] = ()
    mixed: tuple[tuple[str, ...], ...] = ()
    netted: bool = False
    helpers_h: float = 0.0
    stock: Mapping[str | None, int] = field(default_factory=dict)

    def of(self, *kinds: str) -> tuple[Supposed, ...]:
        return tuple(s for s in self.supposed if s.kind in kinds)

    def shut(self, day: date) -> bool:
        """Whether nothing is killed on a day."""
        return day in self.farm.planning.closed or any(s.holds(day) for s in self.of("no_killing"))

    def stopped(self, batch: str, day: date) -> Supposed | None:
        """What keeps a batch from being killed on a day: the group mixed with others takes the longest."""
        found = [s for s in self.of(*STOPS) if s.first <= day < held_until(s) and batch in self.hit(s)]
        return max(found, key=held_until, default=None)

    def hit(self, it: Supposed) -> set[str]:
        """The batches that something supposed of places or of a batch is about: all, where there are signs of
        a disease that the law fights."""
        if it.kind == "signs":
            return {g.batch for g in self.state.groups}
        if it.batch is not None:
            return {it.batch}
        places = self.reach(it)
        return {g.batch for g in self.state.groups if g.place in places}

    def reach(self, it: Supposed) -> set[str]:
        """The places that something supposed of places is about: those mixed with them among them."""
        places = set(it.places)
        for together in self.mixed:
            if places & set(together):
                places |= set(together)
        return places

    def cockerels(self, batch: str) -> int:
        """Birds of a batch alive that are or may be cockerels."""
        return sum(g.heads for g in self.state.groups if g.batch == batch and g.sex != "pullet")

    def dry(self, it: Supposed) -> tuple[str, ...]:
        """Places without water: those named; where a tank is, all out of doors with birds in them."""
        if it.kit is None:
            return it.places
        outside = {**self.farm.shelters, **self.farm.houses}
        return tuple(dict.fromkeys(g.place for g in self.state.groups if g.heads > 0 and g.place in outside))

    def roofed(self, day: date) -> bool:
        """Whether a housing order holds on a day."""
        return any(s.holds(day) for s in self.of("housing"))


def held_until(it: Supposed) -> date:
    """The day from which birds that were held up may be killed."""
    return it.until or it.first + timedelta(days=SICK_D)


def opened_case(
    described: Farm,
    plan: Plan,
    records: Sequence[Record],
    at: datetime,
    supposed: Sequence[Supposed],
) -> tuple[Case, Case]:
    """The plan before and the case now. Before is the plan without what is supposed; where nothing is
    supposed it is the plan as it was written, without what the records have changed since."""
    day = civil(at, described.holding.zone)
    base = fold(described, records, at) if records else State(day=day)
    known = (*assumed(described, plan, base, day, supposed), *records)
    learned = learn(described, base)
    whole = expect(described, complete(described, plan))
    # Both are looked at over the same days.
    plan = replace(plan, last=plan.last or whole.day(whole.days - 1))
    first = day if plan.first is None else max(plan.first, day)
    unwritten = _before_the_book(described, whole, base, records)
    if supposed:
        # Of a hatch or a sorting that is past and told otherwise now, the plan before had it all the same.
        hatched = [s for s in supposed if s.kind not in ("hatch", "cockerels")]
        state = fold(described, (*assumed(described, plan, base, day, hatched), *records), at)
        begun = begin(learned, plan, state, leave_today=True)
        before = _case(learned, replace(begun, first=first), state, at, day)
        before = _stocked(before, whole, _killed(state, plan) + unwritten)
        told = [s for s in supposed if s.kind in TAUGHT]
        farm = learn(described, _taught(folded(described, plan, known, told, at), told)) if told else learned
    else:
        state = fold(described, known, at)
        before = _stocked(_case(described, replace(plan, first=first), state, at, day), whole, None)
        farm = learned
    state = folded(described, plan, known, supposed, at)
    supposed = (*supposed, *recorded(state, at, day, described.holding.zone))
    farm = _farm(farm, supposed, day)
    state, went = rehomed(farm, state, supposed, day)
    supposed = tuple(_followed(s, went) for s in supposed)
    state, apart = parted(farm, whole.plan, state)
    left = replace(begin(farm, _without(plan, supposed), state, leave_today=True), first=first)
    now = replace(_case(farm, left, state, at, day, supposed), went=went, parted=apart)
    return before, _stocked(now, whole, _killed(state, plan) + unwritten)


def _followed(it: Supposed, went: Mapping[str, str]) -> Supposed:
    """What is said of birds goes with them where their place is lost."""
    return replace(it, places=tuple(dict.fromkeys(went.get(p, p) for p in it.places)))


def _killed(state: State, plan: Plan) -> int:
    return sum(killed_by_line(state, plan.first).values())


def _before_the_book(farm: Farm, whole: Season, base: State, records: Sequence[Record]) -> int:
    """Cockerels that the plan had killed before anything was written down, of batches written of since: a
    book opened in mid-season does not know of them."""
    if not records:
        return 0
    opened = max(whole.index(min(civil(record.at, farm.holding.zone) for record in records)), 0)
    gone = (
        whole.killed[i, :opened].sum()
        for i, lot in enumerate(whole.lots)
        if lot.sex == "cockerel" and lot.batch in base.batches
    )
    return round(float(sum(gone)))


def _taught(state: State, told: Sequence[Supposed]) -> State:
    """What a hatch that is supposed says of sets to come, and nothing else."""
    names = {s.batch for s in told}
    return State(day=state.day, batches={n: f for n, f in state.batches.items() if n in names})


def _case(
    farm: Farm, plan: Plan, state: State, at: datetime, day: date, supposed: tuple[Supposed, ...] = ()
) -> Case:
    wishes = [w for w in farm.wishes if w.on >= day or (w.until is not None and w.until > day)]
    # The week of the day has begun, and nobody lays again what was laid on Monday.
    wishes = [replace(w, on=max(w.on, day)) if w.what == "eggs a day" else w for w in wishes]
    loose = [s.places for s in supposed if s.kind == "loose"]
    mixed = tuple(x for x in loose if len(x) > 1 or len({g.batch for g in state.groups if g.place in x}) > 1)
    return Case(replace(farm, wishes=tuple(wishes)), plan, state, at, day, supposed, mixed=mixed)


def _stocked(case: Case, whole: Season, killed: int | None) -> Case:
    """What was killed before the day counts: for wishes of table birds, and for orders, those due before
    first. `killed` by the book, as the whole plan had it where None; by weight as the plan had it."""
    farm, day = case.farm, case.day
    names: list[str | None] = [None, *(c.id for c in farm.weight_classes)]
    past = [s.mean for s in supplies(farm, whole) if s.on < day]
    planned = np.sum(past, axis=0) if past else np.zeros(len(names))
    total = float(planned.sum())
    killed = round(total) if killed is None else killed
    share = planned / total if total > 0 else np.eye(len(names))[0]
    stock = {name: int(killed * x + 1e-9) for name, x in zip(names, share, strict=True)}
    for order in sorted((o for o in farm.orders if o.on < day), key=lambda o: o.on):
        take(stock, order.weight_class, order.number)
    wishes = tuple(
        replace(w, number=max(w.number - killed, 0)) if w.what == "table birds" and not w.every_d else w
        for w in farm.wishes
    )
    wishes = tuple(w for w in wishes if w.number > 0)
    farm = replace(farm, wishes=wishes, orders=tuple(o for o in farm.orders if o.on >= day))
    return replace(case, farm=farm, stock=stock)


def take(stock: dict[str | None, int], weight_class: str | None, number: int) -> int:
    """Take carcasses for an order out of `stock`, the lightest first where any will do; how many it gets."""
    wanted = number
    for name in list(stock) if weight_class is None else [weight_class]:
        there = min(stock.get(name, 0), wanted)
        stock[name] = stock.get(name, 0) - there
        wanted -= there
    return number - wanted


def _farm(farm: Farm, supposed: Sequence[Supposed], day: date) -> Farm:
    """The farm without the kit that is lost and the orders that are cancelled. Where no brooder is left, the
    first is there by name, without floor: whatever is in it is over its limit. Where no machine is left, a
    neighbour's of the same size is taken."""
    lost = {s.kit: max(s.first, day) for s in supposed if s.kind == "lost"}
    cancelled = {s.order for s in supposed if s.kind == "cancelled"}

    def left(kits: Mapping[str, SomeKit]) -> dict[str, SomeKit]:
        return {
            name: replace(kit, until=min(lost[name], kit.until or date.max)) if name in lost else kit
            for name, kit in kits.items()
        }

    gone = max(lost.values(), default=day)
    machines, rooms = left(farm.incubators), left(farm.brooders)
    if not any(kit.owned(gone) for kit in machines.values()):
        machines = dict(farm.incubators)
    if not any(kit.owned(gone) for kit in rooms.values()):
        rooms |= {n: replace(farm.brooders[n], floor_m2=NO_FLOOR_M2, lamps=()) for n in list(rooms)[:1]}
    return replace(
        farm,
        incubators=machines,
        brooders=rooms,
        shelters=left(farm.shelters),
        houses=left(farm.houses),
        tanks=left(farm.tanks),
        orders=tuple(o for o in farm.orders if o.id not in cancelled),
    )


def _without(plan: Plan, supposed: Sequence[Supposed]) -> Plan:
    """`plan` without the rooms that are lost where it names them, and without its own stays in them."""
    lost = {s.kit: s.first for s in supposed if s.kind == "lost"}
    batches = [
        replace(
            b,
            incubator=None if b.incubator in lost else b.incubator,
            brooder=None if b.brooder in lost else b.brooder,
            house=None if b.house in lost else b.house,
        )
        for b in plan.batches
    ]
    stays = [s for s in plan.stays if s.place not in lost or s.until <= lost[s.place]]
    return replace(plan, batches=tuple(batches), stays=tuple(stays))
