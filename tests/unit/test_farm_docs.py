"""The page on the farm's files: what it shows is read without a fault, and no table is left out."""

from __future__ import annotations

import re
from pathlib import Path

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.schema import FarmTable
from leyfold.farm.schema_plan import PlanTable
from leyfold.farm.texts import Texts

PAGE = Path(__file__).parents[2] / "docs" / "farm-file.md"


def test_the_page_is_true_and_whole(tmp_path: Path) -> None:
    farm, plan = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    (tmp_path / "farm.toml").write_text(farm, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(plan, encoding="utf-8")
    read = read_farm(Texts(tmp_path))
    assert len(read_plan(Texts(tmp_path), read).batches) == 3
    for model, text in ((FarmTable, farm), (PlanTable, plan)):
        tables = {field.alias or key for key, field in model.model_fields.items()}
        assert tables == set(re.findall(r"^\[{0,2}([a-z_]+)(?:\.|\]| = [\d])", text, re.MULTILINE)) & tables
