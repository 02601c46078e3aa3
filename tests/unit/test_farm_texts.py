"""The farm's folder: a write is whole or not at all, a stale one is refused, every version is kept."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest
import tomlkit

from leyfold.farm.texts import OWN, Texts, folder_of
from leyfold.nouns.errors import BadInput, Fault


@pytest.fixture
def texts(tmp_path: Path) -> Texts:
    (tmp_path / "farm.toml").write_text("a = 1  # one\n", encoding="utf-8")
    return Texts(tmp_path)


def test_read_write_read(texts: Texts) -> None:
    first = texts.read("farm.toml")
    second = texts.write("farm.toml", "a = 2\n", first.sha)
    assert texts.read("farm.toml") == second
    assert second.text == "a = 2\n"


def test_a_farm_is_named_by_its_folder_or_a_file_of_its_own(texts: Texts) -> None:
    for name in OWN:
        (texts.folder / name).touch()
        assert folder_of(texts.folder / name) == texts.folder
    assert folder_of(texts.folder) == texts.folder
    # What lies in another plan would be passed over in silence, and the farm's own told in its name.
    (texts.folder / "june.toml").touch()
    with pytest.raises(BadInput, match=r"june\.toml.*leyfold compare"):
        folder_of(texts.folder / "june.toml")


def test_every_version_is_kept_the_first_one_too(texts: Texts) -> None:
    sha = texts.read("farm.toml").sha
    for number in (2, 3):
        sha = texts.write("farm.toml", f"a = {number}\n", sha).sha
    kept = [path.read_text(encoding="utf-8") for path in texts.kept("farm.toml")]
    assert kept == ["a = 1  # one\n", "a = 2\n", "a = 3\n"]


def test_an_edit_by_another_program_is_kept_when_written_over(texts: Texts) -> None:
    sha = texts.write("farm.toml", "a = 2\n", texts.read("farm.toml").sha).sha
    (texts.folder / "farm.toml").write_text("a = 5\n", encoding="utf-8")
    with pytest.raises(BadInput, match="changed by somebody else"):
        texts.write("farm.toml", "a = 3\n", sha)
    assert texts.read("farm.toml").text == "a = 5\n"
    texts.write("farm.toml", "a = 6\n", texts.read("farm.toml").sha)
    kept = [path.read_text(encoding="utf-8") for path in texts.kept("farm.toml")]
    assert kept == ["a = 1  # one\n", "a = 2\n", "a = 5\n", "a = 6\n"]


def test_a_new_file_must_be_new(texts: Texts) -> None:
    texts.write("plan.toml", "b = 1\n", None)
    with pytest.raises(BadInput, match="there already"):
        texts.write("plan.toml", "b = 2\n", None)
    with pytest.raises(BadInput, match="changed by somebody else"):
        texts.write("lost.toml", "c = 1\n", "0" * 64)
    assert not texts.has("lost.toml")


def test_a_write_that_breaks_off_changes_nothing(texts: Texts, monkeypatch: pytest.MonkeyPatch) -> None:
    sha = texts.read("farm.toml").sha

    def full_disk(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(BadInput, match="No space"):
        texts.write("farm.toml", "a = 2\n", sha)
    monkeypatch.undo()
    assert texts.read("farm.toml").text == "a = 1  # one\n"
    assert [p.name for p in texts.folder.rglob("*") if p.name.startswith(".farm")] == []


def test_of_two_writers_at_once_one_is_refused(texts: Texts) -> None:
    sha = texts.read("farm.toml").sha
    outcomes: list[str] = []
    gate = threading.Barrier(8)

    def writer(number: int) -> None:
        gate.wait()
        try:
            texts.write("farm.toml", f"a = {number}\n", sha)
            outcomes.append("written")
        except BadInput:
            outcomes.append("refused")

    threads = [threading.Thread(target=writer, args=(n,)) for n in range(10, 18)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["refused"] * 7 + ["written"]


def test_comments_survive_an_edit(texts: Texts) -> None:
    first = texts.read("farm.toml")
    page = tomlkit.parse(first.text)
    page["a"] = 7
    assert texts.write("farm.toml", tomlkit.dumps(page), first.sha).text == "a = 7  # one\n"


def test_marks_of_other_systems_are_no_part_of_the_text(texts: Texts) -> None:
    (texts.folder / "farm.toml").write_bytes(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n")
    assert texts.read("farm.toml").text == "a = 1\nb = 2\n"


def test_a_file_that_is_no_text_is_named_with_its_line(texts: Texts) -> None:
    (texts.folder / "farm.toml").write_bytes(b"a = 1\nb = '\xe9'\n")
    with pytest.raises(BadInput) as refused:
        texts.read("farm.toml")
    assert refused.value.faults[0].line == 2


@pytest.mark.parametrize("name", ["../farm.toml", "/etc/passwd", "a/b.toml", "", ".leyfold", ".."])
def test_only_plain_names(texts: Texts, name: str) -> None:
    with pytest.raises(ValueError, match="plain file name"):
        texts.read(name)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="leyfold start"):
        Texts(tmp_path / "nowhere").read("farm.toml")
    (tmp_path / "farm.toml").mkdir()
    with pytest.raises(BadInput, match="could not be read"):
        Texts(tmp_path).read("farm.toml")


@pytest.mark.skipif(os.name == "nt", reason="no pipes")
def test_neither_a_pipe_nor_a_device_is_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "farm.toml")
    (tmp_path / "plan.toml").symlink_to("/dev/zero")
    for name in ("farm.toml", "plan.toml"):
        with pytest.raises(BadInput, match="could not be read"):
            Texts(tmp_path).read(name)


@pytest.mark.skipif(os.name == "nt", reason="no links")
def test_a_link_stays_a_link(texts: Texts, tmp_path_factory: pytest.TempPathFactory) -> None:
    real = tmp_path_factory.mktemp("elsewhere") / "real.toml"
    real.write_text("a = 1\n", encoding="utf-8")
    (texts.folder / "plan.toml").symlink_to(real)
    texts.write("plan.toml", "a = 2\n", texts.read("plan.toml").sha)
    assert (texts.folder / "plan.toml").is_symlink()
    assert real.read_text(encoding="utf-8") == "a = 2\n"


def test_a_farm_file_too_big_for_a_hand_is_refused_unread(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_bytes(b"#" * 4_000_001)
    with pytest.raises(BadInput, match="4 MB large"):
        Texts(tmp_path).read("farm.toml")
    (tmp_path / "farm.toml").write_bytes(b"#" * 4_000_000)
    assert Texts(tmp_path).read("farm.toml").text


def test_a_fault_shows_what_cannot_be_seen_and_commands_no_terminal() -> None:
    told = str(Fault("farm.toml", "lines.\x1b[31mx", "bad \u202e name.", "Mend\u00a0it."))
    assert told == "farm.toml: lines.\\x1b[31mx: bad \\u202e name. Mend\u00a0it."
