"""The tutorial's commands, typed in its order into one folder, all answer."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from leyfold.cli import main

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "first-season.md"
LEAVES = {"year.svg", "practice-plan.toml", "wall.pdf", "year.ics", "stick"}


def commands() -> list[list[str]]:
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    return [shlex.split(line.strip())[1:] for line in lines if line.startswith("    leyfold ")]


def test_every_command_of_the_tutorial_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "examples" / "demo", tmp_path / "examples" / "demo")
    monkeypatch.chdir(tmp_path)
    typed = commands()
    assert len(typed) > 15
    for words in typed:
        assert main(words) == 0, (words, capsys.readouterr().err)
        assert capsys.readouterr().out.strip(), words
    assert {path.name for path in tmp_path.iterdir()} >= LEAVES


def test_every_page_the_tutorial_sends_to_is_there() -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", PAGE.read_text(encoding="utf-8")):
        assert (PAGE.parent / link).is_file(), link
