"""What `leyfold eggs` cannot answer: refused in words, exit 2, at once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = Path(__file__).parents[2] / "examples" / "demo"

WRONG = {
    "chance above one": (["--chance", "1.2"], ["--chance", "1.2 is no chance", "between 0 and 1"]),
    "certainty": (["--chance", "1"], ["--chance", "no chance"]),
    "no chance at all": (["--chance", "0"], ["--chance", "no chance"]),
    "chance below nothing": (["--chance=-0.5"], ["--chance", "no chance"]),
    "chance that is no number": (["--chance", "nan"], ["--chance", "nan is no chance"]),
    "chance in words": (["--chance", "often"], ["often"]),
    "endless chance": (["--chance", "inf"], ["--chance", "inf is no chance"]),
    "nobody wished": (["--pullets", "0"], ["--pullets", "0 birds"]),
    "fewer than nobody": (["--table-birds=-3"], ["--table-birds", "-3 birds"]),
    "half a bird": (["--pullets", "2.5"], ["--pullets", "2.5 birds"]),
    "more than the incubators hold": (
        ["--pullets", "5000"],
        ["--pullets", "5,000 pullets by 1 Sep 2027", "264 incubator places", "6 sets", "Wish for fewer"],
    ),
    "more than the world holds": (["--table-birds", "1" + "0" * 18], ["--table-birds", "incubator places"]),
    "before any hatch": (["--pullets", "20", "--by", "2027-01-01"], ["--by", "1 Jan 2027", "later day"]),
    "before any killing": (["--table-birds", "20", "--by", "2027-02-01"], ["--by", "killed by 1 Feb 2027"]),
    "no such day": (["--pullets", "20", "--by", "2027-02-30"], ["2027-02-30"]),
}


@pytest.mark.parametrize("case", WRONG)
def test_refused(case: str, capsys: pytest.CaptureFixture[str]) -> None:
    arguments, words = WRONG[case]
    assert main(["eggs", str(DEMO), *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert all(word in err for word in words), err
    assert "Traceback" not in err


def without(where: Path, *heads: str) -> Path:
    """The example farm without the tables that begin with one of these lines."""
    where.mkdir()
    shutil.copy(DEMO / "plan.toml", where)
    kept, skip = [], False
    for row in (DEMO / "farm.toml").read_text(encoding="utf-8").splitlines(keepends=True):
        if row.startswith("["):
            skip = row.startswith(heads)
        kept += [] if skip else [row]
    (where / "farm.toml").write_text("".join(kept), encoding="utf-8")
    return where


def test_no_wish_and_no_number(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = without(tmp_path / "farm", "[[wishes]]")
    assert main(["eggs", str(where)]) == 2
    assert "wishes for no pullets" in capsys.readouterr().err
    assert main(["eggs", str(where), "--pullets", "20"]) == 2
    assert "--by" in capsys.readouterr().err


def test_a_wish_beyond_reach_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = without(tmp_path / "farm")
    text = (where / "farm.toml").read_text(encoding="utf-8")
    (where / "farm.toml").write_text(text.replace("number = 95", "number = 950"), encoding="utf-8")
    assert main(["eggs", str(where)]) == 2
    assert "farm.toml: wishes.laying-flock: 950 pullets" in capsys.readouterr().err


def test_no_farm_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["eggs", str(tmp_path / "nowhere")]) == 2
    assert "farm.toml" in capsys.readouterr().err
