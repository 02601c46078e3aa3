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


def test_each_answer_names_the_next_step_and_that_answers_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """From an empty folder, by nothing but what is said: all the way to a plan kept and a morning walked."""
    monkeypatch.chdir(tmp_path)
    asked, done = [["start", "my-farm"]], list[list[str]]()
    while asked:
        words = asked.pop(0)
        assert main(words) == 0, (words, capsys.readouterr().err)
        done.append(words)
        said = capsys.readouterr().out
        for step in re.findall(r"leyfold ((?:check|season|plan|round|reckon|compare) [^,(\n]*)", said):
            if (typed := shlex.split(step)) not in [*done, *asked]:
                asked.append(typed)
    assert [words[0] for words in done] == [
        *("start", "check", "season", "plan", "reckon", "round", "plan", "round"),
    ]
    assert done[-2] == ["plan", "my-farm", "--out", "my-farm/plan.toml"]
    assert done[-1][2] == "--at"


@pytest.mark.parametrize(
    "words", [["paper", "wall"], ["paper", "week"], ["replan"], ["eggs"], ["ahead"], ["feed"], ["learn"]]
)
def test_everything_answers_on_a_farm_just_begun(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["start", "my farm"]) == 0
    assert "leyfold check 'my farm'" in capsys.readouterr().out
    assert main([*words, "my farm"]) == 0, capsys.readouterr().err
    assert capsys.readouterr().out.strip()


def test_every_page_the_tutorial_sends_to_is_there() -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", PAGE.read_text(encoding="utf-8")):
        assert (PAGE.parent / link).is_file(), link
