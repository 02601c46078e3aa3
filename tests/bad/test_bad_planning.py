"""[planning] of farm.toml that cannot be: refused with its key and a mend."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput

DEMO = Path(__file__).parents[2] / "examples" / "demo"


@pytest.mark.parametrize(
    ("table", "field"),
    [
        ("[planning]\ntray = 0", "planning.tray"),
        ("[planning]\nkill_weekdays = []", "planning.kill_weekdays"),
        ('[planning]\nset_weekdays = ["someday"]', "planning.set_weekdays[1]"),
        ("[planning]\nset_from = 2027-05-02\nset_until = 2027-05-01", "planning.set_until"),
        ("[planning]\ngrass_from = 2027-05-02\ngrass_until = 2027-05-01", "planning.grass_until"),
        ("[[planning.busy]]\nfrom = 2027-05-02\nto = 2027-05-01\nperson = 'odd'", "planning.busy[1].to"),
        ("[[planning.busy]]\nfrom = 2027-05-02\nto = 2027-05-03\nperson = 'uno'", "planning.busy[1].person"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, table: str, field: str) -> None:
    shutil.copytree(DEMO, tmp_path, dirs_exist_ok=True)
    farm = tmp_path / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8") + "\n" + table + "\n", encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    (fault,) = refused.value.faults
    assert fault.field == field
    assert fault.mend


def test_no_weekday_at_all_is_told_as_nothing(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path, dirs_exist_ok=True)
    farm = tmp_path / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8") + "\n[planning]\nkill_weekdays = []\n", encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    (fault,) = refused.value.faults
    assert fault.wrong == "this is empty."
