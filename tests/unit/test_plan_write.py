"""plan.toml written back: what changed and nothing else; stale and senseless writes leave it as it was."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.farm.plan_file import read_plan
from leyfold.farm.plan_write import write_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay

FARM = """\
[holding]
name = "Reed End"
latitude = 55.0
longitude = 9.0
zone = "Europe/Copenhagen"
[lines.wren]
[incubators.cabinet]
eggs = 100
[brooders.barn]
floor = "9 m2"
[shelters.one]
sides = "3 x 3 m"
height = "0.9 m"
[shelters.two]
sides = "3 x 3 m"
height = "0.9 m"
[houses.wagon]
floor = "12 m2"
"""
PLAN = """\
# dated at the kitchen table

[[present]]  # last year's
id = "old"
line = "wren"
on = 2027-01-04
age = "40 weeks"
hens = 30
place = "wagon"

[[set]]
id = "early"
line = "wren"
on = 2027-03-01  # a Monday
eggs = 80
turnout = "30 days"  # not sooner
brooder = "barn"

[[set]]
id = "late"
line = "wren"
on = 2027-04-12
eggs = 60

[[stay]]
batch = "early"
place = "one"
from = "30 days"
until = "8 weeks"
heads = 40

[[stay]]
id = "second"
batch = "early"
place = "two"
from = "30 days"
until = "8 weeks"

