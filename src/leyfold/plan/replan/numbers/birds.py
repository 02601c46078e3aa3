"""Birds lost, hatched poorly, sorted the wrong way about, sick: how many, how likely, what they are worth."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from leyfold.nouns.plan import Batch
from leyfold.nouns.record import Group
from leyfold.nouns.replanned import Number
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES
from leyfold.plan.replan.case import STOPS, held_until
from leyfold.plan.replan.mending.birds import not_yet_set, swap
from leyfold.plan.replan.needs import FED_LESS
from leyfold.plan.replan.numbers.view import SOMEBODY, View
from leyfold.reckoning.rates import Rates
from leyfold.reckoning.worth import worth
from leyfold.season.alarms import dead_in_a_day, dead_over
from leyfold.season.chances.foxes import fox
from leyfold.season.chances.luck import hatch_chance
from leyfold.season.chances.whole import beta_binomial
from leyfold.season.dates import dated
from leyfold.words import say

__all__ = ["fox_night", "hatched", "held_up", "sick", "sorted_wrong"]

WEEK = 7
LOSSES = ("dead", "missing")
LEAST_SAID = 0.001


def fox_night(view: View) -> Iterator[Number]:
    """Found and missing, what they were worth, what survivors are fed, and how likely it comes back."""
    lost = [s for s in view.case.of(*LOSSES) if s.number]
    for it in lost:
        left = sum(g.heads for g in view.groups(it.places, it.batch))
        where = ", ".join(it.places) or it.batch or ""
        yield view.number(f"{it.kind}_heads", it.number, where, it.first, where=where, n=it.number, left=left)
        yield from _claim(view, it.places, it.batch, it.number or 0.0)
    for place in dict.fromkeys(p for s in lost for p in s.places if p in view.case.farm.shelters):
        kg = sum(g.heads * view.of_one(view.now.season.feed_kg, g) for g in view.groups((place,)))
        if kg > 0:
            half = view.tell.n(FED_LESS * kg, 1)
            yield view.number(
                "survivors_kg", FED_LESS * kg, place, view.day, where=place, half=half, kg=view.tell.n(kg, 1)
            )
    yield from _comes_back(view)


def _claim(view: View, places: tuple[str, ...], batch: str | None, number: float) -> Iterator[Number]:
    """What the lost were worth by the reckoning, in the proportions of those who are left."""
    groups, rates = view.groups(places, batch), Rates(view.case.farm)
    planned = {b.id: b for b in view.now.season.plan.batches}
    heads = sum(g.heads for g in groups)
    if not heads or any(g.batch not in planned for g in groups):
        return
    each = 0.0
    for g in groups:
        pullets = view.case.farm.lines[planned[g.batch].line].share_pullets.value
        for sex in SEXES:
            part = pullets if sex == "pullet" else 1.0 - pullets
            share = part if g.sex is None else float(g.sex == sex)
            amounts = worth(view.case.farm, rates, planned[g.batch], sex, view.age_d(g))
            if not all(rates.has(rate) for rate in amounts):
                return
            money = sum(n * rates[rate].figure.value for rate, n in amounts.items())
            each += money * share * g.heads / heads
    ages = ", ".join(dict.fromkeys(f"{g.batch} {view.age_d(g)} d" for g in groups))
    yield view.number("claim", each * number, None, view.day, n=number, of=ages, money=each * number)


def _comes_back(view: View) -> Iterator[Number]:
    """The chance that some shelter is got into while the fox remembers: by the farm's figures of risk."""
    habits = fox(view.case.farm)
    heads = {
        name: sum(g.heads for g in view.groups((name,)))
        for name in view.case.farm.shelters
        if view.groups((name,))
    }
    if heads and habits.nights > 0:
        likely = min(habits.chance * habits.times, 1.0)
        chance = 1.0 - (1.0 - likely) ** (habits.nights * len(heads))
        yield view.number(
            "fox_back_share",
            chance,
            None,
            view.day,
            nights=habits.nights,
            n=len(heads),
            heads=sum(heads.values()),
            percent=f"{100 * chance:.0f}",
            where=", ".join(f"{name} {n}" for name, n in heads.items()),
        )


