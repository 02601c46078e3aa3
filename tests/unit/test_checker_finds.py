"""Every kind of breach, made on purpose in a clean plan, is named; the clean plan has none."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import leyfold
from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.farm import Farm, Lamp, Person, Wish
from leyfold.nouns.figure import Figure
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Plan, Stay
from leyfold.nouns.planned import Finding
from leyfold.nouns.record import Group, State
from leyfold.nouns.stock import FeedPhase
from leyfold.plan.checker import check, nights
from leyfold.season.complete import complete
from leyfold.season.expect import expect

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo"
Case = tuple[Farm, Plan]


@cache
def clean() -> Case:
    """The demo farm: it is there to be looked at first, and nothing is wrong with its plan."""
    texts = Texts(DEMO)
    farm = read_farm(texts)
    return farm, complete(farm, read_plan(texts, farm))


def found(case: Case, state: State | None = None) -> tuple[Finding, ...]:
    return check(*case, state)


def test_a_clean_plan_has_no_finding() -> None:
    assert found(clean()) == ()


def test_an_open_plan_cannot_be_walked() -> None:
    farm, plan = clean()
    with pytest.raises(ValueError, match="completed"):
        check(farm, replace(plan, completed=False))


def batch(name: str, **changes: Any) -> Callable[[Farm, Plan], Case]:
    def change(farm: Farm, plan: Plan) -> Case:
        return farm, replace(
            plan, batches=tuple(replace(b, **changes) if b.id == name else b for b in plan.batches)
        )

    return change


def planning(**changes: Any) -> Callable[[Farm, Plan], Case]:
    return lambda farm, plan: (replace(farm, planning=replace(farm.planning, **changes)), plan)


def kit(kind: str, name: str, **changes: Any) -> Callable[[Farm, Plan], Case]:
    def change(farm: Farm, plan: Plan) -> Case:
        kits = getattr(farm, kind)
        return replace(farm, **{kind: kits | {name: replace(kits[name], **changes)}}), plan

    return change


def limit(quantity: Any, scope: str, most: float) -> Callable[[Farm, Plan], Case]:
    def change(farm: Farm, plan: Plan) -> Case:
        others = tuple(x for x in farm.limits if (x.quantity, x.scope) != (quantity, scope))
        return replace(farm, limits=(*others, Limit("own", quantity, scope, most, "test", True))), plan

    return change


def without(quantity: str) -> Callable[[Farm, Plan], Case]:
    return lambda farm, plan: (
        replace(farm, limits=tuple(x for x in farm.limits if x.quantity != quantity)),
        plan,
    )


def wish(what: Any, number: int, on: date, until: date | None = None) -> Callable[[Farm, Plan], Case]:
    return lambda farm, plan: (replace(farm, wishes=(Wish("own", what, number, on, 0.5, until=until),)), plan)


def stays(change: Callable[[Stay], list[Stay]]) -> Callable[[Farm, Plan], Case]:
    return lambda farm, plan: (
        farm,
        replace(plan, stays=tuple(new for stay in plan.stays for new in change(stay))),
    )


def both(*changes: Callable[[Farm, Plan], Case]) -> Callable[[Farm, Plan], Case]:
    def change(farm: Farm, plan: Plan) -> Case:
        for one in changes:
            farm, plan = one(farm, plan)
        return farm, plan

    return change


def hours(a_day: float) -> Callable[[Farm, Plan], Case]:
    return lambda farm, plan: (
        replace(farm, people={"runa": Person("runa", "Runa", "farmer", a_day)}),
        plan,
    )


def is_first(stay: Stay) -> bool:
    """Where the chicks of january stand first."""
    return stay.batch == "january" and stay.place == "barn"


def layers_early(farm: Farm, plan: Plan) -> Case:
    """The pullets of march go to the hens at 16 weeks, before they may have lime."""
    march = next(b for b in plan.batches if b.id == "march")
    early = march.hatched_on + timedelta(weeks=16)
    open_ = read_plan(Texts(DEMO), farm)
    changed = tuple(replace(b, house_on=early) if b.id == "march" else b for b in open_.batches)
    return farm, complete(farm, replace(open_, batches=changed))


CASES: dict[str, tuple[Callable[[Farm, Plan], Case], set[str]]] = {
    "a step before the one it needs": (batch("may", sort_on=date(2027, 6, 20)), {"order"}),
    "a hatch on the wrong day": (batch("may", set_on=date(2027, 5, 9)), {"hatch_day"}),
    "set on a day of rest": (planning(set_weekdays=("sunday",)), {"set_weekday"}),
    "set too late": (planning(set_until=date(2027, 5, 1)), {"set_span"}),
    "set too early": (planning(set_from=date(2027, 1, 1)), {"set_span"}),
    "at grass too early": (planning(grass_from=date(2027, 4, 1)), {"grass_early"}),
    "at grass too late": (planning(grass_until=date(2027, 8, 1)), {"grass_late"}),
    "eggs too old": (planning(stored_d=6), {"egg_age"}),
    "no machine": (batch("may", incubator=None), {"no_machine"}),
    "more eggs than places": (kit("incubators", "box", eggs=90), {"incubator"}),
    "more eggs than a limit": (limit("eggs", "box", 90), {"incubator"}),
    "the hatcher too small": (kit("incubators", "cabinet", hatcher_eggs=90), {"hatcher"}),
    "a pen too small": (kit("pens", "winter-pen", hens=34), {"pen"}),
    "birds nowhere": (stays(lambda s: [] if is_first(s) else [s]), {"nowhere"}),
    "birds twice": (stays(lambda s: [s, replace(s, place="s4")] if is_first(s) else [s]), {"twice"}),
    "more birds than live": (stays(lambda s: [replace(s, heads=500.0) if is_first(s) else s]), {"too_many"}),
    "no such place": (stays(lambda s: [replace(s, place="cart") if is_first(s) else s]), {"no_place"}),
    "a shelter given up": (kit("shelters", "s1", until=date(2027, 6, 1)), {"not_owned"}),
    "a shelter not yet built": (kit("shelters", "s1", since=date(2027, 4, 25)), {"not_owned"}),
    "a machine given up": (kit("incubators", "cabinet", until=date(2027, 5, 20)), {"not_owned"}),
    "lime for pullets": (layers_early, {"lime"}),
    "too many heads": (limit("heads", "shelter", 20), {"heads"}),
    "too many hens a square metre": (limit("heads_per_m2", "house", 2), {"heads_per_m2"}),
    "too many kg": (limit("kg_per_m2", "shelter", 9), {"kg_per_m2"}),
    "too much nitrogen": (limit("kg_n_per_ha_pass", "shelter", 90), {"kg_n_per_ha_pass"}),
    "too little floor": (limit("floor_share", "brooder", 0.5), {"floor"}),
    "too little floor without a limit": (
        both(without("floor_share"), kit("brooders", "barn", floor_m2=5.0)),
        {"floor"},
    ),
    "too little ground": (planning(ground_m2=2000.0), {"ground"}),
    "too few lamps": (kit("brooders", "loft", lamps=(Lamp(250, "loft"),)), {"lamps"}),
    "one fuse for both lamps": (
        both(planning(heat_without="fuse"), kit("brooders", "barn", lamps=(Lamp(250, "left"),) * 3)),
        {"lamps"},
    ),
    "a fuse too small": (kit("brooders", "loft", fuses_a={"loft": 2.0}), {"fuse"}),
    "too many together in the cold": (planning(cold_group=40), {"cold_group"}),
    "too many killed": (planning(kill_a_day=20), {"kill_many"}),
    "the freezer too small": (planning(freezer_kg=30.0), {"freezer"}),
    "too few hours": (hours(1.0), {"hours"}),
    "too few pullets": (wish("pullets", 500, date(2027, 9, 1)), {"wish"}),
    "too few table birds": (wish("table birds", 200, date(2027, 6, 1)), {"wish"}),
    "too few eggs": (wish("eggs a day", 45, date(2027, 1, 11), date(2027, 4, 1)), {"wish_eggs"}),
}


@pytest.mark.parametrize("name", CASES)
def test_a_breach_made_on_purpose_is_named(name: str) -> None:
    change, kinds = CASES[name]
    findings = found(change(*clean()))
    assert {f.what for f in findings} == kinds, [f.said for f in findings]
    for finding in findings:
        assert finding.day_first <= finding.day_last
        assert finding.said.endswith(".")


def draft_days() -> set[date]:
    return {draft.on for b in clean()[1].batches if b.origin == "set" for draft in b.drafts}


def test_killing_days_closed_and_of_rest() -> None:
    day = min(draft_days())
    closed = found(planning(closed=(day,))(*clean()))
    assert [(f.what, f.day_first, f.day_last) for f in closed] == [("kill_closed", day, day)]
    days = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    rest = tuple(name for name in days if name != days[day.weekday()])
    resting = found(planning(kill_weekdays=rest)(*clean()))
    assert {f.what for f in resting} == {"kill_weekday"}
    assert day in {f.day_first for f in resting}


def test_ages_that_may_not_share_a_brooder() -> None:
    to_barn = stays(
        lambda s: [replace(s, place="barn") if s.batch == "february" and s.place == "loft" else s]
    )
    wide = kit("brooders", "barn", floor_m2=60.0, lamps=())
    apart = found(both(to_barn, wide, planning(mixed_ages_d=27))(*clean()))
    assert found(both(to_barn, wide, planning(mixed_ages_d=28))(*clean())) == ()
    assert {(f.what, f.where, f.worst) for f in apart} <= {
        ("mixed_ages", "barn", 27.0),
        ("mixed_ages", "barn", 24.0),
    }


def test_birds_of_which_only_the_records_know() -> None:
    day = date(2027, 3, 1)
    state = State(day, groups=(Group("stray", None, "barn", 12), Group("january", None, "barn", 60)))
    (finding,) = found(clean(), state)
    assert (finding.what, finding.where, finding.worst) == ("forgotten", "stray", 12.0)


PARTS = {"of_work", *(f"work_{name}" for name in ("round", "eggs", "setting", "sorting", "killing"))}


def test_too_few_hours_say_what_the_work_is() -> None:
    """On the worst day all parts are told, killing too where nobody is paid for it."""
    farm, plan = hours(1.0)(*clean())
    prices = {name: price for name, price in farm.prices.items() if name != "killing"}
    seen = set()
    for one in found((replace(farm, prices=prices), plan)):
        if one.what == "hours":
            parts = re.findall(r"(the round|eggs|setting eggs|sorting|killing at home) ([0-9.]+) h", one.said)
            assert sum(float(number) for _, number in parts) == pytest.approx(one.worst, abs=0.06)
            seen |= {name for name, _ in parts}
    assert {"the round", "killing at home"} <= seen


def test_every_sentence_of_the_checker_is_reached() -> None:
    page = tomllib.loads((Path(leyfold.__file__).parent / "words/en/checker.toml").read_text("utf-8"))
    alone = {"kill_closed", "kill_weekday", "mixed_ages", "forgotten", "cold_nights"}
    shared = {"mixed_weights", "mixed_sexes"}  # in test_plan_share
    made = {kind for _, kinds in CASES.values() for kind in kinds} | alone | shared
    assert made == set(page) - {"head_one", "head_many", "days", "one_day", "of", "nights", *PARTS}


@settings(max_examples=8, deadline=None)
@given(st.data())
def test_no_stay_can_be_lost_or_doubled(data: st.DataObject) -> None:
    farm, plan = clean()
    whole = [s for s in plan.stays if s.first < s.until and s.first < date(2028, 1, 2)]
    flocks = {b.id for b in plan.batches}
    stay = data.draw(st.sampled_from(whole))
    lost = found((farm, replace(plan, stays=tuple(s for s in plan.stays if s is not stay))))
    here = [f for f in lost if f.what == "nowhere" and f.where == stay.batch]
    assert here
    assert stay.batch in flocks
    assert min(f.day_first for f in here) == stay.first
    doubled = found((farm, replace(plan, stays=(*plan.stays, stay))))
    assert [f for f in doubled if f.what == "twice" and f.where == stay.batch]


@settings(max_examples=8, deadline=None)
@given(st.data())
def test_a_limit_bites_just_under_what_the_season_reaches(data: st.DataObject) -> None:
    """The highest value that the season's engine reckons in a place is where the limit begins to bite."""
    farm, plan = clean()
    places = expect(farm, plan).places
    place = data.draw(st.sampled_from(["barn", "loft", "s1", "s2", "l1", "l2", "caravan"]))
    quantities = ["heads", "heads_per_m2", "kg_per_m2"]
    quantities += ["kg_n_per_ha_pass"] if place in farm.shelters else []
    quantities += ["floor_share"] if place in farm.brooders else []
    quantity = data.draw(st.sampled_from(quantities))
    most = float(getattr(places[place], quantity).max())
    what = "floor" if quantity == "floor_share" else quantity
    tight = found(limit(quantity, place, most * 0.9999)(farm, plan))
    assert {(f.what, f.where) for f in tight} == {(what, place)}
    assert found(limit(quantity, place, most * 1.0000001)(farm, plan)) == ()


