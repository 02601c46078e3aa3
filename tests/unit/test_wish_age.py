"""A wish for pullets from some age on: who counts, in the exact sum, to the planner and to the checker; and
what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.plan.checker import check
from leyfold.season.chance import number_by
from leyfold.season.complete import complete
from leyfold.season.wished import wish_chances
from planned_farms import SPAN, planned, small_farm

ON = date(2027, 9, 1)
GROWN_D = 126
FARM = """\
[holding]
name = "Reed End"
latitude = 55.0
longitude = 9.0
zone = "Europe/Copenhagen"
[lines.wren]
[[wishes]]
id = "w"
number = 9
on = 2027-09-01
chance = "80 %"
age = "18 weeks"
"""


def hatched(name: str, on: date) -> Batch:
    return Batch(name, "tawny", "set", on, on, set_on=on - timedelta(days=21), eggs=24, stored_d=6)


def wish(aged_d: int) -> Wish:
    return Wish("flock", "pullets", 6, ON, 0.8, aged_d=aged_d)


@pytest.mark.parametrize("days", [-1, 0, 1])
def test_those_count_that_are_old_enough_on_the_day(days: int) -> None:
    farm = small_farm()
    old = hatched("old", ON - timedelta(days=GROWN_D + days))
    young = hatched("young", ON - timedelta(days=60))
    plan = complete(farm, replace(SPAN, batches=(old, young)))
    alone = number_by(farm, complete(farm, replace(SPAN, batches=(old,))), "pullets", ON)
    both = number_by(farm, plan, "pullets", ON)
    grown = number_by(farm, plan, "pullets", ON, aged_d=GROWN_D)
    assert grown.mean == pytest.approx(alone.mean if days >= 0 else 0.0, abs=1e-9)
    assert both.mean > alone.mean > 0.0


def test_the_planner_sets_in_time_for_them_to_be_so_old() -> None:
    grown = small_farm(wish(GROWN_D))
    answer = planned(grown)
    (row,) = answer.chances
    assert row.chance >= 0.8
    last = ON - timedelta(days=GROWN_D)
    old = [b for b in answer.completed.batches if b.origin == "set" and b.hatched_on <= last]
    (alone,) = wish_chances(small_farm(wish(0)), replace(answer.completed, batches=tuple(old)))
    assert alone.chance == pytest.approx(row.chance, abs=1e-9)
    assert not check(grown, answer.completed)


def test_the_checker_names_what_is_too_young() -> None:
    farm = small_farm(wish(GROWN_D))
    young = complete(farm, replace(SPAN, batches=(hatched("young", ON - timedelta(days=GROWN_D - 1)),)))
    old = complete(farm, replace(SPAN, batches=(hatched("old", ON - timedelta(days=GROWN_D)),)))
    assert "wish" in {one.what for one in check(farm, young)}
    assert "wish" not in {one.what for one in check(farm, old)}


def test_chicks_keep_a_wish_that_names_no_age() -> None:
    farm = small_farm(wish(0))
    young: Plan = complete(farm, replace(SPAN, batches=(hatched("young", ON - timedelta(days=60)),)))
    assert not any(row.short for row in wish_chances(farm, young))
    assert all(row.short for row in wish_chances(small_farm(wish(GROWN_D)), young))


@pytest.mark.parametrize("what", ["table birds", "eggs a day"])
def test_an_age_is_asked_of_pullets_alone(what: str, tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_text(f'{FARM}what = "{what}"\n', encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        read_farm(Texts(tmp_path))
    (fault,) = wrong.value.faults
    assert "age" in fault.field
    assert what in fault.wrong
