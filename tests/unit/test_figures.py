"""`leyfold figures`: what a name finds, and what a wrong one is told."""

from __future__ import annotations

import json

import pytest

from leyfold.cli.figures import figures
from leyfold.farm.tables import TABLES, all_figures
from leyfold.nouns.errors import BadInput
from leyfold.services.figures import find


def paths(name: str | None = None) -> list[str]:
    return [f"{one.table}.{one.name}" for one in find(name)]


def test_without_a_name_all_figures_are_listed_once() -> None:
    assert paths() == list(all_figures())


@pytest.mark.parametrize("name", TABLES)
def test_a_table_lists_itself_alone(name: str) -> None:
    assert set(all_figures(name)) <= set(paths(name))
    assert {one.table for one in find(name) if one.entry != name} == {name}


def test_an_entry_is_found_with_or_without_its_table() -> None:
    assert paths("stock.mature_kg") == ["stock.mature_kg.pullet", "stock.mature_kg.cockerel"]
    assert paths("mature_kg.cockerel") == ["stock.mature_kg.cockerel"]
    assert paths("fertility") == ["stock.fertility", "priors.fertility"]
    assert paths("Hatch of fertile") == ["stock.hatch_of_fertile", "priors.hatch_of_fertile"]


def test_part_of_a_name_finds_all_that_hold_it() -> None:
    found = paths("survival")
    assert "stock.survival_first_week" in found
    assert "stock.survival_grower.cockerel" in found
    assert all("survival" in path for path in found)


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("fertilty", "fertility"), ("growht", "growth"), ("perches", "perch_cm"), ("stok", "stock")],
)
def test_a_slip_is_answered_with_the_nearest_names(wrong: str, near: str) -> None:
    with pytest.raises(BadInput) as refused:
        find(wrong)
    (fault,) = refused.value.faults
    assert fault.field == wrong
    assert near in fault.mend


@pytest.mark.parametrize("wrong", ["zzqqx", "", "   "])
def test_a_name_near_nothing_is_answered_with_the_tables(wrong: str) -> None:
    with pytest.raises(BadInput) as refused:
        find(wrong)
    assert all(name in refused.value.faults[0].mend for name in TABLES)


def test_the_printed_table_shows_value_unit_evidence_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert figures("stock.known_weight_kg") == 0
    page = capsys.readouterr().out
    assert "2.4" in page
    assert "kg" in page
    assert "guess" in page
    assert "paper" in page
    assert "Baldinger" in page


def test_a_limit_says_which_way_it_binds_and_whether_it_was_verified(
    capsys: pytest.CaptureFixture[str],
) -> None:
    figures("limits.uk_nvz_field")
    page = capsys.readouterr().out
    assert "At most." in page
    assert "Not verified" in page
    figures("limits.eu_organic_hen_range")
    page = capsys.readouterr().out
    assert "At least." in page
    assert "Not verified" not in page


def test_json_holds_every_figure_found_and_nothing_else_on_stdout(capsys: pytest.CaptureFixture[str]) -> None:
    assert figures("limits", json=True) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "figures"
    assert [one["path"] for one in answer["data"]] == paths("limits")
    (phosphorus,) = (one for one in answer["data"] if one["path"] == "limits.sweden_p")
    assert (phosphorus["value"], phosphorus["unit"], phosphorus["at_most"]) == (22.0, "kg/ha", 22.0)
    assert phosphorus["verified"] is True
    figures(json=True)
    assert len(json.loads(capsys.readouterr().out)["data"]) == len(all_figures())