def test_a_feed_that_is_not_limy_may_be_shared() -> None:
    farm, plan = layers_early(*clean())
    feeds = dict(farm.feeds)
    feeds["layers"] = replace(feeds["layers"], calcium=Figure(0.02, "share", "test", "farm file"))
    assert found((replace(farm, feeds=feeds), plan)) == ()
    line = farm.lines["rowan"]
    late = (*line.feeding[:2], FeedPhase("layers", 150, "pullet"))
    assert line.feeding[2].from_d < 150
    changed = replace(farm, lines={"rowan": replace(line, feeding=late)})
    assert {f.what for f in found((changed, plan))} == {"lime"}


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 9), st.integers(1, 150)), min_size=2, max_size=6),
    st.integers(5, 20),
)
def test_eggs_beyond_what_the_pen_gives_are_found_stretch_by_stretch(
    sets: list[tuple[int, int, int]], gone: int
) -> None:
    """Every stretch of days tried, as it is said in words: the sets gathered within it want no more than the
    hens lay on those of its days on which the pen is there."""
    farm, plan = clean()
    first = date(2027, 2, 1)
    pen = replace(farm.pens["winter-pen"], since=None, until=first + timedelta(days=gone))
    made = []
    for i, (day, stored, eggs) in enumerate(sets):
        on = first + timedelta(days=day)
        hatch = on + timedelta(days=21)
        of = plan.batches[1]
        made.append(
            replace(of, id=f"n{i}", set_on=on, hatched_on=hatch, arrives_on=hatch, eggs=eggs, stored_d=stored)
        )
    a_day = pen.hens * (pen.lay_share or 0.0) * (pen.settable_share or 1.0)
    owned = [b for b in made if b.set_on is not None and pen.owned(b.set_on)]
    spans = {b.id: (b.set_on - timedelta(days=max(b.stored_d, 1)), b.set_on) for b in owned if b.set_on}
    over = set()
    for start, _ in spans.values():
        for _, end in spans.values():
            within = [b for b in owned if start <= spans[b.id][0] and spans[b.id][1] <= end]
            there = sum(pen.owned(start + timedelta(days=i)) for i in range((end - start).days))
            if sum(b.eggs or 0 for b in within) > a_day * there + 1e-6:
                over.add(max(within, key=lambda b: spans[b.id][1]).id)
    walked = replace(
        plan, first=first, last=first + timedelta(days=40), batches=tuple(made), stays=(), outs=()
    )
    named = [f.where for f in found((replace(farm, pens={pen.id: pen}), walked)) if f.what == "pen"]
    assert sorted(named) == sorted(over)


