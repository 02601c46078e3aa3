"""The shell itself: its list of commands, its exit codes."""

from __future__ import annotations

import subprocess
import sys

import pytest

from leyfold.cli import COMMANDS, main


@pytest.mark.parametrize("asked", [[], ["--help"], ["-h"]])
def test_every_command_stands_in_the_list_with_its_sentence(
    asked: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(asked) == 0
    said = capsys.readouterr().out
    for name in COMMANDS:
        (line,) = [line for line in said.splitlines() if line.startswith(f"  {name} ")]
        assert line.endswith(".")


def test_the_list_waits_for_no_library() -> None:
    ask = "import sys; from leyfold.cli import main; main(['--help']); print(*sys.modules, file=sys.stderr)"
    answer = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert {"cyclopts", "rich", "numpy", "pydantic"}.isdisjoint(answer.stderr.split())


@pytest.mark.parametrize("asked", [["seson"], ["season"], ["season", "--no-such-thing", "x"]])
def test_a_slip_is_answered_in_a_line(asked: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(asked) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.strip()) > 10
    assert "Traceback" not in said.err
