"""Backups that are believed because they were read again; restores that change nothing or everything."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.services import keeping
from leyfold.services.keeping import back_up, bring_back
from leyfold.services.sound import Finding, look_over
from leyfold.store.check import examine
from leyfold.store.lock import hold
from leyfold.store.records import open_store, read_records
from logs import made_up, ulid

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "fold"
    folder.mkdir()
    (folder / "farm.toml").write_text("# a farm\n", encoding="utf-8")
    (folder / "aerial.png").write_bytes(bytes(range(256)))
    push(folder, list(made_up(1)[0]))
    return folder


def push(folder: Path, records: list[Record], at: datetime = NOW) -> None:
    store = open_store(folder)
    assert not store.push(records, "phone", at).refused
    store.close()


def note(number: int) -> Record:
    return Record(ulid(9000 + number), "phone", "ada", NOW, NOW, "note", {"text": f"{number}"})


def everything(folder: Path) -> dict[str, bytes]:
    """All that a farm's folder holds but for the lock and what is kept."""
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.is_file()}


def test_a_backup_holds_every_file_and_record(farm: Path) -> None:
    records = read_records(farm)[0]
    store = open_store(farm)  # in use meanwhile
    made = back_up(farm, None, NOW)
    store.push([note(1)], "phone", NOW)
    store.close()
    assert made.files == ("aerial.png", "farm.toml", "records.db")
    assert made.records == len(records)
    assert read_records(made.folder)[0] == records
    assert (made.folder / "aerial.png").read_bytes() == (farm / "aerial.png").read_bytes()
    assert not [p for p in made.folder.parent.iterdir() if p.name.startswith(".")]


def test_a_restore_brings_back_all_and_keeps_what_it_replaces(farm: Path) -> None:
    before = read_records(farm)[0]
    made = back_up(farm, None, NOW)
    push(farm, [note(1)])
    (farm / "farm.toml").write_text("# another\n", encoding="utf-8")
    back = bring_back(farm, made.folder, NOW + timedelta(hours=1))
    assert read_records(farm)[0] == before
    assert (farm / "farm.toml").read_text(encoding="utf-8") == "# a farm\n"
    assert (back.folder / "farm.toml").read_text(encoding="utf-8") == "# another\n"
    assert read_records(back.folder)[0] == (*before, note(1))
    assert not (back.folder / "aerial.png").exists()


def test_after_a_restore_devices_miss_nothing(farm: Path) -> None:
    """The book is another, and no cursor is given out twice: a phone asks anew and sends again."""
    made = back_up(farm, None, NOW)
    push(farm, [note(1), note(2)])
    store = open_store(farm)
    book, cursor = store.book, store.version
    store.close()
    bring_back(farm, made.folder, NOW + timedelta(hours=1))
    store = open_store(farm)
    assert store.book != book
    pushed = store.push([note(1), note(2), note(3)], "phone", NOW)
    assert pushed.accepted == tuple(note(n).id for n in (1, 2, 3))
    assert store.pull(cursor).records == (note(1), note(2), note(3))
    store.close()


def test_a_restore_into_an_empty_folder_is_the_farm(farm: Path, tmp_path: Path) -> None:
    made = back_up(farm, tmp_path / "stick", NOW)
    bring_back(tmp_path / "new", made.folder, NOW)
    assert read_records(tmp_path / "new") == read_records(farm)
    assert (tmp_path / "new" / "farm.toml").read_bytes() == (farm / "farm.toml").read_bytes()


def test_a_damaged_book_is_put_aside_with_its_journal(farm: Path) -> None:
    made = back_up(farm, None, NOW)
    (farm / "records.db").write_bytes(b"mice")
    (farm / "records.db-wal").write_bytes(b"more mice")
    back = bring_back(farm, made.folder, NOW)
    assert (back.folder / "records.db").read_bytes() == b"mice"
    assert (back.folder / "records.db-wal").read_bytes() == b"more mice"
    assert read_records(farm) == read_records(made.folder)