@pytest.mark.parametrize(("place", "first"), [("s4", date(2027, 7, 26)), ("s2", None)])
def test_birds_that_come_to_a_shelter_later_are_looked_at_too(place: str, first: date | None) -> None:
    """May's cockerels put among April's pullets, and among March's while they are there, or into a shelter
    that others have left."""
    farm, plan = clean()
    own = [s for s in plan.stays if (s.batch, s.sex, s.place) == ("may", "cockerel", "l1")]
    begins = first or date(2027, 8, 19)
    moved = [replace(s, place=place, first=begins) for s in own]
    mixed = found((farm, replace(plan, stays=(*(s for s in plan.stays if s not in own), *moved))))
    days = [f.day_first for f in mixed if f.what == "mixed_sexes"]
    assert days == ([first] if first else [])


def test_a_machine_whose_hatcher_is_another_is_free_before_the_hatch() -> None:
    """A second set on the day on which the first goes to the hatcher; a day sooner, places lack, said once.
    The season says the same; without the hatcher, until the first has hatched."""
    farm, plan = clean()
    cabinet = farm.incubators["cabinet"]
    first = next(b for b in plan.batches if b.id == "january")
    assert first.set_on is not None
    for day, hatcher, days in ((18, 104, None), (17, 104, (17, 17)), (18, None, (18, 20))):
        on = first.set_on + timedelta(days=day)
        hatch = on + timedelta(days=21)
        other = replace(first, id="b", eggs=100, set_on=on, hatched_on=hatch, arrives_on=hatch)
        kits = {**farm.incubators, "cabinet": replace(cabinet, hatcher_eggs=hatcher)}
        case = replace(farm, incubators=kits), replace(plan, batches=(first, other), stays=(), outs=())
        full = [(f.day_first, f.day_last) for f in found(case) if f.what == "incubator"]
        wanted = [tuple(first.set_on + timedelta(days=x) for x in days)] if days else []
        assert full == wanted
        opened = replace(plan, batches=(first, other), stays=(), outs=(), completed=False)
        season = expect(case[0], opened)
        assert [(b.first, b.last) for b in season.breaches if b.where == "cabinet"] == wanted


