"""What `leyfold paper` refuses: in words, with exit 2, and nothing half-written."""

from __future__ import annotations

from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = str(Path(__file__).parents[2] / "examples" / "demo")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["wal", DEMO], "wall"),
        (["weak", DEMO, "--on", "2027-05-10"], "week"),
        (["quilt", DEMO], "There are"),
        (["week", DEMO, "--on", "2031-01-01"], "no day of this season"),
        (["week", DEMO, "--on", "soon"], "soon"),
        (["vet", DEMO], "--batch"),
        (["vet", DEMO, "--batch", "marsh"], "march"),
        (["kill", DEMO, "--on", "2027-12-20"], "no killing day"),
        (["kill", DEMO, "--batch", "old-flock"], "no killing day"),
        (["week", DEMO, "--size", "a5"], "a4"),
        (["mix", DEMO, "--ration", "nothing-such"], "ration"),
        (["week", DEMO + "/nowhere"], "farm.toml"),
    ],
)
def test_refused(words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out.pdf"
    assert main(["paper", *words, "--out", str(out)]) == 2
    told = capsys.readouterr()
    assert said in told.err
    assert "Traceback" not in told.err
    assert list(tmp_path.iterdir()) == []


def test_where_nothing_can_be_written_nothing_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for out in (tmp_path / "no" / "folder.pdf", tmp_path):
        assert main(["paper", "calendar", DEMO, "--out", str(out)]) == 2
        assert "--out" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_what_is_asked_for_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for kind, starts in {"calendar": b"BEGIN:VCALENDAR", "workbook": b"PK", "mix": b"%PDF"}.items():
        out = tmp_path / kind
        assert main(["paper", kind, DEMO, "--out", str(out)]) == 0
        assert out.read_bytes().startswith(starts)
        assert str(out) in capsys.readouterr().out
