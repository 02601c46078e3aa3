"""[planning] of farm.toml that cannot be: refused with its key and a mend."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput

DEMO = Path(__file__).parents[2] / "examples" / "demo"


def _demo_with(where: Path, table: str) -> None:
    """The demo farm with another [planning]."""
    shutil.copytree(DEMO, where, dirs_exist_ok=True)
    farm = where / "farm.toml"
    text = farm.read_text(encoding="utf-8")
    own = text[text.index("[planning]") : text.index("[prices]")]
    farm.write_text(text.replace(own, "") + f"\n{table}\n", encoding="utf-8")


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
    _demo_with(tmp_path, table)
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    (fault,) = refused.value.faults
    assert fault.field == field
    assert fault.mend


def test_no_weekday_at_all_is_told_as_nothing(tmp_path: Path) -> None:
    _demo_with(tmp_path, "[planning]\nkill_weekdays = []")
    with pytest.raises(BadInput) as refused:
        read_farm(Texts(tmp_path))
    (fault,) = refused.value.faults
    assert fault.wrong == "this is empty."
