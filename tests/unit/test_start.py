"""`leyfold start`: a folder that checks and runs as it is, and nothing overwritten."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.services.start import start_farm


def test_what_is_written_checks_and_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "new" / "farm"
    assert main(["start", str(folder)]) == 0
    assert main(["check", str(folder)]) == 0
    assert main(["check", str(folder / "farm.toml")]) == 0
    capsys.readouterr()
    assert main(["season", "--json", str(folder)]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert data["totals"]["eggs_set"] == 130


@pytest.mark.parametrize(
    ("today", "year"), [(date(2027, 2, 28), 2027), (date(2027, 3, 1), 2028), (date(2027, 12, 31), 2028)]
)
def test_dates_lie_ahead(tmp_path: Path, today: date, year: int) -> None:
    start_farm(tmp_path, today)
    assert f"on = {year}-03-01" in (tmp_path / "plan.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("there", ["farm.toml", "plan.toml"])
def test_nothing_is_overwritten_and_nothing_half_written(
    tmp_path: Path, there: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / there).write_text("mine\n", encoding="utf-8")
    assert main(["start", str(tmp_path)]) == 2
    assert f"{there} is there already" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == [there]
    assert (tmp_path / there).read_text(encoding="utf-8") == "mine\n"


def test_a_place_that_cannot_hold_a_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="cannot be used"):
        start_farm(tmp_path / "file" / "farm", date(2027, 1, 1))


def test_the_first_versions_are_kept(tmp_path: Path) -> None:
    start_farm(tmp_path, date(2027, 1, 1))
    assert [len(Texts(tmp_path).kept(name)) for name in ("farm.toml", "plan.toml")] == [1, 1]