[[out]]
batch = "old"
on = 2027-08-02
"""


@pytest.fixture
def texts(tmp_path: Path) -> Texts:
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    return Texts(tmp_path)


def changed(plan: Plan, batch: str, **fields: object) -> Plan:
    return replace(plan, batches=tuple(replace(b, **fields) if b.id == batch else b for b in plan.batches))


def put(texts: Texts, plan: Plan) -> str:
    farm = read_farm(texts)
    write_plan(texts, farm, plan, texts.read("plan.toml").sha)
    again = read_plan(texts, farm)
    assert {b.id: b for b in again.batches} == {b.id: b for b in plan.batches}
    assert {s.id: s for s in again.stays} == {s.id: s for s in plan.stays}
    assert again.outs == plan.outs
    return texts.read("plan.toml").text


def test_plan_as_read_is_written_letter_for_letter(texts: Texts) -> None:
    assert put(texts, read_plan(texts, read_farm(texts))) == PLAN


def test_one_changed_date_changes_one_line(texts: Texts) -> None:
    plan = read_plan(texts, read_farm(texts))
    text = put(texts, changed(plan, "early", turnout_on=date(2027, 4, 25)))
    was, now = PLAN.splitlines(), text.splitlines()
    assert [(a, b) for a, b in zip(was, now, strict=True) if a != b] == [
        ('turnout = "30 days"  # not sooner', "turnout = 2027-04-25  # not sooner")
    ]


def test_everything_else_a_plan_says(texts: Texts) -> None:
    plan = read_plan(texts, read_farm(texts))
    plan = changed(
        plan,
        "late",
        eggs=64,
        stored_d=5,
        incubator="cabinet",
        brooder="barn",
        house="wagon",
        ring="red",
        drafts=(Draft(date(2027, 8, 9), 0.5), Draft(date(2027, 8, 23), 1.0)),
    )
    plan = replace(plan, last=date(2028, 1, 2), outs=(Out("old", date(2027, 7, 1), 0.5),))
    text = put(texts, plan)
    assert 'stored = "5 days"' in text
    assert "# dated at the kitchen table" in text
    assert read_plan(texts, read_farm(texts)).last == date(2028, 1, 2)


def test_a_batch_may_come_and_go_with_its_stays(texts: Texts) -> None:
    farm = read_farm(texts)
    plan = read_plan(texts, farm)
    bought = Batch(
        "guests",
        "wren",
        "bought",
        hatched_on=date(2027, 5, 2),
        arrives_on=date(2027, 5, 4),
        heads={"pullet": 20.0, "cockerel": 22.0},
    )
    stay = Stay("guest-stay", "guests", None, "two", date(2027, 6, 7), date(2027, 7, 5), heads=42.0)
    text = put(texts, replace(plan, batches=(*plan.batches, bought), stays=(*plan.stays, stay)))
    assert "[[bought]]" in text
    assert put(texts, plan).count("[[") == PLAN.count("[[")


def test_a_stay_without_an_id_keeps_its_name_when_an_earlier_one_goes(texts: Texts) -> None:
    path = texts.folder / "plan.toml"
    path.write_text(PLAN.replace('id = "second"\n', ""), encoding="utf-8")
    plan = read_plan(texts, read_farm(texts))
    text = put(texts, replace(plan, stays=tuple(s for s in plan.stays if s.id != "stay1")))
    assert 'id = "stay2"' in text


def test_birds_present_may_be_moved(texts: Texts) -> None:
    plan = read_plan(texts, read_farm(texts))
    moved = tuple(
        replace(s, id="hens-out", place="one", until=date(2027, 3, 1)) if s.batch == "old" else s
        for s in plan.stays
    )
    text = put(texts, replace(plan, stays=moved))
    assert 'place = "wagon"' not in text


def test_a_stale_write_is_refused(texts: Texts) -> None:
    farm = read_farm(texts)
    plan = read_plan(texts, farm)
    sha = texts.read("plan.toml").sha
    theirs = PLAN.replace("eggs = 60", "eggs = 61")
    (texts.folder / "plan.toml").write_text(theirs, encoding="utf-8")
    with pytest.raises(BadInput, match="changed by somebody else"):
        write_plan(texts, farm, changed(plan, "late", eggs=10), sha)
    assert texts.read("plan.toml").text == theirs


def test_a_plan_that_cannot_be_is_refused_and_nothing_written(texts: Texts) -> None:
    farm = read_farm(texts)
    plan = read_plan(texts, farm)
    sha = texts.read("plan.toml").sha
    with pytest.raises(BadInput, match="comes before"):
        write_plan(texts, farm, changed(plan, "early", turnout_on=date(2027, 3, 3)), sha)
    with pytest.raises(BadInput, match="no brooder"):
        write_plan(texts, farm, changed(plan, "early", brooder="attic"), sha)
    assert texts.read("plan.toml").text == PLAN
    assert texts.kept("plan.toml") == ()


def test_a_completed_plan_is_not_written(texts: Texts) -> None:
    farm = read_farm(texts)
    plan = replace(read_plan(texts, farm), completed=True)
    with pytest.raises(ValueError, match="completed"):
        write_plan(texts, farm, plan, texts.read("plan.toml").sha)


@settings(max_examples=25, deadline=None)
@given(
    eggs=st.integers(1, 400),
    later=st.integers(0, 60),
    sort=st.none() | st.integers(60, 80),
    shares=st.lists(st.floats(0.01, 0.99), max_size=3),
)
def test_any_dated_set_comes_back_as_it_was_written(
    tmp_path_factory: pytest.TempPathFactory, eggs: int, later: int, sort: int | None, shares: list[float]
) -> None:
    folder = tmp_path_factory.mktemp("farm")
    (folder / "farm.toml").write_text(FARM, encoding="utf-8")
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    texts = Texts(folder)
    farm: Farm = read_farm(texts)
    plan = read_plan(texts, farm)
    late = next(b for b in plan.batches if b.id == "late")
    set_on = date(2027, 4, 1) + timedelta(days=later)
    hatched = set_on + timedelta(days=21)
    plan = changed(
        plan,
        "late",
        set_on=set_on,
        hatched_on=hatched,
        arrives_on=hatched,
        eggs=eggs,
        sort_on=None if sort is None else hatched + timedelta(days=sort),
        drafts=tuple(Draft(hatched + timedelta(days=90 + 7 * i), s) for i, s in enumerate(shares)),
    )
    assert late in read_plan(texts, farm).batches
    put(texts, plan)


def test_what_is_new_stands_a_line_apart(texts: Texts) -> None:
    plan = read_plan(texts, read_farm(texts))
    new = [replace(batch, id="later") for batch in plan.batches if batch.id == "late"]
    stay = replace(plan.stays[-1], id="third", first=date(2027, 6, 12), until=date(2027, 6, 20))
    lines = put(texts, replace(plan, batches=(*plan.batches, *new), stays=(*plan.stays, stay))).splitlines()
    assert 'id = "later"' in lines
    assert 'id = "third"' in lines
    assert all(above == "" for above, line in pairwise(lines) if line.startswith("[["))
    assert all(above or line for above, line in pairwise(lines))


def test_all_sets_may_be_others(texts: Texts) -> None:
    """Nothing of the old list is left for the new one to be set apart from."""
    plan = read_plan(texts, read_farm(texts))
    new = [replace(batch, id=f"new-{batch.id}") for batch in plan.batches if batch.origin == "set"]
    kept = [batch for batch in plan.batches if batch.origin != "set"]
    stays = tuple(stay for stay in plan.stays if stay.batch in {batch.id for batch in kept})
    lines = put(texts, replace(plan, batches=(*kept, *new), stays=stays)).splitlines()
    assert lines.count("[[set]]") == len(new) == 2
    assert all(above == "" for above, line in pairwise(lines) if line.startswith("[["))
