"""The colour of the ring that tells a batch, said in words wherever its birds are."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from pathlib import Path
from shutil import copytree, ignore_patterns
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.services.paper import paper_of
from leyfold.services.round import records, rounds_of

AT = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    demo = Path(__file__).parents[2] / "examples" / "demo"
    copytree(demo, tmp_path / "farm", ignore=ignore_patterns("records.*", ".leyfold"))
    plan = tmp_path / "farm" / "plan.toml"
    lines = plan.read_text(encoding="utf-8").splitlines(keepends=True)
    bare = "".join(line for line in lines if not line.startswith("ring"))
    plan.write_text(bare.replace('id = "march"\n', 'id = "march"\nring = "pale red"\n'), encoding="utf-8")
    return tmp_path / "farm"


def test_a_ring_is_said_with_its_batch_and_no_other(farm: Path) -> None:
    answer = rounds_of(farm, AT)
    morning = records(answer)["rounds"][0]
    parties = [p for call in morning["calls"] for p in call["parties"]]
    assert {p["batch"]: p["ring"] for p in parties if p["ring"]} == {"march": "pale red"}
    assert len({p["batch"] for p in parties}) > 3
    for p in parties:
        assert ("(pale red ring)" in p["who"]) is (p["batch"] == "march")
    (call,) = [c for c in morning["calls"] if any(p["batch"] == "march" for p in c["parties"])]
    assert call["who"] == "march (pale red ring)"


@pytest.mark.parametrize("kind", ["day", "shelter"])
def test_it_stands_on_paper(farm: Path, kind: str) -> None:
    pages = PdfReader(BytesIO(paper_of(farm, kind, AT).content)).pages
    assert any("(pale red ring)" in " ".join(page.extract_text().split()) for page in pages)


@pytest.mark.parametrize("ring", ['""', "3", '"a\\nb"', '"' + 81 * "r" + '"'])
def test_what_is_no_colour_to_be_read_is_refused_by_its_line(farm: Path, ring: str) -> None:
    plan = farm / "plan.toml"
    plan.write_text(plan.read_text(encoding="utf-8").replace('"pale red"', ring), encoding="utf-8")
    texts = Texts(farm)
    with pytest.raises(BadInput) as wrong:
        read_plan(texts, read_farm(texts))
    (fault,) = wrong.value.faults
    line = next(
        n for n, text in enumerate(plan.read_text(encoding="utf-8").splitlines(), 1) if "ring =" in text
    )
    assert (fault.file, fault.line) == ("plan.toml", line)
    assert fault.mend
