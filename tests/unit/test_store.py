"""The book of records: kept once, told apart, handed on by cursor, refused when it is not what it was."""

from __future__ import annotations

import sqlite3
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.log.lines import read, write
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.store.content import DEEPEST, LONGEST_BYTES, line_of, record_of
from leyfold.store.database import APPLICATION_ID, VERSION, Database
from leyfold.store.lock import Busy, hold, serving
from leyfold.store.records import Store, open_store, read_records
from logs import made_up, ulid

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path)
    yield opened
    opened.close()


def note(number: int, text: str = "rain", **other: Any) -> Record:
    when = datetime(2027, 5, 1, tzinfo=UTC) + timedelta(minutes=number)
    record = Record(ulid(number), "phone", "ada", when, when, "note", {"text": text})
    return replace(record, **other)


# --- pushing and pulling ------------------------------------------------------------------------------


def test_what_was_pushed_comes_back_once_however_often_it_is_sent(store: Store) -> None:
    diary = list(made_up(3)[0])
    first = store.push(diary, "phone", NOW)
    again = store.push(diary, "phone", NOW)
    assert first.accepted == tuple(r.id for r in diary)
    assert set(again.duplicates) == set(first.accepted)
    assert again.accepted == again.refused == ()
    assert again.cursor == first.cursor == store.version == len(diary)
    assert store.all() == tuple(diary)


def test_an_id_with_another_content_is_refused_and_the_first_stays(store: Store) -> None:
    store.push([note(1)], "phone", NOW)
    pushed = store.push([note(1, "sun"), note(2)], "tablet", NOW)
    assert pushed.accepted == (ulid(2),)
    assert [r.id for r in pushed.refused] == [ulid(1)]
    assert "correction" in pushed.refused[0].mend
    within = store.push([note(3), note(3, "sun")], "tablet", NOW)
    assert within.accepted == (ulid(3),)
    assert [r.id for r in within.refused] == [ulid(3)]
    assert store.all() == (note(1), note(2), note(3))


def test_content_is_told_apart_to_the_letter(store: Store) -> None:
    """Python takes 1, 1.0 and True for equal; a record is not."""
    store.push([note(1, kind="odd", data={"n": 1})], "phone", NOW)
    for other in (1.0, True):
        assert store.push([note(1, kind="odd", data={"n": other})], "phone", NOW).refused
    same = note(1, kind="odd", data={"n": 1})
    assert store.push([same], "phone", NOW).duplicates


def test_pages_hold_every_record_once_and_new_ones_come_after(store: Store) -> None:
    records = [note(n) for n in range(1, 24)]
    store.push(records[:20], "phone", NOW)
    seen: list[Record] = []
    cursor, more = 0, True
    while more:
        page = store.pull(cursor, 7)
        seen += page.records
        cursor, more = page.cursor, page.more
    assert seen == records[:20]
    assert store.pull(cursor) == replace(store.pull(cursor), records=(), cursor=cursor, more=False)
    store.push(records[20:], "tablet", NOW)
    assert store.pull(cursor).records == tuple(records[20:])
    assert store.all(since=cursor) == tuple(records[20:])


def test_a_kind_of_a_newer_version_is_kept_as_it_came(store: Store) -> None:
    odd = note(1, kind="moonlight", data={"lux": 0.25, "deep": [{"a": None}, "ä\u2028\x00", True]})
    assert store.push([odd], "phone", NOW).accepted
    assert store.all() == (odd,)


def test_what_its_kind_rules_out_is_refused_and_the_others_are_kept(store: Store) -> None:
    wrong = note(1, kind="eggs", data={"place": "coop", "eggs": "many"})
    pushed = store.push([wrong, note(2)], "phone", NOW)
    assert pushed.accepted == (ulid(2),)
    assert pushed.refused[0].why.startswith("eggs: ")


def test_whole_keeps_all_or_nothing(store: Store) -> None:
    wrong = note(1, kind="eggs", data={"place": "coop", "eggs": "many"})
    with pytest.raises(BadInput) as error:
        store.push([note(2), wrong], "phone", NOW, whole=True)
    assert error.value.faults[0].feature == ulid(1)
    assert store.all() == ()
    assert store.version == 0


def test_a_clock_that_is_ahead_is_told_and_nothing_lost(store: Store) -> None:
    late = NOW + timedelta(days=900)
    pushed = store.push([note(1, at=late, entered=late), note(2)], "phone", NOW)
    assert pushed.accepted == (ulid(1), ulid(2))
    assert [f.id for f in pushed.flagged] == [ulid(1)]
    assert store.push([note(1, at=late, entered=late)], "phone", NOW).flagged == ()