SPOILT: dict[str, tuple[Callable[[Path], object], str]] = {
    "file lost": (lambda b: (b / "farm.toml").unlink(), "missing"),
    "file changed": (lambda b: (b / "farm.toml").write_text("# else\n"), "not what was once copied"),
    "book changed": (lambda b: (b / "records.db").write_bytes(b"mice"), "not what was once copied"),
    "no manifest": (lambda b: (b / "backup.json").unlink(), "no backup"),
    "manifest torn": (lambda b: (b / "backup.json").write_text("{"), "no backup"),
    "manifest reaches out": (
        lambda b: (b / "backup.json").write_text('{"leyfold": 1, "files": {"../x": "0"}}'), "missing",
    ),
    "newer": (lambda b: (b / "backup.json").write_text('{"leyfold": 2, "files": {}}'), "newer"),
}  # fmt: skip


@pytest.mark.parametrize("spoilt", SPOILT)
def test_a_backup_that_is_not_whole_changes_nothing(farm: Path, spoilt: str) -> None:
    made = back_up(farm, None, NOW)
    push(farm, [note(1)])
    before = everything(farm)
    spoil, said = SPOILT[spoilt]
    spoil(made.folder)
    with pytest.raises(BadInput, match=said):
        bring_back(farm, made.folder, NOW)
    assert everything(farm) == before


def test_a_book_that_lies_under_a_true_sum_changes_nothing(farm: Path) -> None:
    """Even where somebody mended the sums of the backup, its records are held to their own."""
    made = back_up(farm, None, NOW)
    store = open_store(farm)
    with store.database.writing() as book:
        book.execute("UPDATE record SET line = replace(line, 'tawny', 'grey')")
    store.close()
    before = everything(farm)
    shutil.copy(farm / "records.db", made.folder / "records.db")
    page = json.loads((made.folder / "backup.json").read_text(encoding="utf-8"))
    page["files"]["records.db"] = keeping._sha(made.folder / "records.db")
    (made.folder / "backup.json").write_text(json.dumps(page), encoding="utf-8")
    with pytest.raises(BadInput, match="damaged"):
        bring_back(farm, made.folder, NOW)
    with pytest.raises(BadInput, match="damaged"):
        back_up(farm, None, NOW + timedelta(hours=1))
    assert everything(farm) == before
    assert len(list((farm / "backups").iterdir())) == 1


def test_no_restore_under_a_running_server(farm: Path) -> None:
    made = back_up(farm, None, NOW)
    with hold(farm) as held:
        held.announce("http://127.0.0.1:8765")
        with pytest.raises(BadInput, match="leyfold serve"):
            bring_back(farm, made.folder, NOW)


def test_a_restore_cut_short_is_told_and_run_again(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = back_up(farm, None, NOW)
    before = read_records(farm)[0]
    push(farm, [note(1)])
    replace_file = os.replace

    def cut(source: Path, to: Path) -> None:
        if Path(to) == farm / "records.db":
            raise KeyboardInterrupt
        replace_file(source, to)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", cut)
        with pytest.raises(KeyboardInterrupt):
            bring_back(farm, made.folder, NOW)
    with pytest.raises(BadInput, match="did not end"):
        read_records(farm)
    bring_back(farm, made.folder, NOW + timedelta(hours=2))
    assert read_records(farm)[0] == before


def test_sound_says_what_is_well_and_what_is_not(farm: Path) -> None:
    def grades(now: datetime) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for one in look_over(farm, now):
            assert isinstance(one, Finding)
            assert one.mend or one.grade == "well"
            found.setdefault(one.what, set()).add(one.grade)
        return found

    assert grades(NOW)["backup"] == {"look"}
    back_up(farm, None, NOW)
    assert set().union(*grades(NOW).values()) == {"well"}
    assert grades(NOW + timedelta(days=4))["devices"] == {"look"}
    assert grades(NOW + timedelta(days=8))["backup"] == {"look"}
    (farm / "records.db").write_bytes((farm / "records.db").read_bytes().replace(b"tawny", b"towny"))
    assert grades(NOW)["book"] == {"wrong"}
    assert main(["sound", str(farm)]) == 2


def test_no_room_is_said(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(farm)
    monkeypatch.setattr("leyfold.services.sound.shutil.disk_usage", lambda _: replace_free(usage))
    assert "look" in {one.grade for one in look_over(farm, NOW) if one.what == "room"}


def replace_free(usage: object) -> object:
    return type("Usage", (), {"free": 1_000_000, "total": getattr(usage, "total", 0)})()


def test_examine_counts(farm: Path) -> None:
    found = examine(farm / "records.db")
    assert found.wrong == ()
    assert found.records == found.cursor == len(read_records(farm)[0])
    assert [device for device, _ in found.devices] == ["phone"]