def test_a_finding_names_the_batches_to_be_changed() -> None:
    """Those in the place, in the machine, or killed, on the days of the finding, and no others."""
    full = found(batch("march", eggs=168)(*clean()))
    of = {f.what: f.said.rpartition("Batches: ")[2] for f in full if "Batches" in f.said}
    assert of["hatcher"] == "march."
    assert of["floor"] == "march."  # january's and may's are in the same barn at other times
    closed = found(planning(closed=(date(2027, 6, 1),))(*clean()))
    assert [f.said.rpartition("Batches: ")[2] for f in closed] == ["january."]


def test_numbers_that_differ_are_not_told_as_the_same() -> None:
    most = max(float(v) for v in expect(*clean()).places["s2"].kg_n_per_ha_pass)
    (finding, *_) = found(limit("kg_n_per_ha_pass", "s2", most * 0.9999)(*clean()))
    told = [word for word in finding.said.replace(";", " ").split() if word[0].isdigit() and "." in word]
    assert len(set(told)) == 2


def test_young_birds_on_nights_too_cold_for_them_are_pointed_out() -> None:
    """March's are turned out at 30 days on 8 May: three quarters of the way from the middle of April (5.1
    degrees) to that of May (10.4), less half of the nine of a day. They bear 6.3 (8 at 28 days, 2 at 35)."""
    farm, plan = clean()
    march = next(f for f in nights(farm, plan) if f.where == "march")
    night = 5.1 + 5.3 * 22.5 / 30.5 - 4.5
    bears = 8.0 - 6.0 * 2 / 7
    assert march.day_first == date(2027, 5, 8)
    assert march.worst == pytest.approx(bears - night, abs=0.3)  # months of one length
    later = [replace(s, first=s.first + timedelta(days=3)) if s.batch == "march" else s for s in plan.stays]
    kept = [f.where for f in nights(farm, replace(plan, stays=tuple(later)))]
    assert "march" not in kept
    assert {"yule", "january", "february"} == set(kept)


@pytest.mark.parametrize(
    ("quantity", "most", "metric", "imperial", "unit"),
    [
        ("kg_per_m2", 5.0, "5", "1.02", "lb/sq ft"),  # 5 x 2.20462 / 10.7639
        ("kg_n_per_ha_pass", 120.0, "120", "107", "lb/acre"),  # 120 x 2.20462 / 2.47105
        ("heads_per_m2", 4.0, "4", "0.372", "sq ft"),  # 4 / 10.7639
    ],
)
def test_a_farm_that_counts_in_pounds_and_feet_is_told_so(
    quantity: str, most: float, metric: str, imperial: str, unit: str
) -> None:
    farm, plan = limit(quantity, "s2", most)(*clean())
    feet = replace(farm, holding=replace(farm.holding, lengths="imperial"))
    (one, *_), (other, *_) = found((farm, plan)), found((feet, plan))
    assert (one.worst, one.at_most) == (other.worst, other.at_most)
    assert f" is {metric}." in one.said
    assert f" is {imperial}." in other.said
    assert f" {unit} " in other.said
    assert "kg" not in other.said
