"""Every version that was ever stored opens in this one, with all its records.

`stored/vNNNN.sql` is the book of `stored/records.jsonl` as that version kept it: written once, when the
version was made (`python tests/faults/test_upgrades.py`), and never changed.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from leyfold.log.lines import read
from leyfold.nouns.errors import BadInput
from leyfold.store.check import examine
from leyfold.store.database import APPLICATION_ID, VERSION, Database
from leyfold.store.migrate import migrate
from leyfold.store.records import Store, open_store, read_records

STORED = Path(__file__).parent / "stored"
NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)
RECORDS = read((STORED / "records.jsonl").read_text(encoding="utf-8"))


def lay_out(folder: Path, version: int) -> Path:
    """The book as the version left it."""
    path = folder / "records.db"
    with closing(sqlite3.connect(path)) as book:
        book.executescript((STORED / f"v{version:04d}.sql").read_text(encoding="utf-8"))
        book.execute(f"PRAGMA application_id={APPLICATION_ID}")
        book.execute(f"PRAGMA user_version={version}")
    return path


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_every_stored_version_upgrades(tmp_path: Path, version: int) -> None:
    path = lay_out(tmp_path, version)
    assert read_records(tmp_path)[0] == RECORDS, "it is read as it is"
    store = open_store(tmp_path)
    assert store.all() == RECORDS
    assert store.version == len(RECORDS)
    more = read((STORED / "records.jsonl").read_text(encoding="utf-8").replace('"id": "0', '"id": "1'))
    assert len(store.push(more, "phone", NOW).accepted) == len(RECORDS)
    store.close()
    found = examine(path)
    assert (found.version, found.wrong) == (VERSION, ())
    kept = tmp_path / ".leyfold" / "records.db" / f"before-version-{VERSION}.db"
    assert kept.exists() == (version < VERSION)
    if kept.exists():
        assert examine(kept).version == version
        assert examine(kept).records == len(RECORDS)


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_upgraded_is_as_if_made_new(tmp_path: Path, version: int) -> None:
    """The same tables and indices, whichever way they came."""

    def shape(folder: Path) -> set[tuple[str, ...]]:
        open_store(folder).close()
        with closing(sqlite3.connect(folder / "records.db")) as book:
            tables = [name for (name,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            return {(table, *map(str, column)) for table in tables
                    for column in book.execute(f"SELECT * FROM pragma_table_info('{table}')")} | {
                (table, *map(str, index[1:])) for table in tables
                for index in book.execute(f"SELECT * FROM pragma_index_list('{table}')")}  # fmt: skip

    new = tmp_path / "new"
    new.mkdir()
    lay_out(tmp_path, version)
    assert shape(tmp_path) == shape(new)


def test_an_upgrade_that_fails_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = lay_out(tmp_path, 1)

    def fails(connection: sqlite3.Connection, _: int) -> None:
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("DELETE FROM record")
        connection.execute("CREATE TABLE half (done)")
        raise sqlite3.OperationalError("the power fails")

    monkeypatch.setattr("leyfold.store.migrate.migrate", fails)
    with pytest.raises((sqlite3.OperationalError, BadInput)):
        open_store(tmp_path)
    monkeypatch.undo()
    assert examine(path).version == 1
    assert read_records(tmp_path)[0] == RECORDS
    store = open_store(tmp_path)
    assert store.all() == RECORDS
    store.close()


def test_a_copy_made_by_hand_is_a_book(tmp_path: Path) -> None:
    lay_out(tmp_path, VERSION)
    (tmp_path / "other").mkdir()
    shutil.copy(tmp_path / "records.db", tmp_path / "other" / "records.db")
    assert read_records(tmp_path / "other")[0] == RECORDS


def _freeze() -> None:
    """Write down how each version keeps the records, where that is not written yet."""
    for version in range(1, VERSION + 1):
        page = STORED / f"v{version:04d}.sql"
        if page.exists():
            continue
        with tempfile.TemporaryDirectory() as name:
            path = Path(name) / "records.db"
            with closing(sqlite3.connect(path, isolation_level=None)) as book:
                book.execute(f"PRAGMA application_id={APPLICATION_ID}")
                migrate(book, version)
            kept = Store(Database(path.parent, write=False))
            kept.push(RECORDS, "phone", NOW)
            kept.close()
            with closing(sqlite3.connect(path)) as book:
                page.write_text("\n".join(book.iterdump()) + "\n", encoding="utf-8")
            print(page.name)


if __name__ == "__main__":
    _freeze()
