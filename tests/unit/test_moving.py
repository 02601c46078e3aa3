"""Leaving with everything and coming back: the same farm; a faulty import changes nothing."""

from __future__ import annotations

import csv
import io
import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm as described
from leyfold.cli import main
from leyfold.log import fold, read, write
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.services.moving import bring_in, write_out
from leyfold.services.spread import ENVELOPE, rows_of, tables_of
from leyfold.store.content import line_of
from leyfold.store.lock import hold
from leyfold.store.records import open_store, read_records
from logs import made_up, ulid

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)
START = datetime(2027, 5, 1, 6, tzinfo=UTC)


def by_id(records: Any) -> list[Record]:
    return sorted(records, key=lambda r: r.id)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "fold"
    folder.mkdir()
    (folder / "farm.toml").write_text("# a farm\n", encoding="utf-8")
    store = open_store(folder)
    odd = Record(ulid(9001), "0042", "12", START, START + timedelta(microseconds=1), "Mond / Licht", {
        "id": "=1+1", "at": None, "": "", "data.": "true", "n": [1, 2.5, {"a": "b"}],
        "text": ' two\nlines, "so" ', "no": "null", "yes": True,
        "digits": "0123", "plus": "+47 12", "\u2028": "\x00",
    })  # fmt: skip
    assert not store.push([*made_up(2)[0], odd], "phone", NOW).refused
    store.close()
    return folder


def test_out_and_in_again_is_the_same_farm(farm: Path, tmp_path: Path) -> None:
    records = read_records(farm)[0]
    out = write_out(farm, tmp_path / "out")
    assert out.records == len(records)
    came = bring_in(tmp_path / "back", out.folder, NOW)
    assert (came.new, came.known, came.files) == (len(records), 0, ("farm.toml",))
    back = read_records(tmp_path / "back")[0]
    assert by_id(back) == by_id(records)
    assert fold(described(), back, NOW) == fold(described(), records, NOW)
    assert write(by_id(back)) == write(by_id(records))


def test_the_tables_alone_bring_everything_back(farm: Path, tmp_path: Path) -> None:
    records = read_records(farm)[0]
    out = write_out(farm, tmp_path / "out")
    (out.folder / "records.jsonl").unlink()
    came = bring_in(tmp_path / "back", out.folder, NOW)
    assert came.new == len(records)
    assert write(by_id(read_records(tmp_path / "back")[0])) == write(by_id(records))


def test_once_more_is_nothing_new(farm: Path, tmp_path: Path) -> None:
    out = write_out(farm, tmp_path / "out")
    (farm / "farm.toml").write_text("# changed since\n", encoding="utf-8")
    before = read_records(farm)
    came = bring_in(farm, out.folder, NOW)
    assert (came.new, came.known, came.differ) == (0, len(before[0]), ("farm.toml",))
    assert read_records(farm) == before
    assert (farm / "farm.toml").read_text(encoding="utf-8") == "# changed since\n"


def test_a_table_is_one_a_person_can_read(farm: Path, tmp_path: Path) -> None:
    out = write_out(farm, tmp_path / "out")
    text = (out.folder / "tables" / "weighed.csv").read_text(encoding="utf-8-sig")
    header, first, *_ = csv.reader(io.StringIO(text, newline=""))
    assert header[:6] == list(ENVELOPE)
    assert {"batch", "weights_kg"} <= set(header)
    assert first[5] == "weighed"
    for table in (out.folder / "tables").iterdir():
        for row in csv.reader(io.StringIO(table.read_text(encoding="utf-8-sig"), newline="")):
            assert not any(cell.startswith(("=", "@", "+")) for cell in row), "a spreadsheet would reckon it"


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
    | st.sampled_from(["1", "1e3", "true", "NaN", "-Infinity", '"', "'", "=A1", "a,b", "\r\n", " x", "[1]"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=5,
)  # fmt: skip
FIELDS = st.sampled_from([*ENVELOPE, "data.at", "", " ", "kg", "=kg", "\n", "ä", "data."])
NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8)