def hatched(view: View) -> Iterator[Number]:
    """A hatch or a candling against what was expected, and how likely one as poor is by chance."""
    before = view.before.case.farm
    for it in view.case.of("hatch", "fertile"):
        facts = view.case.state.batches.get(it.batch or "")
        if facts is None or facts.eggs is None or it.number is None:
            continue
        line = before.lines[facts.line]
        when = facts.set_on or view.day
        set_ = Batch(
            facts.batch,
            facts.line,
            "set",
            when,
            when,
            set_on=when,
            eggs=facts.eggs,
            stored_d=facts.stored_d or 0,
        )
        eggs, rate = hatch_chance(set_, line)
        if it.kind == "fertile":
            rate = line.fertility.value
        got = round(it.number)
        chance = float(beta_binomial(eggs, rate, line.hatch_concentration.value)[: got + 1].sum())
        yield view.number(
            f"{it.kind}_heads",
            it.number,
            facts.batch,
            it.first,
            batch=facts.batch,
            got=got,
            eggs=eggs,
            expected=eggs * rate,
            percent=_percent(view, chance),
        )
    for batch in not_yet_set(view.now)[:1]:
        machines = view.case.farm.incubators
        room = max((kit.eggs for kit in machines.values()), default=0)
        name = next((b.incubator for b in view.now.season.plan.batches if b.id == batch.id), None)
        room = machines[name].eggs if name is not None else room
        yield view.number(
            "next_set_eggs",
            float(batch.eggs or 0),
            batch.id,
            batch.set_on,
            batch=batch.id,
            eggs=batch.eggs,
            set_on=batch.set_on,
            room=room,
        )
    yield from _orders(view)


def _percent(view: View, chance: float) -> str:
    if chance < LEAST_SAID:
        return say("replan.under", number=view.tell.n(100 * LEAST_SAID, 1))
    return view.tell.n(100 * chance, 1 if chance < 0.1 else 0)


def _orders(view: View) -> Iterator[Number]:
    """Which orders to warn: those short now that were not."""
    if view.case.farm.orders:
        short = [b for b in view.now.broken if b.promise == "order" and b.id not in view.before.ids]
        names = {f"order:{o.id}": f"{o.customer} ({o.id})" for o in view.case.farm.orders}
        if short:
            which = ", ".join(names[b.id] for b in short)
            yield view.number("orders_short", float(len(short)), None, short[0].first, which=which)
        else:
            yield view.number("orders_kept", 0.0, None, None, n=len(view.case.farm.orders))


def sorted_wrong(view: View) -> Iterator[Number]:
    """How unlikely so many cockerels are, the shelters they want, and how many a swap would put right."""
    from scipy.stats import binom

    for it in view.case.of("cockerels"):
        groups = view.groups((), it.batch)
        cocks = sum(g.heads for g in groups if g.sex == "cockerel")
        birds = sum(g.heads for g in groups)
        if not birds or it.batch is None:
            continue
        line = view.case.farm.lines[view.case.state.batches[it.batch].line]
        share = 1.0 - line.share_pullets.value
        due = birds * share
        tail = binom.sf(cocks - 1, birds, share) if cocks >= due else binom.cdf(cocks, birds, share)
        yield view.number(
            "cockerels_heads",
            float(cocks),
            it.batch,
            view.day,
            batch=it.batch,
            cocks=cocks,
            pullets=birds - cocks,
            due=due,
            birds=birds,
            percent=_percent(view, float(tail)),
        )
        were, are = (_shelters(look, it.batch) for look in (view.before.season, view.now.season))
        yield view.number("cockerel_shelters", float(are), it.batch, None, batch=it.batch, were=were, are=are)
        n = swap(cocks, birds - cocks, line.share_pullets.value)
        if n:
            key = "swap_cockerels" if n > 0 else "swap_pullets"
            yield view.number(key, float(abs(n)), it.batch, view.day, batch=it.batch, n=abs(n))


