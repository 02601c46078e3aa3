"""The lines of the log: what is written is read again, once, and nothing else passes."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.log import merge, read, write
from leyfold.log.kinds import KINDS
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from logs import Diary, batch_of_fifty, made_up, ulid, utc

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=3,
)
moments = st.integers(946_684_800, 4_102_444_800).map(lambda seconds: datetime.fromtimestamp(seconds, UTC))


@settings(max_examples=50)
@given(
    st.lists(
        st.tuples(
            moments,
            st.text(min_size=1, max_size=64),
            st.dictionaries(st.text(max_size=5), json_values, max_size=3),
        )
    )
)
def test_what_is_written_is_read(rows: list[tuple[datetime, str, dict[str, object]]]) -> None:
    records = tuple(
        Record(ulid(i), "phone", "ada", at, at + timedelta(hours=i), kind, data)
        for i, (at, kind, data) in enumerate(rows)
    )
    text = write(records)
    assert read(text) == records
    assert write(read(text)) == text


def test_a_kind_of_a_newer_version_is_kept_word_for_word() -> None:
    line = (
        '{"id": "01ARZ3NDEKTSV4RRFFQ69G5FAV", "device": "d", "who": "w", "at": "2027-03-01T06:10:00Z", '
        '"entered": "2027-03-01T06:11:00Z", "kind": "hoof trimmed", "data": {"b": [1, null], "a": "ø"}}\n'
    )
    assert write(read(line)) == line


def test_times_of_any_offset_are_kept_in_utc() -> None:
    diary = batch_of_fifty()
    text = write(diary).replace("2027-01-05T09:00:00Z", "2027-01-05T14:30:00+05:30")
    first = read(text)[0]
    assert first.at == utc("2027-01-05 09:00")
    assert first.at.utcoffset() == timedelta(0)


def test_a_line_twice_is_one_record() -> None:
    text = write(batch_of_fifty())
    assert read(text + text) == read(text)


def test_records_know_their_line_and_blank_lines_are_none() -> None:
    lines = write(batch_of_fifty()).splitlines(keepends=True)
    assert [r.line for r in read(lines[0] + "\n" + lines[1])] == [1, 3]


def test_one_id_with_two_contents_is_refused() -> None:
    text = write(batch_of_fifty())
    other = text.splitlines()[1].replace("54", "53")
    with pytest.raises(BadInput, match="another content in line 2") as error:
        read(text + other)
    assert error.value.faults[0].line == 4
    one, two = read(text), read(other)
    with pytest.raises(BadInput, match="another content"):
        merge(one, two)


@settings(max_examples=30)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_merging_is_free_of_order_and_of_repetition(seed: int, rng) -> None:  # type: ignore[no-untyped-def]
    records = list(made_up(seed, 30)[0])
    parts = [[r for r in records if rng.random() < 0.6] for _ in range(3)]
    parts.append(records)
    expected = merge(records)
    rng.shuffle(parts)
    assert merge(*parts) == expected
    assert merge(expected, *parts) == expected


def test_merged_records_stand_in_order_of_when_they_happened() -> None:
    diary = batch_of_fifty()
    diary.write("2027-01-01 09:00", "note", text="written later, true earlier")
    assert [r.kind for r in merge(diary)] == ["note", "set", "candled", "hatched"]


def test_every_faulty_line_is_told_and_nothing_is_read() -> None:
    good = write(batch_of_fifty()).splitlines()
    with pytest.raises(BadInput) as error:
        read("\n".join([good[0], "{", good[1], "[]", good[2]]))
    assert [f.line for f in error.value.faults] == [2, 4]


def test_a_torn_last_line_is_told_apart() -> None:
    text = write(batch_of_fifty())
    with pytest.raises(BadInput, match="cut off"):
        read(text[:-20])


def test_the_longest_line_and_the_most_faults() -> None:
    diary = Diary()
    diary.write("2027-01-05 09:00", "note", text="x" * 70_000)
    with pytest.raises(BadInput, match="longer than 65536"):
        read(write(diary))
    with pytest.raises(BadInput) as error:
        read("{\n" * 1000)
    assert len(error.value.faults) == 50


def test_a_line_is_plain_json() -> None:
    page = json.loads(write(batch_of_fifty()).splitlines()[2])
    assert page == {
        "id": ulid(3),
        "device": "phone",
        "who": "ada",
        "at": "2027-01-26T10:00:00Z",
        "entered": "2027-01-26T10:00:00Z",
        "kind": "hatched",
        "data": {"batch": "a", "chicks": 50, "place": "east"},
    }


def test_every_kind_is_told_in_the_docs_with_its_fields() -> None:
    page = (Path(__file__).parents[2] / "docs" / "records.md").read_text(encoding="utf-8")
    told = {}
    for row in page.split("## Kinds")[1].split("## What")[0].splitlines():
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        if row.startswith("| `"):
            told[cells[0].strip("`")] = {field.strip() for field in cells[1].split(",")}
    fields = {
        kind: {
            (info.alias or name) + ("" if info.is_required() else "?")
            for name, info in model.model_fields.items()
        }
        for kind, model in KINDS.items()
    }
    assert told == fields


def test_the_line_shown_in_the_docs_can_be_read() -> None:
    page = (Path(__file__).parents[2] / "docs" / "records.md").read_text(encoding="utf-8")
    (record,) = read(page.split("```json\n")[1].split("```")[0])
    assert record.kind == "found dead"
