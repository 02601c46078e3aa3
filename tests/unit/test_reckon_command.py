"""`leyfold reckon`: one object for programs, big numbers first for people."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = Path(__file__).parents[2] / "examples" / "demo"


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, object]:
    assert main(["reckon", str(DEMO), "--json", *arguments]) == 0
    answer: dict[str, object] = json.loads(capsys.readouterr().out)
    return answer


def test_one_object(capsys: pytest.CaptureFixture[str]) -> None:
    answer = told(capsys, "--draws", "100", "--seed", "4", "--slip", "14")
    data = answer["data"]
    assert isinstance(data, dict)
    assert (answer["kind"], answer["seed"]) == ("reckon", 4)
    assert data["currency"] == "EUR"
    assert sum(data["by_rate"].values()) == pytest.approx(data["margin"], abs=0.005)
    assert sum(part["takings"] - part["cost"] for part in data["by_class"].values()) == pytest.approx(
        data["margin"], abs=0.005
    )
    assert sum(data["by_month"].values()) == pytest.approx(data["margin"], abs=0.005)
    assert data["bands"]["n"] == 100
    assert data["margin_without_own_hours"] > data["margin"]
    sold = next(rate for rate in data["rates"] if rate["id"] == "carcass")
    assert sold["figure"]["evidence"] == "farm file"
    assert "prices.carcass" in sold["figure"]["source"]
    assert data["guesses"]["shelter_h_per_d"]["evidence"] == "guess"
    assert data["unpriced"].keys() == {"water"}
    assert [o["order"]["customer"] for o in data["orders"]] == ["brook", "mill", "lane", "brook"]
    assert data["ring_first"]["orders"][0]["order"]["customer"] == "brook"


def test_without_draws_there_are_no_bands_and_no_seed(capsys: pytest.CaptureFixture[str]) -> None:
    answer = told(capsys, "--draws", "0")
    data = answer["data"]
    assert isinstance(data, dict)
    assert answer["seed"] is None
    assert data["bands"] is None
    assert {p["safe"] for p in data["promises"]} == {None}


def test_without_own_hours_is_what_the_other_said(capsys: pytest.CaptureFixture[str]) -> None:
    paid, own = (told(capsys, "--draws", "0", *more)["data"] for more in ((), ("--without-own-hours",)))
    assert isinstance(paid, dict)
    assert isinstance(own, dict)
    assert own["margin"] == pytest.approx(paid["margin_without_own_hours"])
    assert own["margin_with_own_hours"] == pytest.approx(paid["margin"])


def test_the_page_begins_with_the_big_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", str(DEMO), "--draws", "100", "--slip", "20"]) == 0
    page = capsys.readouterr().out
    order = [
        "Sedge Rise: what it costs and brings", "gross margin", "nine years in ten", "kg of carcass",
        "Takings and costs by class", "By batch", "By month", "The five figures", "one more day",
        "Which hatch to keep", "Old hens, old-flock", "What can be promised", "ring, in this order",
        "left out: water", "Guesses in it",
    ]  # fmt: skip
    at = [page.index(words) for words in order]
    assert at == sorted(at)


def test_a_farm_held_against_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = tmp_path / "other"
    shutil.copytree(DEMO, other)
    text = (other / "farm.toml").read_text(encoding="utf-8")
    assert 'carcass = "13.20 EUR/kg"' in text
    (other / "farm.toml").write_text(text.replace("13.20 EUR/kg", "10 EUR/kg"), encoding="utf-8")
    data = told(capsys, "--draws", "0", "--against", str(other))["data"]
    assert isinstance(data, dict)
    row = next(r for r in data["against"]["money"] if r["name"] == "carcass")
    assert row["b"] / row["a"] == pytest.approx(1.32)
    assert main(["reckon", str(DEMO), "--draws", "0", "--against", str(other)]) == 0
    assert "Held against Sedge Rise" in capsys.readouterr().out


def test_a_farm_held_against_another_plan_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plan file is that plan, not the one that lies beside it."""
    own = tmp_path / "own"
    shutil.copytree(DEMO, own)
    text = (own / "plan.toml").read_text(encoding="utf-8")
    for plan in (own / "fewer.toml", tmp_path / "fewer.toml"):
        plan.write_text(text.replace("eggs = 110", "eggs = 60"), encoding="utf-8")
        assert main(["reckon", str(own), "--json", "--draws", "0", "--against", str(plan)]) == 0
        margin = next(r for r in json.loads(capsys.readouterr().out)["data"]["against"]["margin"])
        assert abs(margin["b"] - margin["a"]) > 1.0
        assert main(["reckon", str(own), "--draws", "0", "--against", str(plan)]) == 0
        assert "Held against Sedge Rise, fewer.toml" in capsys.readouterr().out
    assert main(["reckon", str(own), "--against", str(tmp_path / "nowhere" / "fewer.toml")]) == 2


def test_hours_timed_by_the_farm_are_no_guess(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "own"
    shutil.copytree(DEMO, own)
    with (own / "farm.toml").open("a", encoding="utf-8") as file:
        file.write('\n[work]\negg_h = "30 s/egg"\n')
    assert main(["reckon", str(own), "--json", "--draws", "0"]) == 0
    data = json.loads(capsys.readouterr().out)["data"]
    assert "egg_h" not in data["guesses"]
    dear = next(r["quantity"] for r in data["rates"] if r["id"] == "labour")
    usual = told(capsys, "--draws", "0")["data"]
    assert isinstance(usual, dict)
    cheap = next(r["quantity"] for r in usual["rates"] if r["id"] == "labour")
    assert dear - cheap == pytest.approx(usual["eggs"] * (30 / 3600 - 0.004), rel=1e-6)


def test_carcass_is_told_by_the_pound_where_the_farm_counts_in_pounds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """2.20462 lb to the kg: so many more of them, each for so much less."""
    row = {}
    for lengths in ("metric", "imperial"):
        home = tmp_path / lengths
        shutil.copytree(DEMO, home)
        text = (home / "farm.toml").read_text(encoding="utf-8")
        (home / "farm.toml").write_text(text.replace('"metric"', f'"{lengths}"'), encoding="utf-8")
        assert main(["reckon", str(home), "--draws", "0"]) == 0
        (said,) = (x for x in capsys.readouterr().out.splitlines() if " of carcass " in x)
        row[lengths] = said.split()
    assert (row["metric"][0], row["imperial"][0]) == ("kg", "lb")
    kg, lb = ([float(x.replace(",", "")) for x in row[name][3:]] for name in ("metric", "imperial"))
    assert lb[0] == pytest.approx(kg[0] * 2.20462, abs=1.2)
    assert lb[1:] == pytest.approx([money / 2.20462 for money in kg[1:]], abs=0.01)
