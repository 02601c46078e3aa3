"""What the phone is held to as well: its overlay over the heads, and the records its cards become."""

from __future__ import annotations

import json
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.log.fold import fold
from leyfold.log.kinds import payload
from leyfold.nouns.record import Record
from leyfold.round.cards import cards
from leyfold.services.round import cards as plain_cards
from leyfold.services.round import records, rounds_of

ROOT = Path(__file__).parents[2]
VECTORS = ROOT / "tests" / "vectors"
DEMO = ROOT / "examples" / "demo"
PRACTICE = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))
FARM = read_farm(Texts(DEMO))
OVERLAY = json.loads((VECTORS / "overlay.json").read_text(encoding="utf-8"))
CARDS = json.loads((VECTORS / "cards.json").read_text(encoding="utf-8"))


def record(wire: dict[str, Any]) -> Record:
    at, entered = datetime.fromisoformat(wire["at"]), datetime.fromisoformat(wire["entered"])
    return Record(wire["id"], wire["device"], wire["who"], at, entered, wire["kind"], wire["data"])


@pytest.mark.parametrize("case", OVERLAY["cases"], ids=lambda c: c["name"])
def test_the_overlay_is_what_the_book_says(case: dict[str, Any]) -> None:
    at, until = datetime.fromisoformat(OVERLAY["at"]), datetime.fromisoformat(OVERLAY["until"])
    book = [record(wire) for wire in case["book"]]
    before = fold(FARM, book, at)
    calls: dict[str, list[dict[str, Any]]] = {}
    for g in before.groups:
        calls.setdefault(g.place, []).append({"batch": g.batch, "sex": g.sex, "heads": g.heads})
    assert {c["id"]: c["parties"] for c in case["calls"]} == calls
    assert all(c["heads"] == sum(p["heads"] for p in c["parties"]) for c in case["calls"])

    after = fold(FARM, [*book, *map(record, case["records"])], until)
    heads = Counter(dict.fromkeys(calls, 0))
    for g in after.groups:
        heads[g.place] += g.heads
    assert dict(heads) == case["heads"]
    assert len(after.questions) == case["questions"]


def test_the_overlay_moves_birds_somewhere() -> None:
    """Else the vectors would hold for a phone that overlays nothing."""
    moved = [c for c in OVERLAY["cases"] if any(c["heads"][k["id"]] != k["heads"] for k in c["calls"])]
    assert len(moved) > 12
    assert sum(c["questions"] for c in OVERLAY["cases"]) == 3


def written(card: dict[str, Any], answers: dict[str, Any]) -> list[dict[str, Any]]:
    """The rule, told once: a record is made unless its `only_if` was answered no or nought; a fact's answer
    goes into every field it names."""
    made = []
    for one in card["records"]:
        if one["only_if"] is not None and not answers.get(one["only_if"]):
            continue
        data = dict(one["data"])
        for fact in card["facts"]:
            for target in fact["into"]:
                kind, _, field = target.partition(".")
                if kind == one["kind"] and answers.get(fact["id"]) is not None:
                    data[field] = answers[fact["id"]]
        made.append({"kind": one["kind"], "data": data})
    return made


def test_the_cards_are_those_the_phone_keeps() -> None:
    assert plain_cards(FARM)["cards"] == CARDS["cards"]


@pytest.mark.parametrize("example", CARDS["examples"], ids=lambda e: e["card"])
def test_cards_become_records_that_the_book_takes(example: dict[str, Any]) -> None:
    card = next(c for c in CARDS["cards"] if c["id"] == example["card"])
    assert written(card, example["answers"]) == example["records"]
    at = datetime(2027, 5, 2, 12, tzinfo=UTC)
    for n, one in enumerate(example["records"]):
        assert payload(Record(f"01MMZ94CE1{n:016d}", "phone", "runa", at, at, one["kind"], one["data"]))


def test_every_fact_goes_into_a_record_of_its_card() -> None:
    for card in cards(FARM):
        kinds = {one.kind for one in card.records}
        for fact in card.facts:
            assert fact.into, fact
            assert {target.partition(".")[0] for target in fact.into} <= kinds
        assert {one.only_if for one in card.records} - {None} <= {fact.id for fact in card.facts}


def test_every_card_is_filled_somewhere_and_says_what_to_do() -> None:
    assert {e["card"] for e in CARDS["examples"]} == {c["id"] for c in CARDS["cards"]}
    for card in cards(FARM):
        assert card.now
        assert len(card.before_dark) >= 4
        assert card.cautions
        assert card.telephone
    sick = next(card for card in cards(FARM) if card.id == "sick")
    assert sick.stop is not None
    assert "vet" in sick.stop


def shape(value: Any) -> Any:
    """Keys at every level; of lists the shapes there are in them."""
    if isinstance(value, dict):
        return {key: shape(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return sorted({json.dumps(shape(inner), sort_keys=True) for inner in value})
    return "value"


def test_the_sample_the_phone_is_built_on_is_made_like_a_round() -> None:
    """Its numbers are remade by tools/vectors.py where the demo farm changes."""
    sample = json.loads((VECTORS / "rounds.json").read_text(encoding="utf-8"))
    made = json.loads(json.dumps(records(rounds_of(DEMO, PRACTICE, days=1))))
    assert set(sample) == set(made)
    assert [(r["day"], r["part"]) for r in sample["rounds"][:2]] == [
        ("2027-05-08", "morning"),
        ("2027-05-08", "evening"),
    ]
    for old, new in zip(sample["rounds"], made["rounds"], strict=False):
        assert set(old) == set(new)
        assert shape(old["calls"]) == shape(new["calls"])
        assert (old["evening"] is None) == (new["evening"] is None)
    assert set(sample["rounds"][1]["evening"]) == set(made["rounds"][1]["evening"])
