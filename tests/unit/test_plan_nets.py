"""Hens on their ground: as many as their net and the ground under their house take, by limits in force."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.ground.whole import wished_m2
from leyfold.nature.grazing import grass_season
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm, Net, Wish
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Batch, Stay
from leyfold.nouns.planned import Planned
from leyfold.nouns.planning import Grass
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.plan.checker import check
from leyfold.plan.make import make_plan
from leyfold.plan.ways.changes import changes
from leyfold.plan.ways.needed import Need
from leyfold.season.dates import Window
from leyfold.season.expect import expect
from leyfold.season.hens_ground import least_m2, nets_m2
from planned_farms import AT, PRICES, SPAN, clash, planned, small_farm
from random_farms import random_farm

NET = Net("ring", rolls=1, roll_m=40.0, shift_d=4, house="coop")
M2 = 0.8 * 10.0 * 10.0
"""Of the square ten metres long and wide that 40 m enclose, four fifths."""
PULLETS = Wish("flock", "pullets", 8, date(2027, 12, 20), 0.8)


def limit(quantity: Any, at_most: float, scope: str = "net") -> Limit:
    return Limit("own", quantity, scope, at_most, "test", True)


def hens_farm(*limits: Limit, net: Net = NET, asked: dict[str, Any] | None = None) -> Farm:
    """Pullets so dear that the farm keeps as many as it may."""
    farm = small_farm(asked=asked, nets={net.id: net}, prices={**PRICES, "pullet": 60.0})
    return replace(farm, limits=(*farm.limits, *limits))


@cache
def free() -> tuple[Planned, Season]:
    answer = planned(hens_farm())
    return answer, expect(hens_farm(), answer.completed)


def most_hens(season: Season) -> float:
    return float(season.places["coop"].heads.max())


def growing(farm: Farm, season: Season) -> np.ndarray[Any, Any]:
    year = grass_season([f.value for f in farm.temperature_C])
    return np.array([year[season.day(i).timetuple().tm_yday - 1] for i in range(season.days)])


def dung_kg(farm: Farm, season: Season) -> float:
    """The most nitrogen that the hens drop on one day of growth, reckoned anew."""
    rows = [i for i, lot in enumerate(season.lots) if lot.place == "coop"]
    return float((season.n_kg[rows].sum(axis=0) * growing(farm, season)).max())


NIGHT = hens_farm().lines["tawny"].hen.night_share_of_dung.value


def holds(farm: Farm, answer: Planned) -> Season:
    season = expect(farm, answer.completed)
    assert check(farm, answer.completed) == ()
    assert season.breaches == ()
    return season


def test_no_more_hens_than_a_net_has_room_for() -> None:
    before = most_hens(free()[1])
    dense = 0.6 * before / M2
    tight = hens_farm(limit("heads_per_m2", dense))
    season = holds(tight, planned(tight))
    assert 0 < most_hens(season) <= 0.6 * before * (1 + 1e-6)
    assert planned(tight).objective < free()[0].objective
    found = check(tight, free()[0].completed)
    assert {(f.what, f.where) for f in found} == {("heads_per_m2", "ring")}
    assert max(f.worst for f in found) == pytest.approx(before / M2)
    # The limit of one net stands in place of that for all of them, and twice the rolls go round four times.
    own = hens_farm(limit("heads_per_m2", dense), replace(limit("heads_per_m2", 1e3, "ring"), id="mine"))
    assert check(own, free()[0].completed) == ()
    wide = hens_farm(limit("heads_per_m2", dense), net=replace(NET, rolls=2))
    assert check(wide, free()[0].completed) == ()
    # Nobody is in the net before it is there.
    gone = hens_farm(limit("heads_per_m2", dense), net=replace(NET, until=date(2027, 3, 2)))
    assert check(gone, free()[0].completed) == ()


@pytest.mark.parametrize("shift_d", [2, 4])
def test_no_more_dung_in_a_stay_than_the_ground_takes(shift_d: int) -> None:
    net = replace(NET, shift_d=shift_d)
    before = dung_kg(hens_farm(), free()[1]) * (1 - NIGHT) * shift_d / M2 * 1e4
    assert before > 0
    tight = hens_farm(limit("kg_n_per_ha_pass", 0.6 * before), net=net)
    season = holds(tight, planned(tight))
    after = dung_kg(tight, season) * (1 - NIGHT) * shift_d / M2 * 1e4
    assert after <= 0.6 * before * (1 + 1e-6)
    found = check(tight, free()[0].completed)
    assert {(f.what, f.where) for f in found} == {("kg_n_per_ha_pass", "ring")}
    assert max(f.worst for f in found) == pytest.approx(before, rel=1e-6)
    just = hens_farm(limit("kg_n_per_ha_pass", before * 1.00001), net=net)
    assert check(just, free()[0].completed) == ()


def test_the_ground_under_the_house_is_held_apart() -> None:
    floor = hens_farm().houses["coop"].floor_m2
    before = dung_kg(hens_farm(), free()[1]) * NIGHT / floor * 1e4
    tight = hens_farm(limit("kg_n_per_ha_pass", 0.6 * before, "house"))
    season = holds(tight, planned(tight))
    assert dung_kg(tight, season) * NIGHT / floor * 1e4 <= 0.6 * before * (1 + 1e-6)
    found = check(tight, free()[0].completed)
    assert {(f.what, f.where) for f in found} == {("kg_n_per_ha_pass", "coop")}
    assert max(f.worst for f in found) == pytest.approx(before, rel=1e-6)
    breaches = expect(tight, free()[0].completed).breaches
    assert {(b.where, b.limit.id) for b in breaches} == {("coop", "own")}
    assert max(b.worst for b in breaches) == pytest.approx(before, rel=1e-9)


def test_the_season_and_the_checker_name_the_same_days() -> None:
    for one in (limit("heads_per_m2", 0.05), limit("kg_n_per_ha_pass", 3.0)):
        farm = hens_farm(one)
        season = expect(farm, free()[0].completed)
        named = [
            (f.day_first, f.day_last, pytest.approx(f.worst, rel=1e-6)) for f in check(farm, season.plan)
        ]
        assert named
        last = SPAN.last or date.max
        assert [(b.first, min(b.last, last), b.worst) for b in season.breaches] == named


def test_a_net_too_small_is_a_clash_and_more_rolls_a_way_out() -> None:
    farm = replace(hens_farm(limit("heads_per_m2", 4.0 / M2)), wishes=(PULLETS,))
    assert clash(farm) == {"nets", "wish:flock"}
    ((way, *_),) = changes(farm, SPAN, ["nets"], {"nets": Need(1.5)}, AT.date(), date(2027, 12, 31))
    assert way.id == "rolls:1"
    assert way.farm.nets["ring"].rolls == 2
    assert way.said


def test_old_hens_over_a_limit_leave_on_the_first_day_that_they_can() -> None:
    """Nobody can plan away who is there this morning: that is no clash."""
    old = Batch(
        "old", "tawny", "present", date(2025, 9, 1), date(2027, 3, 1),
        heads={"pullet": 30.0, "cockerel": 0.0}, house="coop",
    )  # fmt: skip
    stay = Stay("old-1", "old", None, "coop", date(2027, 3, 1), date(2027, 12, 27))
    plan = replace(SPAN, batches=(old,), stays=(stay,))
    dear = {**PRICES, "egg": 2.0, "pullet": 60.0}
    free_to_stay = replace(hens_farm(), prices=dear)
    assert not planned(free_to_stay, plan).plan.outs
    tight = replace(hens_farm(limit("heads_per_m2", 10.0 / M2)), prices=dear)
    answer = planned(tight, plan)
    assert [out.on for out in answer.plan.outs] == [date(2027, 3, 8)]
    found = check(tight, answer.completed)
    assert [(f.what, f.day_first, f.day_last) for f in found] == [
        ("heads_per_m2", date(2027, 3, 1), date(2027, 3, 7))
    ]


def test_paddocks_take_their_part_of_the_land() -> None:
    """Four days in each and four weeks of rest: eight paddocks, each as large as the limit asks."""
    farm = hens_farm(limit("heads_per_m2", 0.25), net=replace(NET, rolls=4))
    answer, season = free()
    heads = {"coop": season.places["coop"].heads}
    hens = most_hens(season)
    moving = growing(farm, season) & (season.places["coop"].heads > 0)
    many = min(8, -(-int(moving.sum()) // 4))
    need = many * hens / 0.25
    assert nets_m2(farm, Window(season.first, season.days), heads) == pytest.approx(need)
    shelters = sum(
        float((season.places[name].heads > 0).sum()) * kit.floor_m2 * kit.moves_per_day
        for name, kit in farm.shelters.items()
    )

    def on(m2: float, nets: bool) -> Farm:
        return replace(farm, planning=replace(farm.planning, grass=(Grass(m2, nets=nets),)))

    roomy, tight = shelters + need + 1.0, shelters + 0.7 * need
    assert check(on(roomy, True), answer.completed) == ()
    assert check(on(tight, False), answer.completed) == ()
    assert {f.what for f in check(on(tight, True), answer.completed)} == {"ground"}
    less = planned(on(tight, True))
    assert holds(on(tight, True), less) is not None
    assert less.objective < answer.objective
    # Without a limit of hens to the m2 nobody can say how large a paddock is: it takes nothing.
    bare = replace(hens_farm(), planning=replace(farm.planning, grass=(Grass(shelters, nets=True),)))
    assert check(bare, answer.completed) == ()


def test_a_paddock_is_laid_out_as_large_as_its_limits_ask() -> None:
    """By the limits of a net: where it keeps to them, so do paddocks of that size."""
    _, season = free()
    hens, stay = most_hens(season), dung_kg(hens_farm(), season) * (1 - NIGHT) * 4
    roomy = replace(NET, rolls=10)
    dense, dung = limit("heads_per_m2", 0.05), limit("kg_n_per_ha_pass", 2.0)
    for limits, least in (((), 0.0), ((dense,), hens / 0.05), ((dung,), stay / 2.0 * 1e4)):
        farm = hens_farm(*limits, net=roomy)
        assert least_m2(farm, roomy, season) == pytest.approx(least)
        wished = max(10.0 * hens, 150.0, least)
        assert wished <= wished_m2(farm, roomy, season) < wished + 50.0
        assert wished_m2(farm, roomy, season) % 50.0 == 0.0
    assert wished_m2(hens_farm(dense, net=NET), NET, season) == NET.most_m2


FILE = """
[holding]
name = "A"
latitude = 57
longitude = 14
zone = "Europe/Stockholm"
[lines.wren]
[houses.coop]
floor = "12 m2"
[brooders.shed]
floor = "6 m2"
[nets.ring]
rolls = 2
house = "coop"
[[limits]]
id = "own"
quantity = "heads_per_m2"
scope = "ring"
at_most = 0.25
source = "own rule"
"""


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('house = "coop"', "", "limits.own.scope"),
        ('"heads_per_m2"', '"heads"', "limits.own.quantity"),
        ('scope = "ring"', 'scope = "rung"', "limits.own.scope"),
        ('"heads_per_m2"\nscope = "ring"', '"kg_n_per_ha_pass"\nscope = "brooder"', "limits.own.quantity"),
        ("[nets.ring]", "[nets.coop]", "nets.coop"),
    ],
)
def test_a_limit_that_nobody_could_hold_is_refused(tmp_path: Path, old: str, new: str, field: str) -> None:
    assert old in FILE
    (tmp_path / "farm.toml").write_text(FILE, encoding="utf-8")
    assert read_farm(Texts(tmp_path)).limits[0].scope == "ring"
    (tmp_path / "farm.toml").write_text(FILE.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    assert field in {fault.field for fault in refused.value.faults}
    assert all(fault.mend for fault in refused.value.faults)


def test_days_of_standing_still_count_for_no_stay() -> None:
    """In the cold months net and house stand: only m2 a hen is held then."""
    farm = hens_farm(limit("kg_n_per_ha_pass", 1e-3))
    season = expect(farm, free()[0].completed)
    grows = growing(farm, season)
    for breach in season.breaches:
        for i in range(season.index(breach.first), season.index(breach.last) + 1):
            assert grows[i]
    assert not grows[season.index(date(2027, 12, 20))]
    assert season.places["coop"].heads[season.index(date(2027, 12, 20))] > 0


@pytest.mark.parametrize("seed", [1, 7, 14, 16])
def test_farms_drawn_by_lot_keep_to_their_nets(seed: int) -> None:
    """Farms of a lot with a net round each house, and limits drawn so that some bind."""
    made = random_farm(seed, "tiny")
    rng = Random(seed)
    farm = made.farm
    nets = {
        f"net-{name}": Net(f"net-{name}", rng.randint(1, 3), 50.0, rng.randint(2, 6), name)
        for name in farm.houses
    }
    drawn = (
        Limit("dense", "heads_per_m2", "net", rng.uniform(0.02, 0.3), "test", True),
        Limit("stay", "kg_n_per_ha_pass", "net", rng.uniform(1.0, 30.0), "test", True),
        Limit("night", "kg_n_per_ha_pass", "house", rng.uniform(5.0, 100.0), "test", True),
    )
    grass = (Grass(rng.uniform(2_000.0, 30_000.0), nets=True),)
    farm = replace(
        farm,
        nets=nets,
        limits=(*farm.limits, *drawn),
        planning=replace(farm.planning, grass=grass),
    )
    plan = made.plan(farm)
    answer = make_plan(farm, None, State(), plan, made.at(plan), seconds=60)
    assert isinstance(answer, Planned)
    assert {"nets", "house_ground"} & {*answer.binding}
    assert [f.said for f in check(farm, answer.completed)] == []
