"""What every expected season must keep, whatever the plan: conservation, monotony, limits, windows."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from farms import MINE, MONTHS_C, farm, line, mine
from leyfold.nouns.farm import Farm, Shelter
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Batch, Draft, Out, Plan
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.sums import sums
from leyfold.season.weeks import weeks

EXACT = 1e-9
a_season = settings(max_examples=12, deadline=None)

SUMMED = ("dead", "killed", "killed_kg", "feed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs", "egg_kg")
DAILY = ("heads", *SUMMED)

FARM = farm()
SHELTERS = {
    name: Shelter(name, 2.0 + n % 3, 2.5 + n % 2, 0.6) for n, name in enumerate(f"s{i}" for i in range(60))
}
AMPLE = farm(shelters=SHELTERS)
NO_LIMITS = farm(limits=())


@st.composite
def drafts(draw: st.DrawFn, hatched: date) -> tuple[Draft, ...]:
    ages = sorted(draw(st.sets(st.integers(60, 140), max_size=3)))
    shares = [draw(st.floats(0.05, 0.95)) for _ in ages]
    if shares and draw(st.booleans()):
        shares[-1] = 1.0
    return tuple(Draft(hatched + timedelta(days=age), s) for age, s in zip(ages, shares, strict=True))


@st.composite
def batches(draw: st.DrawFn, name: str, origins: tuple[str, ...] = ("set", "bought", "present")) -> Batch:
    origin = draw(st.sampled_from(origins))
    day = draw(st.dates(date(2027, 1, 1), date(2028, 3, 15)))
    if origin == "set":
        hatched = day + timedelta(days=21)
        eggs, stored = draw(st.integers(0, 260)), draw(st.integers(0, 12))
        made = Batch(name, "tawny", "set", hatched, hatched, day, eggs, stored_d=stored)
    else:
        hatched = day - timedelta(days=draw(st.integers(0, 0 if origin == "bought" else 500)))
        heads: dict[Sex, float] = {sex: float(draw(st.integers(0, 90))) for sex in SEXES}
        made = Batch(name, "tawny", origin, hatched, day, heads=heads)  # type: ignore[arg-type]
    return replace(made, drafts=draw(drafts(hatched)))


@st.composite
def plans(draw: st.DrawFn, **more: Any) -> Plan:
    made = tuple(draw(batches(name, **more)) for name in "abc"[: draw(st.integers(1, 3))])
    outs = tuple(
        Out(batch.id, batch.arrives_on + timedelta(days=draw(st.integers(0, 300))), draw(st.floats(0.1, 1.0)))
        for batch in made
        if draw(st.booleans())
    )
    return Plan(made, outs=outs)


def rows(season: Season, batch: str, sex: Sex) -> list[int]:
    return [i for i, lot in enumerate(season.lots) if (lot.batch, lot.sex) == (batch, sex)]


def daily(season: Season, name: str) -> dict[tuple[str, Sex], np.ndarray]:
    """Sums over the lots of each batch and sex, [day]."""
    values = getattr(season, name)
    return {
        (b.id, sex): values[rows(season, b.id, sex)].sum(axis=0) for b in season.plan.batches for sex in SEXES
    }


def came(farm: Farm, batch: Batch, sex: Sex) -> float:
    """Birds that come onto the farm, by hand."""
    if batch.origin != "set":
        return batch.heads[sex]
    of = farm.lines[batch.line]
    kept = []
    for age in range(batch.stored_d + 1):
        early = min(age, of.storage_late_from_d.value) - of.storage_free_d.value
        late = age - of.storage_late_from_d.value
        loss = of.storage_loss_per_d.value * max(early, 0) + of.storage_late_loss_per_d.value * max(late, 0)
        kept.append(1 - loss)
    pullets = of.share_pullets.value
    share = pullets if sex == "pullet" else 1 - pullets
    hatch = of.fertility.value * of.hatch_of_fertile.value * sum(kept) / len(kept)
    return (batch.eggs or 0) * hatch * share


def left(plan: Plan, batch: Batch, sex: Sex, day: date) -> float:
    """What drafts or outs up to a day have left of all that would live."""
    leaving: list[Draft | Out] = (
        [*batch.drafts] if sex == "cockerel" else [out for out in plan.outs if out.batch == batch.id]
    )
    return math.prod(1 - x.share for x in leaving if batch.arrives_on <= x.on <= day)


# Conservation


@a_season
@given(plans())
def test_birds_are_conserved(plan: Plan) -> None:
    season = expect(FARM, plan)
    heads, dead, killed = (daily(season, name) for name in ("heads", "dead", "killed"))
    for batch in season.plan.batches:
        for sex in SEXES:
            key, start = (batch.id, sex), season.index(batch.arrives_on)
            whole = came(FARM, batch, sex)
            lost = np.cumsum(dead[key]) - dead[key] + np.cumsum(killed[key])
            assert (heads[key] + lost)[start:] == pytest.approx(whole, rel=EXACT, abs=EXACT)
            assert not heads[key][:start].any()
    assert all((getattr(season, name) >= 0).all() for name in DAILY)


@a_season
@given(plans())
def test_nutrients_fed_are_kept_laid_or_dropped(plan: Plan) -> None:
    """By lot and day, with the gain from the growth curve itself."""
    season = expect(FARM, plan)
    of = FARM.lines["tawny"]
    factors = {stay.id: stay.weight_factor for stay in season.plan.stays}
    contents = {
        "n": [feed.protein.value / 6.25 for feed in FARM.feeds.values()],
        "p": [feed.phosphorus.value for feed in FARM.feeds.values()],
        "k": [feed.potassium.value for feed in FARM.feeds.values()],
    }
    long = {"n": "nitrogen", "p": "phosphorus", "k": "potassium"}
    for i, lot in enumerate(season.lots):
        g, there = of.of(lot.sex).growth, season.heads[i] > 0
        age = season.age_d[i][there]

        def weight(age: np.ndarray, g: Any = g) -> np.ndarray:
            return g.mature_kg.value * np.exp(-np.exp(-g.rate_per_d.value * (age - g.inflection_d.value)))

        gain = season.heads[i][there] * (weight(age + 1) - weight(age)) * factors[lot.stay]
        for x, name in long.items():
            fed = season.feed_kg[i][there] * np.array(contents[x])[season.feed_kind[i][there]]
            kept = gain * getattr(of.of(lot.sex), f"{name}_per_gain").value
            laid = season.egg_kg[i][there] * getattr(of.hen, f"{name}_per_egg_kg").value
            dropped = getattr(season, f"{x}_kg")[i][there]
            assert dropped + kept + laid == pytest.approx(fed, rel=EXACT, abs=1e-12)


@a_season
@given(plans())
def test_weeks_and_places_hold_all_that_the_lots_hold(plan: Plan) -> None:
    season = expect(FARM, plan)
    told = weeks(season)
    for name in ("dead", "killed", "killed_kg", "water_l", "n_kg", "p_kg", "k_kg", "eggs"):
        total = sum(getattr(week, name) for week in told)
        assert total == pytest.approx(float(getattr(season, name).sum()), rel=EXACT, abs=EXACT)
    fed = sum(kg for week in told for kg in week.feed_kg.values())
    assert fed == pytest.approx(float(season.feed_kg.sum()), rel=EXACT, abs=EXACT)
    for week in told:
        monday = season.heads[:, season.index(week.monday)].sum()
        assert week.heads == pytest.approx(week.pullets + week.cockerels, rel=EXACT, abs=EXACT)
        assert week.heads == pytest.approx(monday, rel=EXACT, abs=EXACT)
    birds = [place for place in season.places.values() if place.kind != "incubator"]
    assert sum(p.heads for p in birds) == pytest.approx(season.heads.sum(axis=0), rel=EXACT, abs=EXACT)
    live = (season.heads * season.weight_kg).sum(axis=0)
    assert sum(p.kg for p in birds) == pytest.approx(live, rel=EXACT, abs=EXACT)


@a_season
@given(plans())
def test_the_sums_of_the_season_balance(plan: Plan) -> None:
    total = sums(FARM, expect(FARM, plan))
    there = total.dead + total.killed + total.alive_at_end
    assert total.hatched + total.bought == pytest.approx(there, rel=EXACT, abs=EXACT)


@a_season
@given(plans())
def test_shares_of_the_lots_sum_to_what_the_drafts_left(plan: Plan) -> None:
    season = expect(FARM, plan)
    stays = season.plan.stays
    for batch in season.plan.batches:
        for sex in SEXES:
            if came(FARM, batch, sex) == 0:
                continue
            mine_only = [s for s in stays if s.batch == batch.id and s.sex in (None, sex)]
            for i in range(max(season.index(batch.arrives_on), 0), season.days, 5):
                day = season.day(i)
                there = sum(s.share for s in mine_only if s.first <= day < s.until)
                assert there == pytest.approx(left(season.plan, batch, sex, day), rel=EXACT, abs=EXACT)


@a_season
@given(plans())
def test_drafts_weigh_what_was_there(plan: Plan) -> None:
    """What a draft takes and what it leaves weigh together what stood there: nothing at all is won by
    taking the heaviest first."""
    season = expect(FARM, plan)
    for batch in season.plan.batches:
        mine_only = rows(season, batch.id, "cockerel")
        before = batch.arrives_on
        for draft in batch.drafts:
            day = season.index(draft.on)
            if draft.on <= before or not 0 < day < season.days:
                continue
            curve = season.weight_kg[mine_only][:, day - 1]
            stood = season.heads[mine_only][:, day - 1] - season.dead[mine_only][:, day - 1]
            g = FARM.lines["tawny"].cockerel.growth
            age = np.array([draft.on.toordinal() - batch.hatched_on.toordinal() + d for d in (-1, 0)])
            w = g.mature_kg.value * np.exp(-np.exp(-g.rate_per_d.value * (age - g.inflection_d.value)))
            kg_before = float((stood * curve).sum()) * w[1] / w[0]
            kg_after = float((season.heads * season.weight_kg)[mine_only, day].sum())
            kg_gone = float(season.killed_kg[mine_only, day].sum())
            assert kg_after + kg_gone == pytest.approx(kg_before, rel=EXACT, abs=EXACT)


# Half-open stays


@a_season
@given(plans())
def test_stays_are_half_open(plan: Plan) -> None:
    season = expect(FARM, plan)
    stays = {stay.id: stay for stay in season.plan.stays}
    assert len(stays) == len(season.plan.stays)
    assert len({lot.id for lot in season.lots}) == len(season.lots)
    days = np.arange(season.days) + season.first.toordinal()
    for i, lot in enumerate(season.lots):
        stay = stays[lot.stay]
        inside = (days >= stay.first.toordinal()) & (days < stay.until.toordinal())
        for name in ("heads", "dead", "feed_kg", "water_l", "n_kg", "eggs", "weight_kg"):
            assert not getattr(season, name)[i][~inside].any(), name
        assert (season.feed_kind[i] >= 0).tolist() == inside.tolist()
        assert set(np.flatnonzero(season.killed[i])) <= {season.index(stay.until)}


# Order


@a_season
@given(plans(), st.randoms(use_true_random=False))
def test_order_of_batches_changes_no_bird(plan: Plan, random: Any) -> None:
    other = list(plan.batches)
    random.shuffle(other)
    one, two = expect(AMPLE, plan), expect(AMPLE, replace(plan, batches=tuple(other)))
    assert (one.first, one.days) == (two.first, two.days)
    for name in DAILY:
        a, b = daily(one, name), daily(two, name)
        assert all(a[key] == pytest.approx(b[key], rel=EXACT, abs=EXACT) for key in a), name


@a_season
@given(plans(), st.permutations(sorted(SHELTERS)))
def test_order_of_shelters_changes_no_bird(plan: Plan, names: list[str]) -> None:
    one = expect(AMPLE, plan)
    two = expect(replace(AMPLE, shelters={name: SHELTERS[name] for name in names}), plan)
    for name in DAILY:
        a, b = daily(one, name), daily(two, name)
        assert all(a[key] == pytest.approx(b[key], rel=EXACT, abs=EXACT) for key in a), name


def test_with_shelters_alike_and_enough_the_order_of_batches_changes_only_the_order_of_lots() -> None:
    """Batches that come on days of their own: each has the shelters to itself, whatever the order."""
    hatches = [date(2027, 3, 1), date(2027, 9, 6), date(2028, 3, 6)]
    made = [
        Batch(name, "tawny", "bought", on, on, heads={"pullet": 30.0, "cockerel": 30.0})
        for name, on in zip("abc", hatches, strict=True)
    ]
    one, two = (expect(FARM, Plan(tuple(order))) for order in (made, made[::-1]))
    assert one.lots == two.lots
    assert one.breaches == two.breaches
    for name in DAILY:
        assert np.array_equal(getattr(one, name), getattr(two, name))


# Monotony


def not_less(more: Season, less: Season, names: tuple[str, ...]) -> None:
    for name in names:
        a, b = daily(more, name), daily(less, name)
        for key in b:
            assert (a[key] >= b[key] * (1 - EXACT) - EXACT).all(), (name, key)


@a_season
@given(plans(origins=("set",)), st.integers(1, 80))
def test_more_eggs_never_mean_fewer_birds_less_feed_or_fewer_kg(plan: Plan, more: int) -> None:
    larger = tuple(replace(batch, eggs=(batch.eggs or 0) + more) for batch in plan.batches)
    not_less(expect(FARM, replace(plan, batches=larger)), expect(FARM, plan), DAILY)


SURVIVALS = ("survival_first_week", "survival_brooder", "survival_shelter")


@a_season
@given(plans(origins=("set", "bought")), st.sampled_from(SURVIVALS), st.floats(0.3, 1.0), st.floats(0.3, 1.0))
def test_better_survival_never_means_fewer_birds_or_less_feed(
    plan: Plan, which: str, one: float, two: float
) -> None:
    worse, better = (
        expect(farm(lines={"tawny": line(**{which: value})}), plan) for value in sorted((one, two))
    )
    names = tuple(name for name in DAILY if name != "dead")
    not_less(better, worse, names)


@a_season
@given(plans(), st.floats(0, 12))
def test_warmer_never_means_more_feed_nor_less_water_to_a_kg_of_it(plan: Plan, warmer: float) -> None:
    warm = replace(FARM, temperature_C=tuple(mine(t + warmer, "C") for t in MONTHS_C))
    cold_season, warm_season = expect(FARM, plan), expect(warm, plan)
    fed, fed_warm = daily(cold_season, "feed_kg"), daily(warm_season, "feed_kg")
    drunk, drunk_warm = daily(cold_season, "water_l"), daily(warm_season, "water_l")
    for key in fed:
        assert (fed_warm[key] <= fed[key] * (1 + EXACT)).all()
        # Below the base both fall together: it is the water to a kg of feed that never falls.
        assert (drunk_warm[key] * fed[key] >= drunk[key] * fed_warm[key] * (1 - EXACT)).all()


@given(st.floats(20, 34), st.floats(0, 6))
@settings(max_examples=10, deadline=None)
def test_hens_drink_more_the_warmer_it_is_once_it_is_warm(temperature: float, warmer: float) -> None:
    hens = Batch("h", "tawny", "present", date(2026, 4, 1), date(2027, 6, 1), heads={"pullet": 80.0})
    cool, warm = (
        expect(replace(FARM, temperature_C=(mine(t, "C"),) * 12), Plan((hens,)))
        for t in (temperature, temperature + warmer)
    )
    assert (warm.water_l >= cool.water_l * (1 - EXACT)).all()


# Scale


@a_season
@given(plans(origins=("set",)))
def test_twice_the_eggs_are_twice_of_everything_where_no_limit_binds(plan: Plan) -> None:
    twice = tuple(replace(batch, eggs=2 * (batch.eggs or 0)) for batch in plan.batches)
    one, two = expect(NO_LIMITS, plan), expect(NO_LIMITS, replace(plan, batches=twice))
    for name in DAILY:
        a, b = daily(one, name), daily(two, name)
        assert all(b[key] == pytest.approx(2 * a[key], rel=EXACT, abs=EXACT) for key in a), name


# Breaches


def runs(season: Season, limits: tuple[Limit, ...]) -> set[tuple[str, str, date, date, float, date]]:
    """Every run of days over a limit, looked for one day after the other."""
    found = set()
    for limit in limits:
        for place in season.places.values():
            if limit.scope not in (place.kind, place.place):
                continue
            values = place.heads if limit.quantity == "eggs" else getattr(place, limit.quantity)
            run: list[int] = []
            for i in range(season.days + 1):
                if i < season.days and values[i] > limit.at_most * (1 + EXACT):
                    run.append(i)
                elif run:
                    worst = max(run, key=lambda d, v=values: v[d])
                    days = season.day(run[0]), season.day(run[-1])
                    found.add((limit.id, place.place, *days, float(values[worst]), season.day(worst)))
                    run = []
    return found


@a_season
@given(plans(), st.integers(0, 3), st.floats(2.0, 20.0), st.floats(20.0, 150.0))
def test_breaches_are_the_runs_over_each_limit(plan: Plan, shelters: int, kg: float, n: float) -> None:
    limits = (
        Limit("kg", "kg_per_m2", "shelter", kg, MINE, False),
        Limit("n", "kg_n_per_ha_pass", "shelter", n, MINE, False),
        Limit("floor", "floor_share", "brooder", 0.4, MINE, False),
        Limit("heads", "heads", "house", 40.0, MINE, False),
        Limit("eggs", "eggs", "incubator", 120.0, MINE, False),
    )
    few = dict(list(FARM.shelters.items())[:shelters])
    season = expect(replace(FARM, shelters=few, limits=limits), plan)
    told = [(b.limit.id, b.where, b.first, b.last, b.worst, b.worst_on) for b in season.breaches]
    assert len(told) == len(set(told))
    assert set(told) == runs(season, limits)
    assert told == sorted(told, key=lambda x: (x[2], x[1], x[0]))


# Windows


@a_season
@given(plans(), st.dates(date(2026, 12, 1), date(2029, 6, 1)), st.integers(0, 200))
def test_a_window_shows_the_days_of_the_whole_season(plan: Plan, first: date, days: int) -> None:
    whole = expect(AMPLE, plan)
    part = expect(AMPLE, replace(plan, first=first, last=first + timedelta(days=days)))
    assert part.first.weekday() == 0
    assert part.days % 7 == 0
    assert part.first <= first < part.first + timedelta(days=7)
    shift = part.index(whole.first)
    ours = slice(max(shift, 0), min(shift + whole.days, part.days))
    assume(ours.start < ours.stop)
    theirs = slice(ours.start - shift, ours.stop - shift)
    for name in DAILY:
        a, b = daily(whole, name), daily(part, name)
        for key in a:
            assert b[key][ours] == pytest.approx(a[key][theirs], rel=EXACT, abs=EXACT), (name, key)


@a_season
@given(plans())
def test_a_completed_plan_is_completed_and_gives_the_same_season(plan: Plan) -> None:
    done = complete(FARM, plan)
    assert complete(FARM, done) is done
    one, two = expect(FARM, plan), expect(FARM, done)
    assert all(np.array_equal(getattr(one, name), getattr(two, name)) for name in DAILY)


def test_the_window_counts_as_said() -> None:
    batch = Batch("a", "tawny", "set", date(2027, 3, 25), date(2027, 3, 25), date(2027, 3, 4), 100)
    season = expect(FARM, Plan((batch,)))
    assert (season.first, season.days) == (date(2027, 3, 1), 53 * 7)
    one = expect(FARM, Plan((batch,), first=date(2027, 4, 7), last=date(2027, 4, 7)))
    assert (one.first, one.days) == (date(2027, 4, 5), 7)
