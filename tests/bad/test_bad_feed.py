"""`leyfold feed` refuses what it cannot mix, in words, and says what clashes where no mix fits."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = Path(__file__).parents[2] / "examples" / "demo"

MIXED = """
[ingredients.maize]
price = "260 EUR/t"

[ingredients.soya]
like = "soybean_meal_44"
price = "470 EUR/t"
bag = "25 kg"

[ingredients.limestone]
price = "110 EUR/t"

[ingredients.dicalcium_phosphate]
price = "720 EUR/t"

[rations.own]
needs = "pullet_white_6_12"
batch = "200 kg"
"""


def laid(folder: Path, feeding: str) -> Path:
    """The farm of the broken files' good one, with this feeding."""
    good = Path(__file__).parent / "farm"
    for kind in ("farm", "plan"):
        text = (good / f"good.{kind}.toml").read_text(encoding="utf-8")
        (folder / f"{kind}.toml").write_text(text + (feeding if kind == "farm" else ""), encoding="utf-8")
    return folder


def refused(folder: Path, ration: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["feed", str(folder), "--ration", ration]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    return said.err


def test_the_good_one_is_good(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["feed", str(laid(tmp_path, MIXED)), "--ration", "own"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert "own: the cheapest mix" in said.out
    assert "still holds all that is needed" in said.out


def test_a_price_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = MIXED.replace('price = "110 EUR/t"', "").replace('price = "260 EUR/t"', "")
    lines = refused(laid(tmp_path, text), "own", capsys).strip().split("\n")
    assert [line.split(":")[1].strip() for line in lines] == [
        "ingredients.maize.price",
        "ingredients.limestone.price",
    ]
    assert "has no price" in lines[0]
    assert "EUR/t" in lines[0]


def test_a_nutrient_is_not_known_of_an_ingredient_in_use(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = '[ingredients.kitchen-scraps]\nprice = "0 EUR/t"\nprotein = "12 %"\nenergy = "3000 kcal/kg"\n'
    said = refused(laid(tmp_path, own + MIXED), "own", capsys)
    assert "ingredients.kitchen-scraps.lysine: nothing is known of the lysine of kitchen-scraps" in said
    assert "kitchen-scraps.protein" not in said


def test_no_such_ration_and_nothing_to_mix(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert 'no ration "owm"' in (said := refused(laid(tmp_path, MIXED), "owm", capsys))
    assert "own, meat_0_3" in said
    assert "nothing to mix from" in refused(laid(tmp_path, ""), "hen_brown", capsys)


@pytest.mark.parametrize(
    ("change", "to", "key"),
    [
        ('bag = "25 kg"', 'has = "-5 kg"', "ingredients.soya.has"),
        ('price = "110 EUR/t"', 'price = "110 GBP/t"', "ingredients.limestone.price"),
        ('price = "110 EUR/t"', 'price = "-110 EUR/t"', "ingredients.limestone.price"),
        ('batch = "200 kg"', 'batch = "0 kg"', "rations.own.batch"),
    ],
)
def test_values_that_cannot_be(
    change: str, to: str, key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert change in MIXED
    said = refused(laid(tmp_path, MIXED.replace(change, to)), "own", capsys)
    assert said.startswith("farm.toml:")
    assert f": {key}: " in said


def test_needs_that_cannot_be_met_exit_3_and_say_which(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asks = MIXED + 'protein = "40 %"\nenergy = "3000 kcal/kg"\n'
    assert main(["feed", str(laid(tmp_path, asks)), "--ration", "own"]) == 3
    said = capsys.readouterr().out
    (line,) = [line for line in said.split("\n") if line.startswith("No mix")]
    assert "energy at least 3,000 kcal/kg; protein at least 40 %" in line
    assert "lysine" not in line
    assert main(["feed", str(tmp_path), "--ration", "own", "--json"]) == 3
    ration = json.loads(capsys.readouterr().out)["data"]["ration"]
    assert ration["mix"] is None
    assert {need["nutrient"] for need in ration["clash"]["needs"]} == {"energy_kcal_per_kg", "protein"}


def test_json_of_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["feed", str(DEMO), "--ration", "home-layers", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "feed"
    data = answer["data"]
    assert {store["feed"] for store in data["stores"]} == {"starter", "grower", "layers"}
    for store in data["stores"]:
        assert store["dry"] == []
        for order in store["orders"]:
            assert order["order_by"] <= order["arrives"]
    shares = data["ration"]["mix"]["shares"]
    assert sum(shares.values()) == pytest.approx(1)
    assert shares["premix"] == pytest.approx(0.005)


def test_the_shares_printed_are_those_weighed_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["feed", str(DEMO), "--ration", "home-layers"]) == 0
    said = capsys.readouterr().out
    rows = [line.split() for line in said[said.index("kg a batch") :].splitlines()]
    weighed = [(float(row[1]), float(row[2])) for row in rows if len(row) >= 4 and row[1][0].isdigit()]
    assert sum(kg for _, kg in weighed) == pytest.approx(250)
    assert all(share == pytest.approx(kg / 2.5, abs=0.006) for share, kg in weighed)