@pytest.mark.parametrize(
    "data",
    [
        {"text": "x" * LONGEST_BYTES},
        {"text": "\ud800"},
        {"text": float("inf")},
        {"n": 10**5000},
        {"text": object()},
    ],
)
def test_what_cannot_be_kept_is_refused(store: Store, data: dict[str, Any]) -> None:
    pushed = store.push([note(1, kind="odd", data=data), note(2)], "phone", NOW)
    assert pushed.accepted == (ulid(2),)
    assert pushed.refused[0].why
    assert pushed.refused[0].mend


def test_depth_has_its_limit(store: Store) -> None:
    def nested(levels: int) -> dict[str, Any]:
        inner: Any = 1
        for _ in range(levels):
            inner = {"a": inner}
        return dict(inner)

    assert store.push([note(1, kind="odd", data=nested(DEEPEST))], "phone", NOW).accepted
    assert store.push([note(2, kind="odd", data=nested(DEEPEST + 1))], "phone", NOW).refused
    assert store.push([note(3, kind="odd", data=nested(100_000))], "phone", NOW).refused


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", max_size=3), inner, max_size=3)
    ),
    max_leaves=8,
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.text("abc", max_size=3), VALUES, max_size=4))
def test_a_line_is_a_record_and_back(data: dict[str, Any]) -> None:
    record = note(1, kind="odd", data=data)
    assert record_of(line_of(record)) == record
    assert read(write([record])) == (record,)


def test_many_at_once_lose_nothing(tmp_path: Path) -> None:
    """Eight threads push the same and their own: each once, cursors without a gap."""
    store = open_store(tmp_path)
    shared = [note(n) for n in range(1, 30)]

    def work(thread: int) -> None:
        for n, record in enumerate(shared):
            store.push([record, note(1000 * thread + n)], f"phone {thread}", NOW)
            store.pull(0, 5)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(1, 9)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    held = store.all()
    assert len(held) == len({r.id for r in held}) == store.version == 29 + 8 * 29
    store.close()


# --- the file -----------------------------------------------------------------------------------------


def test_the_disk_is_asked_for_all_it_can_give(store: Store) -> None:
    with store.database.writing() as book:
        names = ("journal_mode", "synchronous", "foreign_keys", "user_version", "application_id")
        asked = [book.execute(f"PRAGMA {name}").fetchone()[0] for name in names]
    assert asked == ["wal", 2, 1, VERSION, APPLICATION_ID]  # 2 is FULL


def test_only_the_farmer_reads_it(tmp_path: Path) -> None:
    open_store(tmp_path).close()
    assert stat.S_IMODE((tmp_path / "records.db").stat().st_mode) == 0o600


def test_version_is_that_of_the_last_migration() -> None:
    versions = Path(__file__).parents[2] / "src/leyfold/store/migrations/versions"
    assert sorted(int(p.name[1:5]) for p in versions.glob("v*.py")) == list(range(1, VERSION + 1))


def test_looking_needs_no_sqlalchemy_and_makes_nothing(tmp_path: Path) -> None:
    open_store(tmp_path).close()
    before = sorted(p.name for p in tmp_path.iterdir())
    ask = (
        "import sys; from pathlib import Path; from leyfold.store.records import read_records, open_store;"
        f"read_records(Path({str(tmp_path)!r})); open_store(Path({str(tmp_path)!r})).close();"
        "print(*{name.partition('.')[0] for name in sys.modules})"
    )
    said = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True).stdout
    assert not {"sqlalchemy", "alembic", "fastapi"} & set(said.split())
    assert sorted(p.name for p in tmp_path.iterdir()) == before


def test_looking_while_another_writes_sees_the_last_commit(store: Store, tmp_path: Path) -> None:
    store.push([note(1)], "phone", NOW)
    with store.database.writing() as book:
        book.execute("UPDATE about SET value = 'x' WHERE name = 'book'")
        records, mark = read_records(tmp_path)
    assert records == (note(1),)
    store.push([note(2)], "phone", NOW)
    assert read_records(tmp_path)[1] != mark


def test_a_block_that_fails_leaves_nothing(store: Store) -> None:
    def half_done() -> None:
        with store.database.writing() as book:
            book.execute("DELETE FROM about")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half_done()
    assert store.book
    assert store.push([note(1)], "phone", NOW).accepted


def _newer(path: Path) -> None:
    with sqlite3.connect(path) as file:
        file.execute(f"PRAGMA user_version={VERSION + 1}")
    file.close()


def _foreign(path: Path) -> None:
    path.unlink()
    with sqlite3.connect(path) as file:
        file.execute("CREATE TABLE hens (name)")
    file.close()


def _journal_alone(path: Path) -> None:
    path.unlink()
    Path(f"{path}-wal").write_bytes(b"x" * 4096)