@settings(max_examples=150)
@given(st.lists(st.tuples(NAMES, NAMES, st.dictionaries(FIELDS, VALUES, max_size=4)), min_size=1, max_size=4))
def test_any_record_goes_through_a_table(found: list[tuple[str, str, dict[str, Any]]]) -> None:
    records = [
        Record(ulid(n), who, who, START, START, kind, data) for n, (who, kind, data) in enumerate(found)
    ]
    back = [r for name, text in tables_of(records).items() for _, line in rows_of(name, text)
            for r in read(line + "\n")]  # fmt: skip
    assert [line_of(r) for r in by_id(back)] == [line_of(r) for r in records]


WRONG_LINE = '{"id": "nothing"}\n'


def test_one_faulty_line_changes_nothing_and_is_named(farm: Path, tmp_path: Path) -> None:
    out = write_out(farm, tmp_path / "out")
    with (out.folder / "records.jsonl").open("a", encoding="utf-8") as file:
        file.write(WRONG_LINE)
    lines = (out.folder / "records.jsonl").read_text(encoding="utf-8").count("\n")
    for target in (tmp_path / "back", farm):
        there = target.exists()
        before = read_records(target) if there else None
        with pytest.raises(BadInput) as error:
            bring_in(target, out.folder, NOW)
        assert error.value.faults[0].line == lines
        assert (read_records(target) if there else None) == before
        assert target.exists() == there


def test_a_faulty_cell_is_named_by_its_line(farm: Path, tmp_path: Path) -> None:
    out = write_out(farm, tmp_path / "out")
    table = out.folder / "tables" / "counted.csv"
    rows = list(csv.reader(io.StringIO(table.read_text(encoding="utf-8-sig"), newline="")))
    rows[2][rows[0].index("heads")] = "many"
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    table.write_text(text.getvalue(), encoding="utf-8", newline="")
    with pytest.raises(BadInput) as error:
        bring_in(tmp_path / "back", table, NOW)
    fault = error.value.faults[0]
    assert (fault.line, fault.field) == (3, "heads")
    assert not (tmp_path / "back").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no table of records"),
        ("a,b\n1,2\n", "no table of records"),
        (",".join([*ENVELOPE, "kg", "kg"]) + "\n", "no table of records"),
        (",".join(ENVELOPE) + "\n1,2\n", "2 cells where the first has 6"),
        (",".join(ENVELOPE) + '\n"1"x,2,3,4,5,6\n', "not CSV"),
        (",".join(ENVELOPE) + "\n1,2,3,4,5,6\n", "ULID"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path: Path, text: str, said: str) -> None:
    table = tmp_path / "eggs.csv"
    table.write_text(text, encoding="utf-8", newline="")
    with pytest.raises(BadInput, match=said):
        bring_in(tmp_path / "back", table, NOW)
    assert not (tmp_path / "back").exists()


def test_a_record_that_says_something_else_changes_nothing(farm: Path, tmp_path: Path) -> None:
    """One id, two contents: the book's stays, and none of the others is taken."""
    records = read_records(farm)[0]
    other = replace(records[0], who="somebody else")
    new = replace(records[1], id=ulid(9500))
    source = tmp_path / "records.jsonl"
    source.write_text(write([new, other]), encoding="utf-8")
    with pytest.raises(BadInput, match="says something else"):
        bring_in(farm, source, NOW)
    assert read_records(farm)[0] == records


def test_not_under_a_running_server_and_not_over_a_folder(farm: Path, tmp_path: Path) -> None:
    out = write_out(farm, tmp_path / "out")
    with hold(farm) as held:
        held.announce("http://127.0.0.1:8765")
        with pytest.raises(BadInput, match="leyfold serve"):
            bring_in(farm, out.folder, NOW)
    with pytest.raises(BadInput, match="not an empty folder"):
        write_out(farm, out.folder)
    with pytest.raises(BadInput, match="no records to bring in"):
        bring_in(farm, tmp_path / "nowhere", NOW)


def test_the_commands(farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.rmtree(tmp_path / "out", ignore_errors=True)
    assert main(["export", str(farm), str(tmp_path / "out"), "--json"]) == 0
    assert main(["import", str(tmp_path / "back"), str(tmp_path / "out"), "--json"]) == 0
    assert '"known": 0' in capsys.readouterr().out
    assert main(["import", str(tmp_path / "back"), str(tmp_path / "nowhere")]) == 2
    assert main(["export", str(tmp_path / "nowhere"), str(tmp_path / "out2")]) == 2
    assert not (tmp_path / "out2").exists()
