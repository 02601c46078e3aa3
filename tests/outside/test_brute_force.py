"""On farms small enough, every plan there is: each completed, walked by the checker and reckoned; the planner
must find the best of them, to a cent.

What may be chosen is written anew from docs/models.md: a set on some of the days, in trays, in
one machine and one brooder; turnout on the first day from the line's age on whose five typical nights the
chicks bear, or a fortnight later; killing at the line's age, a fortnight earlier or later, or half a week
earlier and the rest a week later; old hens never leave here. One shelter is enough for a
party here, so that who stands where is but a matter of free shelters. Where sorted birds may share, the
pullets of two batches have one shelter, or their cockerels, or both, from the day on which the second is
sorted until one of the two is gone, a week or more; ages, weights and room are for the checker to judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise, product

import pytest

from farms import farm as plain_farm
from farms import line as plain_line
from leyfold.farm.tables import figure
from leyfold.nouns.farm import Brooder, Farm, Incubator, MobileHouse, Shelter, Wish
from leyfold.nouns.plan import Batch, Draft, Plan, Stay
from leyfold.nouns.planned import Clash, Planned
from leyfold.nouns.planning import Planning
from leyfold.nouns.record import State
from leyfold.plan.checker import check
from leyfold.plan.make import make_plan, posed, solve_problem
from leyfold.plan.share import sharing, taken_joins
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.wished import wish_chances

FIRST, LAST = date(2027, 3, 1), date(2027, 12, 26)
AT = datetime(2027, 3, 1, 6, tzinfo=UTC)
TRAY = 12
FLOOR_C = ((0, 35.0), (21, 15.0), (28, 8.0), (35, 2.0), (42, -3.0))  # the coldest night that an age bears
PRICES = {
    "carcass": 25.0, "pullet": 40.0, "old_hen": 5.0, "egg": 0.4, "hatching_egg": 0.8, "day_old": 4.0,
    "killing": 3.5, "labour": 0.5,
}  # fmt: skip


@dataclass(frozen=True)
class Way:
    """One set as it may go."""

    set_on: date
    turnout_on: date
    drafts: tuple[Draft, ...]
    trays: int
    machine: str
    brooder: str


def small(**changes: object) -> Farm:
    """Two shelters and a third, one machine, one brooder, one house."""
    made = plain_farm(
        lines={"tawny": plain_line(turnout_d=35, kill_d=98, house_d=140)},
        incubators={"box": Incubator("box", 24)},
        brooders={"shed": Brooder("shed", 4.0)},
        shelters={f"s{i}": Shelter(f"s{i}", 3.4, 3.0, 0.6) for i in range(1, 4)},
        houses={"coop": MobileHouse("coop", 20.0)},
        prices=PRICES,
        planning=Planning(
            tray=TRAY,
            stored_d=6,
            set_from=date(2027, 3, 8),
            set_until=date(2027, 3, 29),
            set_weekdays=("monday",),
        ),
    )
    feeds = {name: replace(feed, price_per_kg=0.55) for name, feed in made.feeds.items()}
    return replace(made, feeds=feeds, **changes)


def asked(farm: Farm, **changes: object) -> Farm:
    return replace(farm, planning=replace(farm.planning, **changes))


# What may be chosen ----------------------------------------------------------------------------------------


def night(farm: Farm, day: date) -> float:
    """Months' means from mid-month to mid-month, less half a daily range of 9 K."""
    at = (day.timetuple().tm_yday - 0.5) / (365.25 / 12) - 0.5
    low, part = int(at // 1), at % 1
    means = [figure.value for figure in farm.temperature_C]
    return means[low % 12] * (1 - part) + means[(low + 1) % 12] * part - 4.5


def bears(age: int) -> float:
    for (a, x), (b, y) in pairwise(FLOOR_C):
        if age <= b:
            return x + (y - x) * (age - a) / (b - a)
    return FLOOR_C[-1][1]


def turnout(farm: Farm, hatched: date) -> date:
    age = 35
    while True:
        nights = [(hatched + timedelta(days=age + i), age + i) for i in range(5)]
        early = farm.planning.grass_from is not None and nights[0][0] < farm.planning.grass_from
        if not early and all(night(farm, day) >= bears(old) for day, old in nights):
            return nights[0][0]
        age += 1


def killing(farm: Farm, hatched: date, sorted_on: date) -> list[tuple[Draft, ...]]:
    def on(days: int) -> date:
        day = max(hatched + timedelta(days=98 + days), sorted_on)
        while day.strftime("%A").lower() not in farm.planning.kill_weekdays or day in farm.planning.closed:
            day += timedelta(days=1)
        return day

    whole = [((0, 1.0),), ((-14, 1.0),), ((14, 1.0),), ((-7, 0.5), (7, 1.0))]
    return [tuple(Draft(on(days), share) for days, share in way) for way in whole]


def ways(farm: Farm, set_on: date) -> Iterator[Way]:
    hatched = set_on + timedelta(days=21)
    for wait, machine, brooder in product((0, 14), farm.incubators.values(), farm.brooders):
        out = turnout(farm, hatched) + timedelta(days=wait)
        if (out - hatched).days > 77:
            continue
        sorted_on = max(hatched + timedelta(days=round(farm.lines["tawny"].sort_d.value)), out)
        until = min(farm.planning.grass_until or LAST, LAST)
        for drafts in killing(farm, hatched, sorted_on):
            if drafts[-1].on <= until:
                for trays in range(1, machine.eggs // TRAY + 1):
                    yield Way(set_on, out, drafts, trays, machine.id, brooder)


def set_days(farm: Farm) -> list[date]:
    start, end = farm.planning.set_from, farm.planning.set_until
    assert start is not None
    assert end is not None
    return [start + timedelta(weeks=i) for i in range((end - start).days // 7 + 1)]


Piece = tuple[date, date, tuple[str, ...], str | None]
"""Days from and until which birds of some batches, of one sex once sorted, have a shelter."""


def as_plan(farm: Farm, chosen: tuple[Way | None, ...], together: tuple[str, ...] = ()) -> Plan | None:
    """The plan of the sets chosen, with birds of the sexes named in one shelter; None where shelters run out
    or nobody would share, or two sets are not in one machine each, in their order: they are alike here."""
    if together and [way.machine for way in chosen if way] != [*farm.incubators]:
        return None
    batches: list[Batch] = []
    pieces: list[Piece] = []
    for i, way in enumerate(chosen):
        if way is None:
            continue
        hatched = way.set_on + timedelta(days=21)
        sorted_on = max(hatched + timedelta(days=round(farm.lines["tawny"].sort_d.value)), way.turnout_on)
        housed = max(hatched + timedelta(days=140), sorted_on)
        batches.append(
            Batch(
                f"b{i}", "tawny", "set", hatched, hatched, way.set_on, way.trays * TRAY, stored_d=6,
                turnout_on=way.turnout_on, sort_on=sorted_on, house_on=housed, drafts=way.drafts,
                incubator=way.machine, brooder=way.brooder, house="coop",
            )
        )  # fmt: skip
        pieces.append((way.turnout_on, sorted_on, (f"b{i}",), None))
        pieces.append((sorted_on, housed, (f"b{i}",), "pullet"))
        for first, until in zip(
            (sorted_on, *(d.on for d in way.drafts)), (d.on for d in way.drafts), strict=False
        ):
            pieces.append((first, until, (f"b{i}",), "cockerel"))
    for sex in together:
        one, other = ([p for p in pieces if p[2] == (b.id,) and p[3] == sex] for b in batches)
        first, until = max(one[0][0], other[0][0]), min(one[-1][1], other[-1][1])
        if (until - first).days < 7:
            return None
        both = tuple(b.id for b in batches)
        pieces = [p for p in pieces if p[3] != sex] + [(first, until, both, sex)]
        for a, b, batch, _ in (*one, *other):
            pieces += [(a, min(b, first), batch, sex), (max(a, until), b, batch, sex)]
    free = dict.fromkeys(farm.shelters, date.min)
    stays = []
    for first, until, of, sex in sorted(pieces, key=lambda p: (p[0], p[2], p[3] or "")):
        if first >= until:
            continue
        place = next((name for name, day in free.items() if day <= first), None)
        if place is None:
            return None
        free[place] = until
        for batch in of:
            stays.append(Stay(f"{batch}{sex}{first}", batch, sex, place, first, until))  # type: ignore[arg-type]
    return Plan(tuple(batches), tuple(stays), first=FIRST, last=LAST)


def brute(farm: Farm, *, shared: bool = False) -> tuple[float | None, int]:
    """The best margin of all plans that the checker lets pass and that keep every wish at its chance, None
    where there is none; and how many plans were walked."""
    best, walked = None, 0
    every = product(*([None, *ways(farm, day)] for day in set_days(farm)))
    sexes = ((), ("pullet",), ("cockerel",), ("pullet", "cockerel"))
    plans = (
        as_plan(farm, chosen, together)
        for chosen in every
        for together in (sexes if shared and None not in chosen else sexes[:1])
    )
    for plan in plans:
        if plan is None:
            continue
        done = complete(farm, plan)
        walked += 1
        if check(farm, done):
            continue
        margin = reckon(farm, expect(farm, done)).total()
        if best is not None and margin <= best:
            continue
        if not any(row.short for row in wish_chances(farm, done)):
            best = margin
    return best, walked


NO_LATE = date(2027, 8, 10)
FARMS: dict[str, Farm] = {
    # Two sets would need a shelter more than there are on some days; killing early frees one.
    "shelters bind": asked(small(), set_until=date(2027, 3, 15), grass_until=None),
    # Dear work and cheap birds: setting nothing is best.
    "nothing pays": asked(
        small(prices=PRICES | {"carcass": 2.0, "pullet": 4.0}), set_until=date(2027, 3, 15)
    ),
    # A wish that does not pay is kept all the same.
    "a wish costs": asked(
        small(
            prices=PRICES | {"carcass": 2.0, "pullet": 4.0},
            wishes=(Wish("w", "pullets", 6, date(2027, 9, 1), 0.8),),
        ),
        set_until=date(2027, 3, 15),
    ),
    # All are wanted on the very day of the usual age: a fortnight later is too late, sooner they are lighter.
    "the usual age": asked(
        small(wishes=(Wish("w", "table birds", 6, date(2027, 7, 5), 0.8),)), set_until=date(2027, 3, 15)
    ),
    # More cockerels than can be killed on one day: half go sooner.
    "killed in two": asked(small(), set_until=date(2027, 3, 15), kill_a_day=6),
    # The day's work at a shelter is dear: chicks wait a fortnight in the brooder.
    "held back": asked(
        small(
            prices=PRICES | {"labour": 0.8},
            work={"shelter_h_per_d": replace(figure("work.shelter_h_per_d"), value=1.0)},
        ),
        set_until=date(2027, 3, 15),
    ),
    # At the mean that the usual way of killing needs, none else would do; a later one needs a lower mean.
    "a lower mean": asked(
        small(wishes=(Wish("w", "table birds", 3, date(2027, 6, 28), 0.8),)), set_until=date(2027, 3, 8)
    ),
    # As many pullets on average, turned out a fortnight later, are a little surer.
    "surer later": asked(
        small(
            prices=PRICES | {"carcass": 8.0, "pullet": 9.0},
            wishes=(Wish("w", "pullets", 5, date(2027, 9, 22), 0.9),),
        ),
        set_until=date(2027, 3, 15),
    ),
    # Nobody may be at grass long enough: no plan keeps the wish.
    "no plan": asked(
        small(wishes=(Wish("w", "table birds", 9, date(2027, 8, 1), 0.9),)),
        set_until=date(2027, 3, 15), kill_a_day=5, kill_weekdays=("saturday",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FARMS)
def test_the_best_of_all_plans_is_found(name: str) -> None:
    farm = FARMS[name]
    best, walked = brute(farm)
    assert walked > 16
    ahead = Plan((), first=FIRST, last=LAST)
    answer = solve_problem(posed(farm, State(), ahead, AT), seconds=60).outcome
    if best is None:
        assert isinstance(answer, Clash)
        return
    assert isinstance(answer, Planned)
    assert answer.gap == 0.0
    assert not check(farm, answer.completed)
    assert answer.objective == pytest.approx(best, abs=0.01)
    assert reckon(farm, expect(farm, answer.completed)).total() == pytest.approx(best, abs=0.01)
    # Turned out and killed at ages between, it is never worse.
    by_the_day = make_plan(farm, None, State(), ahead, AT, seconds=60)
    assert isinstance(by_the_day, Planned)
    assert by_the_day.objective >= answer.objective
    assert not check(farm, by_the_day.completed)


def tight(**changes: object) -> Farm:
    """Shelters so small that the cockerels of two sets are in one only while they are young."""
    made = small(
        shelters={f"s{i}": Shelter(f"s{i}", 1.3, 1.0, 0.6) for i in range(1, 4)},
        incubators={name: Incubator(name, TRAY) for name in ("box", "chest")},
    )
    return replace(asked(made, set_until=date(2027, 3, 15)), **changes)


SHARED: dict[str, Farm] = {
    # Two sets have a shelter too few unless birds share one.
    "for want of a shelter": tight(),
    # There are shelters enough, and a day's work at one is saved; late cockerels of two sets fit into none.
    "for the work": tight(
        shelters={f"s{i}": Shelter(f"s{i}", 1.3, 1.0, 0.6) for i in range(1, 6)},
        prices=PRICES | {"labour": 1.2},
    ),
    # Hatched a week apart, and six days are the most.
    "too far apart": asked(tight(), mixed_ages_d=6),
}


@pytest.mark.parametrize("name", SHARED)
def test_the_best_of_all_plans_in_which_sorted_birds_share_is_found(name: str) -> None:
    farm = SHARED[name]
    best, _ = brute(farm, shared=True)
    found = solve_problem(sharing(posed(farm, State(), Plan((), first=FIRST, last=LAST), AT)), seconds=60)
    answer = found.outcome
    assert isinstance(answer, Planned)
    assert answer.gap == 0.0
    assert not check(farm, answer.completed)
    assert best is not None
    assert answer.objective == pytest.approx(best, abs=0.01)
    assert reckon(farm, expect(farm, answer.completed)).total() == pytest.approx(best, abs=0.01)
    shared = taken_joins(found.model, found.solved.values or ())
    assert bool(shared) == (name != "too far apart")


def test_birds_share_where_no_plan_would_fit_else() -> None:
    """Pullets of two sets are wished for, and there is a shelter too few for each to have its own."""
    wish = Wish("w", "pullets", 6, date(2027, 9, 1), 0.6)
    ahead = Plan((), first=FIRST, last=LAST)
    found = solve_problem(posed(tight(wishes=(wish,)), State(), ahead, AT), seconds=60)
    assert isinstance(found.outcome, Planned)
    assert taken_joins(found.model, found.solved.values or ())
    assert not any(row.short for row in found.outcome.chances)
    apart = solve_problem(posed(asked(tight(wishes=(wish,)), mixed_ages_d=6), State(), ahead, AT), seconds=60)
    assert isinstance(apart.outcome, Clash)
    assert "shelters" in {one.group for one in apart.outcome.reasons}
