"""What is kept from one answer to the next never shows: rounds and state after each record are those made
from nothing, whatever was written down, late, out of order or corrected."""

from __future__ import annotations

import json
import random
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from leyfold.log.kinds import KINDS
from leyfold.nouns.kept import Grown, Kept
from leyfold.nouns.record import Count, Record, State
from leyfold.season.learning import due
from leyfold.services import round as rounds
from leyfold.services import state_records as states
from leyfold.services.live import Live
from leyfold.services.opened import open_farm
from leyfold.store.records import Store, open_store
from web import AT, copy_of_demo

STEPS = 7
EACH = 6
"""So many kinds are written down until the answers are made from nothing beside."""


@contextmanager
def from_nothing(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing made before is known inside."""
    with patch.context() as inside:
        inside.setattr(Kept, "get", lambda _, __, make: make())
        inside.setattr(Grown, "get", lambda _, __, listed, start, go_on: go_on(start, listed))
        inside.setattr(rounds, "_ANSWERED", deque(maxlen=0))
        yield


def tapped(rng: random.Random, number: int, groups: list[Any], places: list[str]) -> Record:
    """Something of the last three days, or just now."""
    back = rng.choice((timedelta(minutes=5), timedelta(hours=2), timedelta(days=1), timedelta(days=3)))
    at = AT - back - timedelta(seconds=number)
    group = rng.choice(groups)
    of = {"batch": group.batch, "place": group.place}
    kind, data = rng.choice((
        ("found dead", {**of, "heads": rng.randint(1, 3)}),
        ("missing", {**of, "heads": 1}),
        ("fed", {"place": rng.choice(places), "kg": rng.randint(1, 9) + 0.5}),
        ("watered", {"place": rng.choice(places), "litres": 12.0, "runs": True}),
        ("eggs", {"place": "caravan", "eggs": rng.randint(0, 60)}),
        ("counted", {"place": group.place, "heads": max(group.heads - rng.randint(0, 2), 0)}),
        ("shelter moved", {"place": rng.choice([p for p in places if p != "caravan"])}),
        ("temperature read", {"lowest_C": float(rng.randint(-4, 9))}),
    ))  # fmt: skip
    return Record(f"{number:026d}", "phone", "runa", at, AT, kind, data)


@contextmanager
def opened_books(folder: Path) -> Iterator[tuple[Store, Live, list[Any]]]:
    """The book, opened nine days ago, the server's live reading of it, and who is there."""
    store = open_store(folder)
    try:
        store.push(rounds.opening(folder, AT - timedelta(days=9)), "phone", AT)
        live = Live(folder, store)
        yield store, live, list(live.opened(AT).state.groups)
    finally:
        store.close()


@pytest.mark.parametrize("seed", [1, 2])
def test_answers_after_every_record_are_those_made_from_nothing(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, rng = copy_of_demo(tmp_path / "farm"), random.Random(seed)
    with opened_books(folder) as (store, live, groups):
        places = sorted({g.place for g in groups})
        seen = set()
        for number in range(1, STEPS + 1):
            one = tapped(rng, number, groups, places)
            if number == STEPS:  # the last of them is taken back
                one = Record(f"{number:026d}", "phone", "runa", AT, AT, "correction",
                             {"of": f"{number - 1:026d}", "void": True})  # fmt: skip
            store.push([one], "phone", AT)
            opened = live.opened(AT)
            again = rounds.rounds_of(opened, AT, days=1 + number % 2, now=AT)
            since = (AT - timedelta(days=5)).date()
            listed = states.state_records(opened.state, since)
            with from_nothing(monkeypatch):
                anew = open_farm(folder, AT)
                made = rounds.rounds_of(anew, AT, days=1 + number % 2, now=AT)
                assert rounds.records(again) == rounds.records(made), one
                assert listed == states.state_records(anew.state, since), one
            seen.add(again.rounds)
        assert len(seen) > 2, "hardly a record changed anything"


def of_every_kind(rng: random.Random, groups: list[Any], places: list[str]) -> dict[str, dict[str, Any]]:
    """Something of each kind that a farm may write down: most of it can be, some of it is asked about."""
    group = rng.choice(groups)
    of = {"batch": group.batch, "place": group.place}
    some = rng.randint(1, 3)
    return {
        "set": {"batch": "late-set", "line": "rowan", "eggs": 40},
        "tray weighed": {"batch": "late-set", "kg": 2.4},
        "candled": {"batch": "late-set", "fertile": 30},
        "tended": {"incubator": "cabinet", "what": "turned"},
        "hatched": {"batch": "late-set", "chicks": 25, "place": "loft"},
        "bought": {"batch": "bought", "line": "rowan", "heads": 12, "place": "loft"},
        "present": {"batch": "found", "line": "rowan", "heads": 9, "place": "caravan", "age_d": 300},
        "found dead": {**of, "heads": some}, "culled": {**of, "heads": 1}, "missing": {**of, "heads": 2},
        "found alive": {**of, "heads": 1}, "glance": {"place": group.place, "heads": group.heads - some},
        "counted": {"place": group.place, "heads": max(group.heads - some, 0)},
        "killed": {**of, "heads": some}, "sold": {**of, "heads": 1, "paid": 12.0},
        "weighed": {"batch": group.batch, "weights_kg": [1.4, 1.5, 1.7]},
        "carcass weights": {"batch": group.batch, "weights_kg": [1.2, 1.3]},
        "moved": {"batch": group.batch, "from": group.place, "to": "s3", "heads": some},
        "sorted": {"batch": group.batch, "pullets": group.heads // 2, "cockerels": (group.heads + 1) // 2},
        "eggs": {"place": "caravan", "eggs": rng.randint(0, 60)},
        "fed": {"place": rng.choice(places), "kg": some + 0.5}, "feed cleared": {"place": group.place},
        "feed read": {"bin": "tower", "kg": 120.0 * some}, "delivered": {"feed": "grower", "kg": 250.0},
        "watered": {"place": rng.choice(places), "litres": 12.0},
        "tank read": {"tank": "trailer", "litres": 300.0},
        "temperature read": {"lowest_C": float(rng.randint(-4, 9))},
        "grass height": {"where": "s1", "height_cm": 9.0}, "shelter moved": {"place": "s1"},
        "shut in": {"place": group.place, "heads": group.heads, "doors": True},
        "stands at": {"place": "s2", "stand": "none such"}, "fence shifted": {"net": "round-the-caravan"},
        "fence voltage": {"net": "round-the-caravan", "kV": 3.1}, "break opened": {"cattle": "herd"},
        "treated": {"medicine": "drops", **of, "eggs_d": 3, "meat_d": 7},
        "stop order": {"why": "wrong feed", "place": group.place},
        "trouble": {"what": "sick", "place": group.place}, "settled": {"of": "0" * 26},
        "mains off": {"room_C": 12.0}, "mains back": {}, "kit lost": {"kit": "s4"},
        "ordered": {"order": "more", "customer": "inn", "number": 12, "on": AT.date() + timedelta(days=5)},
        "deposit": {"order": "more", "paid": 20.0}, "sale": {"what": "eggs", "number": 30, "paid": 9.0},
        "expense": {"what": "twine", "paid": 4.0}, "hours": {"hours": 1.5}, "note": {"text": "rain"},
        "photograph": {"sha256": "0" * 64}, "correction": {"of": "0" * 26, "void": True},
        "answer": {"of": ["0" * 26], "keep": "left out"},
    }  # fmt: skip


@pytest.mark.parametrize("seed", [4])
def test_no_kind_of_record_leaves_anything_old_behind(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, rng = copy_of_demo(tmp_path / "farm"), random.Random(seed)
    with opened_books(folder) as (store, live, groups):
        written = of_every_kind(rng, groups, sorted({g.place for g in groups}))
        assert written.keys() == KINDS.keys()
        kinds = list(written)
        rng.shuffle(kinds)
        since = (AT - timedelta(days=14)).date()
        for number, kind in enumerate(kinds):
            at = AT - rng.choice((timedelta(minutes=5), timedelta(hours=3), timedelta(days=2)))
            data = json.loads(json.dumps(written[kind], default=str))
            one = Record(
                f"{number + 1:026d}", "phone", "runa", at + timedelta(seconds=number), AT, kind, data
            )
            pushed = store.push([one], "phone", AT)
            assert pushed.accepted == (one.id,), pushed
            again = rounds.rounds_of(live.opened(AT), AT, days=1, now=AT)
            if number % EACH == 0 or number == len(kinds) - 1:
                listed = states.state_records(live.state(AT, AT), since)
                with from_nothing(monkeypatch):
                    anew = open_farm(folder, AT)
                    made = rounds.rounds_of(anew, AT, days=1, now=AT)
                    assert rounds.records(again) == rounds.records(made), kind
                    assert listed == states.state_records(anew.state, since), kind


def test_one_day_asked_for_is_the_first_of_the_week(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    one = rounds.rounds_of(folder, AT, days=1, now=AT)
    grown = rounds.rounds_of(folder, AT, days=3, now=AT)
    rounds._ANSWERED.clear()
    three = rounds.rounds_of(folder, AT, days=3, now=AT)
    assert one.rounds == three.rounds[:2]
    assert grown.rounds == three.rounds
    assert rounds.rounds_of(folder, AT, days=2, now=AT).rounds == three.rounds[:4]


def test_what_is_kept_hangs_on_its_whole_key() -> None:
    kept: Kept[int] = Kept(2)
    assert [kept.get((k, [k]), lambda k=k: 10 * k) for k in (1, 2, 1, 3, 1)] == [10, 20, 10, 30, 10]  # type: ignore[misc]
    assert kept.get((1, [2]), lambda: -1) == -1


@pytest.mark.parametrize("seed", range(5))
def test_sums_and_lists_that_grow_are_those_of_the_whole(seed: int) -> None:
    rng, first = random.Random(seed), AT.date() - timedelta(days=400)
    counts: list[Count] = []
    for _ in range(12):
        new = [
            Count(
                first + timedelta(days=rng.randrange(400)), float(rng.randrange(9)), None, rng.choice("abc")
            )
            for _ in range(rng.choice((1, 3, 700, 4_100)))
        ]
        # At the end, as of now, or among the others, as of somebody who writes late; some are taken back.
        at = rng.choice((len(counts), rng.randrange(len(counts) + 1)))
        counts[at:at] = new
        del counts[rng.randrange(len(counts)) : rng.choice((0, len(counts)))]
        plain: dict[str, dict[Any, float]] = {}
        for one in counts:
            days = plain.setdefault(one.place or "", {})
            on = one.on.toordinal()
            days[on] = days.get(on, 0.0) + one.number
        assert due.by_place(tuple(counts)) == plain
        since = first + timedelta(days=200)
        page = states.state_records(State(eggs=tuple(counts)), since, frozenset({"eggs"}))
        listed = [(one["on"], one["place"]) for one in page["eggs"]]
        assert listed == [(c.on.isoformat(), c.place) for c in counts if c.on >= since]