def _shelters(season: Season, batch: str) -> int:
    """The most places that the cockerels of a batch stand in at once."""
    rows = [i for i, x in enumerate(season.lots) if x.batch == batch and x.sex == "cockerel"]
    return int((season.heads[rows] >= SOMEBODY).sum(axis=0).max(initial=0)) if rows else 0


def sick(view: View) -> Iterator[Number]:
    """The order of the round, sick last; deaths at which to ring, and so far; ground to leave."""
    told = view.case.of("sick", "signs")
    places = {p for s in told for p in s.places}
    places |= {g.place for s in told if s.batch for g in view.groups((), s.batch)}
    ages = {p: min(view.age_d(g) for g in view.groups((p,))) for p in {g.place for g in view.groups()}}
    walk = sorted(ages, key=lambda p: (p in places, ages[p], p))
    yield view.number("walk", float(len(walk)), None, view.day, order=", ".join(walk))
    planned = {b.id: b for b in view.now.season.plan.batches}
    for g in view.groups(places):
        batch = planned.get(g.batch)
        if batch is not None:
            day, week = (
                dead_in_a_day(view.case.farm, batch, g.heads, view.age_d(g)),
                dead_over(view.case.farm, batch, g.heads, view.age_d(g), WEEK),
            )
            yield view.number(
                "ring_at",
                None if day is None else float(day),
                g.place,
                view.day,
                n=g.heads,
                who=_who(g),
                where=g.place,
                day=day,
                week=week,
            )
            yield from _curve(view, g)
    for place in sorted(places & view.case.farm.shelters.keys()):
        kit = view.case.farm.shelters[place]
        yield view.number(
            "ground_blocked_m2",
            kit.floor_m2 * kit.moves_per_day,
            place,
            view.day,
            where=place,
            m2=view.tell.n(kit.floor_m2 * kit.moves_per_day, 1),
        )


def _who(group: Group) -> str:
    sex = group.sex or "unsorted"
    return f"{group.batch}, {say(f'replan.sex_{sex}')}"


def _curve(view: View, group: Group) -> Iterator[Number]:
    """Deaths written down over the last week, day by day."""
    facts = view.case.state.batches[group.batch]
    days = [view.day - timedelta(days=i) for i in reversed(range(WEEK))]
    dead = dict.fromkeys(days, 0.0)
    for count in facts.dead:
        if count.on in dead and count.place in (None, group.place) and count.sex in (None, group.sex):
            dead[count.on] += count.number
    if any(dead.values()):
        line = " ".join(f"{n:.0f}" for n in dead.values())
        yield view.number(
            "deaths_heads",
            sum(dead.values()),
            group.place,
            view.day,
            where=group.place,
            curve=line,
            first=days[0],
            total=sum(dead.values()),
        )


def held_up(view: View) -> Iterator[Number]:
    """Birds that may not be killed or sold, until when, what of them was due before that, and their eggs."""
    planned = {b.id: b for b in dated(view.case.farm, view.case.plan)}
    for it in view.case.of(*STOPS):
        if it.kind == "signs":
            continue
        until = held_until(it)
        for name in sorted(view.case.hit(it)):
            groups = view.groups(view.case.reach(it), name)
            heads = sum(g.heads for g in groups)
            drafts = planned[name].drafts if view.case.cockerels(name) else ()
            due = [d.on for d in drafts if d.share > 0 and view.day <= d.on < until]
            key = "held_due" if due else "held"
            yield view.number(
                f"{key}_heads",
                float(heads),
                name,
                until,
                batch=name,
                n=heads,
                until=until,
                due=_days(view, due),
            )
            eggs = sum(g.heads * view.of_one(view.now.season.eggs, g) for g in groups)
            if eggs >= 1:
                yield view.number("eggs_held_a_day", eggs, name, until, batch=name, eggs=eggs, until=until)


def _days(view: View, days: list[date]) -> str:
    return ", ".join(view.tell.day(on) for on in days)
