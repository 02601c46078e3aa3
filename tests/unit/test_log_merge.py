"""Same records, same farm: whatever order they come in, over however many devices, however often, and
whether they are folded at once or one by one."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm
from leyfold.log import Folding, fold, merge, read, write
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record, State
from logs import Diary, batch_of_fifty, utc
from long_log import long_log

FARM = farm()
SEEDS = st.integers(0, 10**6)


def messy(seed: int, number: int = 300) -> list[Record]:
    """A log with doubles, nonsense, corrections of all sorts, corrections of those, answers, late entries,
    kinds nobody knows, and a device whose clock is years out."""
    rng = random.Random(seed)
    made = long_log(seed, number, mess=0.1, first="2027-01-05", on=FARM)
    made += [_about(rng, made, n) for n in range(number // 6)]
    made += [_about(rng, made, n + 500) for n in range(number // 12)]
    for n in range(4):
        fox, at = f"3{n:025d}", rng.choice(made).at
        later = at + timedelta(hours=rng.randrange(1, 90))
        made.append(Record(fox, "phone", "ada", at, at, "trouble", {"what": "fox", "place": "s1"}))
        made.append(Record(f"2{n:025d}", "phone", "ada", later, later, "settled", {"of": fox}))
        kind = rng.choice(("mains off", "mains back"))
        made.append(Record(f"1{n:025d}", "tablet", "ben", later, later, kind, {}))
    for n in range(3):
        at = rng.choice(made).at
        made.append(Record(f"6{n:025d}", "phone", "ada", at, at, "ringed", {"colour": ["blue", n]}))
        lost = at - timedelta(days=rng.choice((1, 9000)))
        made.append(
            Record(f"7{n:025d}", "old", "ben", lost, lost, "found dead", {"place": "east", "heads": 1})
        )
    return made


def _about(rng: random.Random, made: Sequence[Record], n: int) -> Record:
    """A correction or an answer."""
    of = rng.choice(made)
    at = of.at + timedelta(minutes=rng.randrange(-30, 600))
    data: dict[str, Any]
    if rng.random() < 0.4:
        doubles = [r for r in made if r.kind == of.kind and r.data == of.data and r.id != of.id]
        if doubles and rng.random() < 0.8:
            pair = [of.id, rng.choice(doubles).id]
            data = {"of": pair, "keep": rng.choice(("both", "first", "second", "neither"))}
        else:
            data = {"of": [of.id], "keep": rng.choice(("as it stands", "all there", "left out"))}
        kind = "answer"
    else:
        kind = "correction"
        ways: list[dict[str, Any]] = [
            {"void": True},
            {"at": (of.at - timedelta(hours=rng.randrange(1, 50))).isoformat()},
            {"at": (of.at + timedelta(minutes=rng.randrange(1, 300))).isoformat()},
            {"data": {**of.data, "heads": rng.randrange(1, 4)}},
            {"data": {**of.data, "nonsense": 1}},
        ]
        data = {"of": rng.choice((of.id, of.id, f"5{n:025d}")), **rng.choice(ways)}
    return Record(f"4{n:025d}", rng.choice(("phone", "tablet")), "ada", at, at, kind, data)


def end(records: Sequence[Record]) -> datetime:
    return max(r.at for r in records) + timedelta(hours=1)


def told(state: State) -> tuple[object, ...]:
    """The state, with the order of its tables."""
    return state, list(state.batches), [q.id for q in state.questions]


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.randoms(use_true_random=False))
def test_order_repetition_and_devices_change_nothing(seed: int, rng: random.Random) -> None:
    records = messy(seed)
    at = end(records)
    expected = fold(FARM, records, at)
    assert expected.questions
    devices: list[list[Record]] = [[], [], []]
    for record in records + rng.sample(records, len(records) // 3):
        devices[rng.randrange(3)].append(record)
    for device in devices:
        rng.shuffle(device)
    rng.shuffle(devices)
    together = [record for device in devices for record in device]
    assert told(fold(FARM, together, at)) == told(expected)
    assert told(fold(FARM, merge(*devices), at)) == told(expected)
    assert told(fold(FARM, read(write(together)), at)) == told(expected)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.randoms(use_true_random=False))
def test_one_by_one_is_as_at_once(seed: int, rng: random.Random) -> None:
    """Records come in clumps, out of order; between them somebody looks, today or at a day gone by."""
    records = messy(seed)
    at = end(records)
    folding = Folding(FARM)
    left = records.copy()
    if rng.random() < 0.5:
        left.sort(key=lambda r: (r.entered, r.id))
    else:
        rng.shuffle(left)
    came: list[Record] = []
    while left:
        clump = [left.pop(0) for _ in range(min(len(left), rng.choice((1, 1, 2, 7, 90))))]
        folding.add(clump)
        came += clump
        if rng.random() < 0.1:
            then = rng.choice(records).at
            assert told(folding.state(then)) == told(fold(FARM, came, then))
    assert told(folding.state(at)) == told(fold(FARM, records, at))


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_birds_are_conserved_whatever_is_asked(seed: int) -> None:
    records = messy(seed, 600)
    state = fold(FARM, records, end(records))
    came = sum(batch.chicks or 0 for batch in state.batches.values())
    left = sum(count.number for b in state.batches.values() for count in (*b.dead, *b.killed, *b.gone))
    assert sum(group.heads for group in state.groups) + left == came
    assert all(group.heads > 0 for group in state.groups)
    assert all(spell.heads > 0 and spell.first < spell.until for spell in state.spells)


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.integers(0, 300))
def test_what_happened_later_changes_no_day_before(seed: int, hours: int) -> None:
    records = messy(seed)
    then = min(r.at for r in records) + timedelta(hours=hours)
    said_of = [r for r in records if r.kind in ("correction", "answer")]
    # Corrections of what came later say nothing of the days before, unless they move it there.
    kept = {r.id for r in records if r.at <= then}
    moved = {r.data["of"] for r in said_of if "at" in r.data}
    later = [r for r in records if r.id not in kept and r not in said_of and r.id not in moved]
    fewer = [r for r in records if r not in later]
    all_, some = fold(FARM, records, then), fold(FARM, fewer, then)
    assert (all_.groups, all_.fed_kg, all_.spells) == (some.groups, some.fed_kg, some.spells)


def test_a_plausible_log_asks_nothing() -> None:
    records = long_log(3, 3000)
    assert fold(FARM, records, end(records)).questions == ()
    assert fold(FARM, records, end(records), strict=True) == fold(FARM, records, end(records))


def test_kinds_not_known_are_kept_to_the_letter() -> None:
    diary = batch_of_fifty()
    odd = {"colour": ["blue", None, {"deep": [1, 2.5, "é"]}], "": 0}
    diary.write("2027-02-10 07:00", "ringed", **odd)
    text = write(diary)
    assert write(read(text)) == text
    (ringed,) = [r for r in read(text) if r.kind == "ringed"]
    assert ringed.data == odd
    state = fold(FARM, diary, utc("2027-03-01 07:00"))
    assert state.unknown == (ringed.id,)
    assert state.questions == ()


def test_one_id_with_two_contents_is_refused_whole() -> None:
    diary = batch_of_fifty()
    folding = Folding(FARM)
    folding.add(diary)
    before = folding.state(utc("2027-03-01 07:00"))
    other = Diary()
    other.write("2027-02-01 07:00", "found dead", place="east")
    good = Record(f"7{1:025d}", "phone", "ada", utc("2027-02-02 07:00"), utc("2027-02-02 07:00"), "note",
                  {"text": "rain"})  # fmt: skip
    with pytest.raises(BadInput, match="has another content"):
        folding.add([good, *other])
    assert folding.state(utc("2027-03-01 07:00")) == before


def test_corrections_at_the_same_instant_are_decided_alike() -> None:
    """Two people put the same record right differently: the greater id holds, in whatever order they come."""
    diary = batch_of_fifty()
    dead = diary.write("2027-02-01 07:00", "found dead", place="east", heads=5)
    for heads in (2, 3):
        diary.write("2027-02-02 07:00", "correction", of=dead, data={"place": "east", "heads": heads})
    forth, back = list(diary), list(diary)[::-1]
    at = utc("2027-03-01 07:00")
    assert fold(FARM, forth, at) == fold(FARM, back, at)
    assert fold(FARM, forth, at).groups[0].heads == 47


def test_a_record_put_at_a_later_time_is_taken_from_its_old_one() -> None:
    diary = batch_of_fifty()
    dead = diary.write("2027-02-01 07:00", "found dead", place="east", heads=5)
    diary.write("2027-02-02 07:00", "found dead", place="east", heads=2)
    at, folding = utc("2027-03-01 07:00"), Folding(FARM)
    folding.add(diary)
    assert folding.state(at).groups[0].heads == 43
    diary.write("2027-02-04 07:00", "correction", of=dead, at_="2027-02-03T07:00:00Z")
    folding.add(diary)
    assert told(folding.state(at)) == told(fold(FARM, diary, at))
    assert [c.on.day for c in folding.state(at).batches["a"].dead] == [2, 3]


def test_a_correction_may_come_in_before_its_record() -> None:
    diary = batch_of_fifty()
    dead = diary.write("2027-02-01 07:00", "found dead", place="east", heads=5)
    void = diary.write("2027-02-02 07:00", "correction", of=dead, void=True)
    undo = diary.write("2027-02-03 07:00", "correction", of=void, void=True)
    *batch, loss, first, second = diary
    at, folding = utc("2027-03-01 07:00"), Folding(FARM)
    folding.add(batch)
    folding.add([second])
    assert [(q.why, q.id) for q in folding.state(at).questions] == [("correction", undo)]
    folding.add([first])
    assert folding.state(at).questions == ()  # one takes the other back, whatever it was about
    folding.add([loss])
    state = folding.state(at)
    assert (state.questions, state.groups[0].heads) == ((), 45)