WRONGS: dict[str, tuple[Callable[[Path], object], str]] = {
    "newer": (_newer, "newer"),
    "foreign": (_foreign, "not made by Leyfold"),
    "no database": (lambda path: path.write_text("hens and more hens", encoding="utf-8"), "not made by"),
    "cut to nothing": (lambda path: path.write_bytes(b""), "damaged"),
    "cut short": (lambda path: path.write_bytes(path.read_bytes()[:5000]), "damaged"),
    "head alone": (lambda path: path.write_bytes(path.read_bytes()[:60]), "damaged"),
    "journal alone": (_journal_alone, "journal"),
    "a folder": (lambda path: (path.unlink(), path.mkdir()), "cannot be opened"),
}


@pytest.mark.parametrize("wrong", WRONGS)
def test_a_file_that_is_not_ours_is_reported_and_left_alone(tmp_path: Path, wrong: str) -> None:
    open_store(tmp_path).close()
    path = tmp_path / "records.db"
    spoil, said = WRONGS[wrong]
    spoil(path)
    before = path.read_bytes() if path.is_file() else None
    for use in (lambda: open_store(tmp_path).push([note(1)], "phone", NOW), lambda: read_records(tmp_path)):
        with pytest.raises(BadInput) as error:
            use()
        (fault,) = error.value.faults
        assert said in fault.wrong
        assert fault.mend
        assert (path.read_bytes() if path.is_file() else None) == before


def test_a_table_under_another_name_is_told(tmp_path: Path) -> None:
    """A bit flipped in the names of tables and columns, where SQLite itself sees nothing wrong."""
    open_store(tmp_path).close()
    path = tmp_path / "records.db"
    sound = path.read_bytes()
    for name in (b"sha256 BLOB", b"chain BLOB", b"TABLE about"):
        assert name in sound
        path.write_bytes(sound.replace(name, name.replace(b"a", b"c", 1)))
        with pytest.raises(BadInput, match=r"damaged|not made by"):
            read_records(tmp_path)


def test_a_record_changed_behind_our_back_is_never_shown(tmp_path: Path) -> None:
    for change in (
        "UPDATE record SET line = replace(line, 'rain', 'sun') WHERE seq = 2",
        "UPDATE record SET received = '2020-01-01T00:00:00Z' WHERE seq = 2",
        "UPDATE record SET id = '01JNP4V0W3T7QK1M2X5B8C9D0E' WHERE seq = 2",
        "UPDATE record SET seq = 9 WHERE seq = 2",
        "DELETE FROM record WHERE seq = 2",
        "DELETE FROM record WHERE seq = 3",
        "DELETE FROM record",
        "UPDATE record SET line = NULL WHERE seq = 2",
        "UPDATE record SET line = x'ff00' WHERE seq = 2",
    ):
        folder = tmp_path / str(abs(hash(change)))
        folder.mkdir()
        store = open_store(folder)
        store.push([note(n) for n in (1, 2, 3)], "phone", NOW)
        try:
            with store.database.writing() as book:
                book.execute(change)
        except sqlite3.IntegrityError:
            continue
        with pytest.raises(BadInput, match="not what was once written"):
            store.all()
        with pytest.raises(BadInput):
            store.pull(0)
        store.close()


# --- the lock -----------------------------------------------------------------------------------------


def test_one_writer_at_a_time_and_where_it_is(tmp_path: Path) -> None:
    with hold(tmp_path) as held:
        with pytest.raises(Busy) as busy, hold(tmp_path):
            pass
        assert busy.value.serving is None
        token = held.announce("http://127.0.0.1:8765", ca="ca.pem")
        with pytest.raises(Busy) as busy, hold(tmp_path, wait_s=60):
            pass
        there = busy.value.serving
        assert there is not None
        assert (there.address, there.token, there.ca) == ("http://127.0.0.1:8765", token, "ca.pem")
        assert stat.S_IMODE((tmp_path / ".leyfold" / "server.json").stat().st_mode) == 0o600
    assert serving(tmp_path) is None
    with hold(tmp_path):
        pass


def test_a_command_waits_for_another_to_end(tmp_path: Path) -> None:
    first = hold(tmp_path)
    first.__enter__()
    threading.Timer(0.2, lambda: first.__exit__(None, None, None)).start()
    with hold(tmp_path, wait_s=10):
        pass


def test_the_lock_of_a_program_that_died_is_free(tmp_path: Path) -> None:
    ask = (
        "import os; from pathlib import Path; from leyfold.store.lock import hold\n"
        f"with hold(Path({str(tmp_path)!r})) as held:\n held.announce('http://127.0.0.1:1'); os._exit(1)"
    )
    subprocess.run([sys.executable, "-c", ask], check=False)
    assert serving(tmp_path) is not None
    with hold(tmp_path):
        assert serving(tmp_path) is None


def test_a_database_for_looking_is_never_made(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file"):
        Database(tmp_path, write=False)
    assert not list(tmp_path.iterdir())
